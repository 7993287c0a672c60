"""The survey finds backings, measures them, and refuses pictures that have none."""

import cv2
import numpy as np
import pytest
from plates import making
from plates.proof import BLUE, DULL_GREEN, GREEN, KINDS, OFF_GREEN, SEA_GREEN, make
from plates.textures import CROPS, texture
from signals.curves import relit
from support import demo_picture

from keyer.errors import NoBackingError, SettingError
from keyer.measure.backing import survey_backing
from keyer.measure.judge_backing import judge_backing
from keyer.pixel.colour.luma_chroma import hue_of

RED_BACKING = (0.7, 0.15, 0.15)


def by_name(name):
    return next(kind for kind in KINDS if kind.name == name)


def blob_on(backing, subject, share=0.3, size=(180, 320)):
    """A disc of one colour before a backing of another."""
    height, width = size
    rows, cols = np.mgrid[0:height, 0:width]
    radius = np.sqrt(share * height * width / np.pi)
    disc = np.hypot(rows - height / 2, cols - width / 2) < radius
    picture = making.flat(backing, height, width)
    picture[:, disc] = np.array(subject, np.float32)[:, None]
    return picture


@pytest.mark.parametrize("kind", KINDS, ids=lambda kind: kind.name)
def test_it_finds_the_backing_of_every_kind_of_plate(kind):
    plate = make(kind)
    backing = survey_backing(plate.recorded, "bt709")
    true_hue = hue_of(kind.backing, "bt709")
    assert abs(backing.hue_deg - true_hue) < 2.0
    clear = plate.matte == 0
    true_colour = np.median(plate.backing[:, clear], axis=1)
    assert np.abs(np.array(backing.rgb) - true_colour).max() < 0.02
    assert backing.share_percent < 100 * (plate.matte < 0.05).mean() + 0.5


@pytest.mark.parametrize("colour", [GREEN, BLUE, OFF_GREEN, DULL_GREEN, SEA_GREEN])
@pytest.mark.parametrize("matrix", ["bt601", "bt709"])
def test_hue_chroma_and_luma_of_a_flat_backing(colour, matrix):
    backing = survey_backing(blob_on(colour, (0.8, 0.6, 0.5)), matrix)
    weights = {"bt601": (0.299, 0.587, 0.114), "bt709": (0.2126, 0.7152, 0.0722)}[matrix]
    luma = float(np.dot(weights, colour))  # BT.601-7 item 2.5.1, BT.709-6 item 3.2
    cb = (colour[2] - luma) / (2 - 2 * weights[2])
    cr = (colour[0] - luma) / (2 - 2 * weights[0])
    assert backing.luma_percent == pytest.approx(100 * luma, abs=0.01)
    assert backing.chroma_percent == pytest.approx(100 * np.hypot(cb, cr) / 0.5, abs=0.01)
    assert backing.hue_deg == pytest.approx(np.degrees(np.arctan2(cr, cb)) % 360, abs=0.05)
    assert backing.evenness_stops == pytest.approx(0, abs=1e-3)
    assert backing.noise_percent == pytest.approx(0, abs=1e-3)


@pytest.mark.parametrize("subject", [(0.8, 0.1, 0.1), (0.1, 0.1, 0.9), (0.9, 0.8, 0.1)])
def test_a_larger_subject_of_another_saturated_hue_does_not_fool_it(subject):
    backing = survey_backing(blob_on(GREEN, subject, share=0.5), "bt709")
    assert backing.hue_deg == pytest.approx(hue_of(GREEN, "bt709"), abs=1)


@pytest.mark.parametrize("stops", [0.33, 0.41, 0.5, 1.0, 1.5])
@pytest.mark.parametrize("colour", [GREEN, BLUE, OFF_GREEN, DULL_GREEN, SEA_GREEN])
def test_evenness_in_stops(colour, stops):
    """Light that grows by so many stops from side to side, coded by BT.709-6 item 1.2."""
    slope = stops * np.linspace(-0.5, 0.5, 640)
    backing = relit(making.flat(colour, 360, 640), slope).astype(np.float32)
    found = survey_backing(backing, "bt709")
    # A straight slope from side to side: the 1st to the 99th percentile hold 98 % of it.
    assert found.evenness_stops == pytest.approx(0.98 * stops, abs=0.03)
    luma = np.tensordot([0.2126, 0.7152, 0.0722], backing[:, 0], axes=1)  # BT.709-6 item 3.2
    low, high = np.quantile(luma, [0.01, 0.99])
    assert found.evenness_percent == pytest.approx(100 * (high - low) / luma.mean(), rel=0.05)
    expected = "holds" if 0.98 * stops <= 0.5 else "fails" if 0.98 * stops > 1.5 else "watch"
    assert judge_backing(found)[0].verdict == expected


@pytest.mark.parametrize("sigma", [0.004, 0.01, 0.03])
def test_noise_is_the_grain_and_not_the_uneven_light(sigma):
    rng = np.random.default_rng(5)
    backing = making.uneven(making.flat(GREEN, 360, 480), 1.0, rng)
    noise = rng.standard_normal(backing.shape, np.float32) * sigma
    found = survey_backing(backing + noise, "bt709")
    assert found.noise_percent == pytest.approx(100 * sigma, rel=0.05)


def bars(level, count):
    colours = [
        (1, 1, 1),
        (1, 1, 0),
        (0, 1, 1),
        (0, 1, 0),
        (1, 0, 1),
        (1, 0, 0),
        (0, 0, 1),
        (0, 0, 0),
    ]
    picture = np.zeros((3, 216, 384), np.float32)
    for index, colour in enumerate(colours[:count]):
        left, right = index * 384 // count, (index + 1) * 384 // count
        picture[:, :, left:right] = level * np.array(colour, np.float32)[:, None, None]
    return picture


def forest(blur, seed=0):
    """Foliage: greens whose light varies over patches of a size."""
    rng = np.random.default_rng(seed)
    fields = [cv2.GaussianBlur(rng.normal(0, 1, (360, 480)), (0, 0), blur) for _ in range(3)]
    fields = np.stack([field / field.std() for field in fields])
    green = np.array([0.2, 0.4, 0.15])[:, None, None] * (1 + 0.5 * fields[0])
    return np.clip(green + 0.03 * fields, 0, 1).astype(np.float32)


NOTHING = {
    "grey card": np.full((3, 200, 300), 0.5, np.float32),
    "black frame": np.zeros((3, 200, 300), np.float32),
    "white frame": np.ones((3, 200, 300), np.float32),
    "bars of 75 %": bars(0.75, 7),
    "bars of 100 %": bars(1.0, 8),
    "skin": making.flat((0.8, 0.6, 0.5), 200, 300),
    "one grey pixel": np.full((3, 1, 1), 0.5, np.float32),
    "not a number": np.full((3, 20, 30), np.nan, np.float32),
} | {f"forest {blur}": forest(blur) for blur in (1, 3, 8, 20, 60)}


@pytest.mark.parametrize("name", NOTHING)
def test_a_picture_without_backing_is_refused_in_one_line_with_a_remedy(name):
    with pytest.raises(NoBackingError) as caught:
        survey_backing(NOTHING[name], "bt709")
    message = str(caught.value)
    assert "\n" not in message
    assert "green or blue backing" in message
    assert "sample" in message


def test_a_sky_is_no_backing():
    lake = demo_picture("morning.png", (480, 270)).transpose(2, 0, 1) / np.float32(255)
    with pytest.raises(NoBackingError, match="no backing"):
        survey_backing(np.ascontiguousarray(lake), "bt709")


@pytest.mark.parametrize("name", CROPS)
def test_pictures_taken_without_a_backing_are_refused(name):
    with pytest.raises(NoBackingError):
        survey_backing(texture(name, 360, 480), "bt709")


def test_a_single_green_pixel_is_all_backing():
    found = survey_backing(making.flat(GREEN, 1, 1), "bt709")
    assert found.share_percent == 100.0


def test_a_named_hue_is_looked_for_even_where_another_is_larger():
    picture = blob_on(GREEN, BLUE, share=0.4)
    assert survey_backing(picture, "bt709", "blue").rgb == pytest.approx(BLUE, abs=1e-3)
    assert survey_backing(picture, "bt709", "green").rgb == pytest.approx(GREEN, abs=1e-3)


def test_a_warm_backing_must_be_named():
    picture = blob_on(RED_BACKING, (0.5, 0.5, 0.5))
    with pytest.raises(NoBackingError):
        survey_backing(picture, "bt709")
    found = survey_backing(picture, "bt709", hue_of(RED_BACKING, "bt709"))
    assert found.rgb == pytest.approx(RED_BACKING, abs=1e-3)


def test_a_sample_decides():
    picture = blob_on(GREEN, RED_BACKING)
    found = survey_backing(picture, "bt709", sample=(150, 80, 20, 20))
    assert found.rgb == pytest.approx(RED_BACKING, abs=1e-3)


def test_a_grey_sample_is_refused():
    with pytest.raises(NoBackingError, match="chroma"):
        survey_backing(blob_on(GREEN, (0.5, 0.5, 0.5)), "bt709", sample=(150, 80, 20, 20))


@pytest.mark.parametrize("sample", [(-1, 0, 5, 5), (0, 0, 0, 5), (315, 0, 10, 10), (0, 175, 5, 10)])
def test_a_sample_outside_the_picture_is_refused(sample):
    with pytest.raises(SettingError, match="320 x 180"):
        survey_backing(blob_on(GREEN, (0.5, 0.5, 0.5)), "bt709", sample=sample)


@pytest.mark.parametrize("hue", ["purple", float("nan"), 1000.0])
def test_an_unknown_hue_is_refused(hue):
    with pytest.raises(SettingError, match="hue"):
        survey_backing(making.flat(GREEN, 20, 30), "bt709", hue)


def test_a_see_through_part_is_not_counted_as_uneven_backing():
    plate = make(by_name("see-through, blue, spill"))
    assert survey_backing(plate.recorded, "bt709").evenness_stops < 0.25


@pytest.mark.parametrize("size", [(1, 1), (1, 40), (40, 1), (2, 3), (7, 9), (33, 65)])
def test_small_pictures_do_not_break_it(size):
    found = survey_backing(making.flat(GREEN, *size), "bt709")
    assert all(np.isfinite(value) for value in (found.hue_deg, found.noise_percent, *found.rgb))
