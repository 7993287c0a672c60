"""Regular stripes of every shape, against patterns of a known count (`signals.stripes`)."""

import numpy as np
import pytest
from signals.stripes import (
    COLUMNS,
    ROWS,
    WAVES,
    drawn,
    inset,
    receding,
    rings,
    spiral,
    spokes,
    straight,
    wavy,
)
from support import reference

from keyer.measure.stripe_lines import DIFFERENCE, LIGHT_STRIPE
from keyer.measure.stripes import (
    AREA_CHANGING,
    AREA_STEADY,
    MOST_PAIRS,
    SECONDS,
    find_stripes,
)

FLASH = reference("flash")


def test_limits_are_the_published_ones():
    pattern = FLASH["bt1702"]["pattern"]
    assert (
        pattern["more_than_pairs"] == MOST_PAIRS == FLASH["efa2005"]["pattern"]["more_than_pairs"]
    )
    assert pattern["max_area_if_changing"] == AREA_CHANGING
    assert pattern["max_area_if_steady_or_drifting"] == AREA_STEADY
    white = FLASH["bt1702"]["consistency"]["reference_white_cd_m2"]
    assert pattern["light_stripe_cd_m2"] == LIGHT_STRIPE * white
    assert FLASH["bt1702"]["general_flash"]["change_cd_m2"] == DIFFERENCE * white
    assert FLASH["wilkins2005"]["pattern"]["longer_than_seconds"] == SECONDS
    assert FLASH["wilkins2005"]["pattern"]["area_more_than"] == AREA_CHANGING


@pytest.mark.parametrize("wave", ["square", "sine", "narrow"])
@pytest.mark.parametrize("pairs", [5, 6, 8, 12])
@pytest.mark.parametrize("angle", range(0, 180, 15))
def test_straight_stripes_of_any_orientation(angle, pairs, wave):
    """Six pairs from corner to corner are more than five; BT.1702 speaks of any orientation."""
    found = find_stripes(straight(pairs, angle, wave))
    assert found.pairs == pytest.approx(pairs, abs=0.5)
    assert found.area == 0 if pairs == 5 else found.area > 0.95
    assert abs((found.angle_deg - angle + 90) % 180 - 90) < 2


@pytest.mark.parametrize("phase", [0.3, 0.75])
@pytest.mark.parametrize("wave", WAVES)
@pytest.mark.parametrize("angle", [0, 40, 120])
def test_it_does_not_matter_where_the_stripes_begin(angle, wave, phase):
    found = find_stripes(straight(7, angle, wave, phase=phase))
    assert found.pairs == pytest.approx(7, abs=0.5)
    assert found.area > 0.95


@pytest.mark.parametrize("angle", [0, 17, 45, 90, 163])
@pytest.mark.parametrize("period", [4, 9, 31])
def test_fine_stripes(period, angle):
    """Cells to a pair: four are 1/112 of the picture's width."""
    reach = COLUMNS * abs(np.cos(np.radians(angle))) + ROWS * abs(np.sin(np.radians(angle)))
    found = find_stripes(straight(reach / period, angle))
    assert found.pairs == pytest.approx(reach / period, abs=0.5, rel=0.05)
    assert found.area > 0.95


@pytest.mark.parametrize("pairs", [4, 5, 6, 9, 24, 48, 96])
@pytest.mark.parametrize("middle", [(0.5, 0.5), (0.3, 0.6)])
def test_spokes(pairs, middle):
    found = find_stripes(spokes(pairs, middle))
    assert (found.area > 0.9) == (pairs > MOST_PAIRS)
    assert found.pairs == pytest.approx(pairs, abs=0.5, rel=0.01)


@pytest.mark.parametrize("wave", ["sine", "narrow", "triangle"])
def test_spokes_of_any_profile(wave):
    found = find_stripes(spokes(8, wave=wave))
    assert found.pairs == pytest.approx(8, abs=0.5)
    assert found.area > 0.9


def test_spokes_that_meet_outside_of_the_picture():
    """By hand: what is seen from a tenth of the width to the left is 1 / 2.6 of a turn."""
    seen = 2 * np.arctan2(ROWS / 2, 0.1 * COLUMNS) / (2 * np.pi)
    found = find_stripes(spokes(48, (-0.1, 0.5)))
    assert found.pairs == pytest.approx(48 * seen, abs=0.7)
    assert found.area > 0.95


@pytest.mark.parametrize("wave", WAVES)
@pytest.mark.parametrize("pairs", [4, 6, 7, 12, 24])
def test_rings(pairs, wave):
    """Counted along the diagonal, through the middle. There two stripes of a kind are one."""
    found = find_stripes(rings(pairs, wave))
    assert (found.area > 0.9) == (pairs > MOST_PAIRS)
    if found.area:
        assert found.pairs == pytest.approx(pairs - 0.2, abs=0.55)


@pytest.mark.parametrize("wave", ["square", "sine", "narrow"])
@pytest.mark.parametrize("pairs", [4, 6, 12])
def test_spirals(pairs, wave):
    found = find_stripes(spiral(pairs, wave))
    assert (found.area > 0.9) == (pairs > MOST_PAIRS)
    assert found.pairs == pytest.approx(pairs, abs=0.5)


@pytest.mark.parametrize("pairs", [4, 6, 12])
@pytest.mark.parametrize("bend", [0.02, 0.06])
def test_wavy_stripes(pairs, bend):
    """A line from where they lie farthest left to farthest right crosses that much more."""
    found = find_stripes(wavy(pairs, bend=bend))
    assert (found.area > 0.95) == (pairs > MOST_PAIRS)
    assert pairs - 0.3 < found.pairs < pairs * (1 + 2 * bend) + 0.3


@pytest.mark.parametrize("pairs", [4, 6, 12])
@pytest.mark.parametrize("near", [1.5, 2, 4])
def test_stripes_in_perspective(pairs, near):
    found = find_stripes(receding(pairs, near=near))
    assert (found.area > 0.95) == (pairs > MOST_PAIRS)
    assert found.pairs == pytest.approx(pairs, abs=0.5)


@pytest.mark.parametrize("phase", [0.0, 0.3, 0.75])
@pytest.mark.parametrize("pairs", [4, 6, 7, 12])
@pytest.mark.parametrize("around", [0.0, 0.5, 1.0])
def test_stripes_in_a_part_of_the_picture(pairs, phase, around):
    """Half by half of it: a quarter. A cut stripe at the edge may count as one."""
    part = inset(straight(2 * pairs, phase=phase), 0.25, 0.2, 0.75, 0.7, around)
    found = find_stripes(part)
    assert (found.area > 0) == (pairs > MOST_PAIRS)
    assert found.pairs == pytest.approx(pairs, abs=0.85)
    if found.area:
        assert found.area == pytest.approx(0.25, abs=0.02)
        assert found.place.left == pytest.approx(25, abs=5)
        assert found.place.top == pytest.approx(20, abs=2)


@pytest.mark.parametrize(
    ("low", "high", "seen"),
    [(0, 0.24, False), (0, 0.26, True), (0.5, 0.59, False), (0.5, 0.61, True), (0.8, 1, True)],
)
def test_light_stripes_and_difference(low, high, seen):
    """The light ones from 50 of 200 cd/m2, at least 20 cd/m2 from the dark ones."""
    assert (find_stripes(straight(20, 30, low=low, high=high)).area > 0.9) == seen


def _scenery(seed):
    """Random picture whose amplitudes fall as 1 / frequency, as those of scenery do."""
    rng = np.random.default_rng(seed)
    spectrum = np.fft.rfft2(rng.standard_normal((ROWS, COLUMNS)))
    frequency = np.hypot(np.fft.fftfreq(ROWS)[:, None], np.fft.rfftfreq(COLUMNS))
    frequency[0, 0] = 1
    picture = np.fft.irfft2(spectrum / frequency, (ROWS, COLUMNS))
    return ((picture - picture.min()) / np.ptp(picture)).astype(np.float32)


def _rays(count):
    return drawn(lambda x, y: (np.arctan2(y - 126, x - 225) * count / 6.2832) % 1 < 0.5)


def test_what_is_no_pattern_of_stripes():
    y, x = np.mgrid[:ROWS, :COLUMNS]
    rng = np.random.default_rng(1)
    pictures = {
        "checkerboard": (x // 15 + y // 15) % 2,
        "dots": (x % 20 < 10) & (y % 20 < 10),
        "noise": rng.random((ROWS, COLUMNS)),
        "coarse noise": np.kron(rng.random((ROWS // 6, COLUMNS // 6)), np.ones((6, 6))),
        "edge": x > 200,
        "ramp": x / COLUMNS,
        "flat": np.full((ROWS, COLUMNS), 0.5),
        "black": np.zeros((ROWS, COLUMNS)),
        "scenery": _scenery(2),
        "bars": (8 * x // COLUMNS) / 7,
        "four rays": _rays(4),
        "five upright stripes": x % 90 < 45,
    }
    for name, picture in pictures.items():
        assert find_stripes(picture.astype(np.float32)).area == 0, name


@pytest.mark.parametrize("seed", range(4))
def test_stripes_are_found_in_scenery(seed):
    picture = np.clip(0.5 * straight(20, 30 + 20 * seed) + 0.5 * _scenery(seed), 0, 1)
    assert find_stripes(picture.astype(np.float32)).area > 0.9


def test_grain_does_not_hide_them():
    rng = np.random.default_rng(3)
    grain = rng.normal(0, 0.03, (ROWS, COLUMNS)).astype(np.float32)
    found = find_stripes(straight(7, 45) + grain)
    assert found.pairs == pytest.approx(7, abs=0.5)
    assert found.area > 0.9


@pytest.mark.parametrize("shape", [(1, 1), (3, 3), (15, 200), (16, 16), (84, 150), (251, 449)])
def test_pictures_of_any_size(shape):
    assert find_stripes(np.zeros(shape, np.float32)).area == 0
    upright = np.broadcast_to((np.arange(shape[1]) // 4 % 2).astype(np.float32), shape).copy()
    found = find_stripes(upright)
    if min(shape) >= 64:
        assert found.area > 0.9
        assert found.pairs == pytest.approx(shape[1] / 8, abs=0.6)
