"""The middle of spokes and rings, and what is found when the picture is unrolled about it."""

import numpy as np
import pytest
from signals.stripes import COLUMNS, ROWS, inset, rings, spokes, straight

from keyer.measure.stripe_wheels import middle_of, slopes_of, wheel_of
from keyer.measure.stripes import reduced

GRID = (63, 112)


def small(plane):
    return reduced(reduced(plane))


@pytest.mark.parametrize("middle", [(0.5, 0.5), (0.3, 0.6), (0.1, 0.2), (-0.1, 0.5), (0.5, 1.2)])
@pytest.mark.parametrize("pairs", [7, 24])
def test_the_middle_of_spokes(middle, pairs):
    x, y = middle_of(slopes_of(small(spokes(pairs, middle))), "spokes")
    expected = middle[0] * 112 - 0.5, middle[1] * 63 - 0.5
    assert np.hypot(x - expected[0], y - expected[1]) < 1.5


@pytest.mark.parametrize("pairs", [6, 12, 24])
def test_the_middle_of_rings(pairs):
    x, y = middle_of(slopes_of(small(rings(pairs))), "rings")
    assert np.hypot(x - 55.5, y - 31) < 1


def test_straight_stripes_and_noise_have_no_middle():
    noise = np.random.default_rng(1).random((ROWS, COLUMNS)).astype(np.float32)
    for plane in (straight(9, 30), straight(9), noise, np.zeros((ROWS, COLUMNS), np.float32)):
        for kind in ("spokes", "rings"):
            assert middle_of(slopes_of(small(plane)), kind) is None


def test_a_wheel_in_a_part_of_the_picture():
    plane = inset(spokes(9, (0.3, 0.4)), 0.05, 0.1, 0.55, 0.7)
    wheel = wheel_of(plane, small(plane), GRID)
    assert wheel.pairs == pytest.approx(9, abs=0.3)
    assert np.mean(wheel.kept == 2) == pytest.approx(0.5 * 0.6, abs=0.09)
    assert not wheel.kept[:, 70:].any()


def test_phase_of_spokes_goes_once_around_for_each_pair():
    plane = spokes(9)
    wheel = wheel_of(plane, small(plane), GRID)
    y, x = np.mgrid[:63, :112]
    angle = np.arctan2((y + 0.5) / 63 * ROWS - 126, (x + 0.5) / 112 * COLUMNS - 225)
    cycle = (9 * angle / (2 * np.pi)) % 1
    seen = (wheel.kept == 2) & (np.hypot(x - 55.5, y - 31) > 8)
    apart = (wheel.phase - cycle + 0.5) % 1 - 0.5
    assert np.abs(apart[seen]).mean() < 0.05


def test_nothing_is_found_in_a_plain_picture():
    plane = np.full((ROWS, COLUMNS), 0.5, np.float32)
    assert wheel_of(plane, small(plane), GRID) is None
