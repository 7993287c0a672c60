"""Key plates: seeded, in range, and equal to the truth put together again."""

import numpy as np
import pytest
from signals.curves import bt709_light

from examples.drawing import plates, subject
from examples.drawing.figure import LOOP
from keyer.errors import SettingError

pytestmark = pytest.mark.slow  # any change of the drawing is seen by test_same

SIZE = (480, 270)
HUES = {"presenter": 232, "bicycle": 342, "presenter-blue": 342}
"""Degrees on the vectorscope (BT.709) that the backing's paint was mixed for."""


@pytest.fixture(scope="module", params=plates.PLATES)
def named(request):
    return request.param, plates.key_plate(request.param, *SIZE)


def _chroma(picture):
    """Cb and Cr of ITU-R BT.709-6, item 3.3."""
    red, green, blue = np.moveaxis(picture.astype(np.float64), -1, 0)
    luma = 0.2126 * red + 0.7152 * green + 0.0722 * blue
    return luma, (blue - luma) / 1.8556, (red - luma) / 1.5748


def test_the_same_seed_gives_the_same_plate(named):
    name, plate = named
    again = plates.key_plate(name, *SIZE)
    for part in ("picture", "matte", "foreground", "spilled", "backing"):
        assert (getattr(plate, part) == getattr(again, part)).all()
    assert (plates.key_plate(name, *SIZE, seed=8).picture != plate.picture).any()


def test_parts_are_in_range(named):
    _, plate = named
    for part in (plate.picture, plate.foreground, plate.spilled, plate.backing):
        assert part.shape == (270, 480, 3)
        assert part.dtype == np.float32
        assert 0 <= part.min() <= part.max() <= 1
    assert plate.matte.shape == (270, 480)
    assert plate.matte.min() == 0
    assert plate.matte.max() == 1
    assert not plate.foreground[plate.matte == 0].any()


def test_truth_put_together_is_the_picture_but_for_noise(named):
    name, plate = named
    cover = plate.matte[..., None]
    noise = plate.picture - (cover * plate.spilled + (1 - cover) * plate.backing)
    spread = plates.PLATES[name].noise
    assert abs(noise.mean()) < 2e-4
    assert 0.6 * spread < noise.std() < 1.8 * spread
    assert np.abs(noise).max() < 8 * spread


def test_areas_are_those_of_a_key_plate(named):
    _, plate = named
    clear, solid = np.mean(plate.matte == 0), np.mean(plate.matte == 1)
    assert 0.5 < clear < 0.85
    assert 0.1 < solid < 0.4
    assert 0.04 < 1 - clear - solid < 0.2


def test_the_backing_has_its_hue_and_falls_off(named):
    name, plate = named
    _, cb, cr = _chroma(plate.backing)
    hue = np.degrees(np.arctan2(cr, cb)) % 360
    assert np.abs(hue - HUES[name]).max() < 1
    assert np.hypot(cb, cr).min() > 0.18
    light = bt709_light(plate.backing).sum(axis=2)
    assert 0.35 < np.log2(light.max() / light.min()) < 2 / 3


def test_the_subject_keeps_away_from_the_key_hue(named):
    name, plate = named
    _, cb, cr = _chroma(plate.foreground[plate.matte > 0.5])
    key = np.radians(HUES[name])
    towards = cb * np.cos(key) + cr * np.sin(key)
    assert np.quantile(towards, 0.999) < 0.06


def test_spill_tints_the_edge_more_than_the_middle(named):
    name, plate = named
    key = np.radians(HUES[name])
    gains = []
    for part in (plate.foreground, plate.spilled):
        _, cb, cr = _chroma(part)
        gains.append(cb * np.cos(key) + cr * np.sin(key))
    gain = gains[1] - gains[0]
    edge, solid = (plate.matte > 0.5) & (plate.matte < 1), plate.matte == 1
    assert gain[solid].min() >= -1e-6
    assert gain[edge].mean() > 1.5 * gain[solid].mean() > 0


def test_matte_of_a_moving_plate():
    first = plates.key_plate("presenter", *SIZE)
    later = plates.key_plate("presenter", *SIZE, frame=5)
    around = plates.key_plate("presenter", *SIZE, frame=LOOP)
    assert np.abs(first.matte - later.matte).mean() > 2e-3
    np.testing.assert_allclose(first.matte, around.matte, atol=2e-3)
    assert (first.picture[:20] != later.picture[:20]).any()


def test_the_matte_does_not_depend_on_the_size():
    """Half the size is, but for the pixels' own grain, the mean of two by two."""
    large = subject.draw("bicycle", 960, 540).matte
    small = subject.draw("bicycle", 480, 270).matte
    halved = large.reshape(270, 2, 480, 2).mean(axis=(1, 3))
    assert np.abs(halved - small).mean() < 0.004
    assert halved.mean() == pytest.approx(small.mean(), abs=0.002)


def test_see_through_and_soft_parts_are_there():
    matte = plates.key_plate("presenter", *SIZE).matte
    rows, columns = np.mgrid[:270, :480]
    x, y = (columns + 0.5 - 240) / 270, (rows + 0.5) / 270
    bottle = matte[(np.abs(x + 0.396) < 0.03) & (np.abs(y - 0.365) < 0.02)]
    assert 0.3 < np.median(bottle) < 0.5
    spokes = matte[np.hypot((x - 0.452) / 0.86, y - 0.672) < 0.2]
    assert np.mean((spokes > 0.02) & (spokes < 0.9)) > 0.1


def test_eight_bit_rounds():
    assert plates.eight_bit(np.float32([0, 0.5, 1, 2, -1])).tolist() == [0, 128, 255, 255, 0]


def test_unknown_names_are_refused():
    with pytest.raises(SettingError, match="plate must be one of presenter"):
        plates.key_plate("nobody")
    with pytest.raises(SettingError, match="subject must be one of"):
        subject.draw("nobody")
