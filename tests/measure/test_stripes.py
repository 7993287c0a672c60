import math
from fractions import Fraction

import numpy as np
import pytest
from support import reference

from keyer.measure.stripes import (
    AREA_CHANGING,
    AREA_STEADY,
    LIGHT_STRIPE,
    MOST_PAIRS,
    SECONDS,
    StripeMeter,
    Stripes,
    find_stripes,
    judge_stripes,
)

FLASH = reference("flash")
ROWS, COLUMNS = 252, 450
RATE = Fraction(25)
_SUB = (-1 / 3, 0, 1 / 3)


def grating(period, angle=0.0, *, phase=0.0, low=0.0, high=1.0, light=0.5, box=None, around=0.5):
    """Stripes `period` cells wide a pair, across `angle`; `box` is left, top, right, bottom."""
    y, x = np.mgrid[:ROWS, :COLUMNS].astype(np.float32)
    cos, sin = math.cos(math.radians(angle)), math.sin(math.radians(angle))
    total = np.zeros((ROWS, COLUMNS), np.float32)
    for down in _SUB:
        for across in _SUB:
            cycle = ((x + across) * cos + (y + down) * sin) / period + phase
            total += np.where(cycle % 1 < light, np.float32(high), np.float32(low)) / 9
    if box is None:
        return total
    left, top, right, bottom = box
    picture = np.full((ROWS, COLUMNS), around, np.float32)
    picture[top:bottom, left:right] = total[top:bottom, left:right]
    return picture


def watch(frames):
    meter = StripeMeter(RATE)
    return [meter.add(frame) for frame in frames]


def verdicts(frames):
    return [judge_stripes(stripes, RATE) for stripes in watch(frames)]


THIRD = (0, 0, COLUMNS // 3, ROWS)
HALF = (0, 0, COLUMNS // 2, ROWS)


def test_limits_are_the_published_ones():
    pattern = FLASH["bt1702"]["pattern"]
    assert (
        pattern["more_than_pairs"] == MOST_PAIRS == FLASH["efa2005"]["pattern"]["more_than_pairs"]
    )
    assert pattern["max_area_if_changing"] == AREA_CHANGING
    assert pattern["max_area_if_steady_or_drifting"] == AREA_STEADY
    white = FLASH["bt1702"]["consistency"]["reference_white_cd_m2"]
    assert pattern["light_stripe_cd_m2"] == LIGHT_STRIPE * white
    assert FLASH["wilkins2005"]["pattern"]["longer_than_seconds"] == SECONDS
    assert FLASH["wilkins2005"]["pattern"]["area_more_than"] == AREA_CHANGING


@pytest.mark.parametrize("phase", [0.0, 0.3, 0.75])
@pytest.mark.parametrize("pairs", [4, 5, 6, 7, 12])
@pytest.mark.parametrize("where", ["whole", "half", "inset"])
def test_pairs_are_counted(where, pairs, phase):
    width = COLUMNS if where == "whole" else COLUMNS // 2
    box = {"whole": None, "half": HALF, "inset": (100, 60, 325, 186)}[where]
    found = find_stripes(grating(width / pairs, phase=phase, box=box, around=0.0))
    assert (found.area > 0) == (pairs > MOST_PAIRS)
    if found.area:
        # half a pair near the limit, a twentieth beyond
        assert found.pairs == pytest.approx(pairs, abs=0.5, rel=0.05)
        share = {"whole": 1.0, "half": 0.5, "inset": 0.25}[where]
        assert found.area == pytest.approx(share, abs=0.03)


@pytest.mark.parametrize("angle", [0, 17, 45, 90, 120, 163])
@pytest.mark.parametrize("period", [4, 9, 20, 31])
def test_any_orientation(period, angle):
    found = find_stripes(grating(period, angle))
    cos, sin = (abs(f(math.radians(angle))) for f in (math.cos, math.sin))
    assert found.pairs == pytest.approx((COLUMNS * cos + ROWS * sin) / period, abs=1.0)
    assert found.area > 0.95
    assert abs((found.angle_deg - angle + 90) % 180 - 90) < 1.5


@pytest.mark.parametrize(
    ("low", "high", "seen"),
    [(0, 0.24, False), (0, 0.27, True), (0.5, 0.58, False), (0.5, 0.62, True), (0.8, 1, True)],
)
def test_light_stripes_and_difference(low, high, seen):
    """The light ones from 50 of 200 cd/m2, at least 20 cd/m2 from the dark ones."""
    assert (find_stripes(grating(20, 30, low=low, high=high)).area > 0.9) == seen


@pytest.mark.parametrize("light", [0.3, 0.5, 0.7])
def test_stripes_need_not_be_alike(light):
    assert find_stripes(grating(20, 20, light=light)).area > 0.9


def _scenery(seed):
    """Random picture whose amplitudes fall as 1 / frequency, as those of scenery do."""
    rng = np.random.default_rng(seed)
    spectrum = np.fft.rfft2(rng.standard_normal((ROWS, COLUMNS)))
    frequency = np.hypot(np.fft.fftfreq(ROWS)[:, None], np.fft.rfftfreq(COLUMNS))
    frequency[0, 0] = 1
    picture = np.fft.irfft2(spectrum / frequency, (ROWS, COLUMNS))
    return ((picture - picture.min()) / np.ptp(picture)).astype(np.float32)


def test_what_is_no_pattern_of_stripes():
    y, x = np.mgrid[:ROWS, :COLUMNS]
    pictures = {
        "checkerboard": (x // 15 + y // 15) % 2,
        "dots": (x % 20 < 10) & (y % 20 < 10),
        "noise": np.random.default_rng(1).random((ROWS, COLUMNS)),
        "edge": x > 200,
        "ramp": x / COLUMNS,
        "flat": np.full((ROWS, COLUMNS), 0.5),
        "black": np.zeros((ROWS, COLUMNS)),
        "scenery": _scenery(2),
        "bars": (8 * x // COLUMNS) / 7,
    }
    for name, picture in pictures.items():
        assert find_stripes(picture.astype(np.float32)).area == 0, name


def test_stripes_are_found_in_scenery():
    picture = np.clip(0.5 * grating(20, 30) + 0.5 * _scenery(3), 0, 1)
    assert find_stripes(picture).area > 0.9


def test_half_a_second_is_tolerated():
    found = verdicts([grating(20)] * 12 + [np.zeros((ROWS, COLUMNS), np.float32)] * 20)
    assert set(found) == {"holds"}
    assert verdicts([grating(20)] * 13)[-1] == "fails"  # 13 frames of 25 are longer


def drifting(steps, box=THIRD):
    return [grating(14, phase=float(phase), box=box) for phase in np.cumsum(steps)]


@pytest.mark.parametrize(
    ("name", "steps"),
    [
        ("still", np.zeros(30)),
        ("drift", np.full(30, 0.1)),
        ("quick drift", np.full(30, 0.3)),
        ("drift backwards", np.full(30, -0.07)),
        ("one turn", np.r_[np.full(15, 0.1), np.full(15, -0.1)]),
    ],
)
def test_a_third_of_the_picture_may_stand_or_drift(name, steps):
    found = verdicts(drifting(steps))
    assert set(found) == {"holds", "watch"}, name


@pytest.mark.parametrize(
    ("name", "steps"),
    [
        ("oscillates", np.where(np.arange(30) // 4 % 2, 0.1, -0.1)),
        ("trembles", np.where(np.arange(30) % 2, 0.25, -0.25)),
        ("reverses", np.where(np.arange(30) % 5 == 0, 0.5, 0.0)),
    ],
)
def test_a_third_of_the_picture_must_not_change(name, steps):
    readings = watch(drifting(steps))
    assert readings[-1].changing, name
    assert judge_stripes(readings[-1], RATE) == "fails"


def test_a_third_of_the_picture_must_not_flash():
    on, off = grating(14, box=THIRD), np.full((ROWS, COLUMNS), 0.5, np.float32)
    found = verdicts([on if i // 4 % 2 else off for i in range(40)])
    assert "fails" in found


def test_half_of_the_picture_must_not_even_stand():
    found = watch([grating(14, box=HALF)] * 20)
    assert judge_stripes(found[-1], RATE) == "fails"
    assert not found[-1].changing
    assert found[-1].lasting == 20
    assert found[-1].place.width == pytest.approx(50, abs=2)


def test_the_same_array_stands_still():
    still = grating(20)
    assert watch([still] * 20)[-1] == watch([still.copy() for _ in range(20)])[-1]


@pytest.mark.parametrize(("area", "changing", "lasting", "verdict"), [
    (0.25, True, 99, "holds"), (0.26, True, 13, "fails"), (0.26, True, 12, "holds"),
    (0.26, False, 99, "watch"), (0.40, False, 99, "watch"), (0.41, False, 99, "fails"),
])  # fmt: skip
def test_verdicts(area, changing, lasting, verdict):
    assert judge_stripes(Stripes(9, area, changing, lasting), RATE) == verdict
