"""What repeats, along time; and what is finer than the cells."""

from fractions import Fraction

import numpy as np
import pytest
from measured import fine_light
from signals.stripes import checks, within

from keyer.measure.cells import make_grid
from keyer.measure.repeat_meter import Repeating, RepeatMeter, find_fine_repeats, judge_repeats
from keyer.measure.screen import screen_light

Y, X = np.mgrid[:540, :960]
FLAT = np.full((3, 2, 2), 0.5, np.float32)


def planes(picture):
    return np.repeat(np.asarray(picture, np.float32)[np.newaxis], 3, axis=0)


FINE = {
    "columns of one pixel": X % 2,
    "rows of one pixel": Y % 2,
    "pairs of three": X % 3 < 1.5,
    "pairs of six, aslant": (X + Y) % 6 < 3,
    "single pixels, light and dark in turns": (X + Y) % 2,
    "squares of two": (X // 2 + Y // 2) % 2,
    "dots": (X % 5 < 2) & (Y % 5 < 2),
}


@pytest.mark.parametrize("name", FINE)
def test_what_is_finer_than_the_cells(name):
    found = find_fine_repeats(planes(FINE[name]))
    assert (found.area, found.pairs) == (1, 0)


def test_share_of_what_is_fine():
    assert find_fine_repeats(planes((X + Y) % 2 * (X < 480))).area == pytest.approx(0.5, abs=0.1)


def test_large_pictures_are_brought_to_size():
    """Pairs of 8 pixels in 3840 columns: a cell is 8.5."""
    x = np.arange(3840)
    picture = np.broadcast_to(x % 8 < 4, (2160, 3840))
    assert find_fine_repeats(planes(picture)).area == 1


def test_grain_and_plain_pictures_have_none():
    rng = np.random.default_rng(1)
    assert find_fine_repeats(planes(rng.random((540, 960)))).area == 0
    assert find_fine_repeats(planes(np.full((540, 960), 0.5))).area == 0
    assert find_fine_repeats(planes(X / 960)).area == 0
    assert find_fine_repeats(planes(X[:100, :450] % 2)).area == 0  # cells as fine as pixels


def watched(pictures, rate=25):
    meter = RepeatMeter(Fraction(rate))
    return [judge_repeats(meter.add(light, FLAT), Fraction(rate)) for light in pictures]


@pytest.mark.parametrize(("frames", "verdict"), [(6, "holds"), (14, "fails")])
def test_half_a_second_is_tolerated(frames, verdict):
    """It may have begun as early as the look before: up to a third of a second is added."""
    pattern, plain = checks(9), np.full((252, 450), 0.5, np.float32)
    found = watched([plain] * 8 + [pattern] * frames + [plain] * 30)
    assert max(found, key=["holds", "watch", "fails"].index) == verdict
    assert found[-1] == "holds"


@pytest.mark.parametrize(("share", "verdict"), [(0.15, "holds"), (0.3, "watch"), (0.45, "fails")])
def test_shares_are_those_of_stripes_that_stand(share, verdict):
    assert watched([within(checks(9), share)] * 20)[-1] == verdict


def test_a_pattern_that_moves_goes_on():
    frames = [np.roll(checks(9), i, 1) for i in range(20)]
    assert watched(frames)[-1] == "fails"


def test_a_pattern_that_comes_and_goes_goes_on():
    pattern, plain = checks(9), np.full((252, 450), 0.5, np.float32)
    assert "fails" in watched([pattern, plain] * 20)


def test_what_is_too_fine_to_be_counted_is_watch():
    """Not measured is never said to hold; the means of its cells are even."""
    picture = planes((X // 2 + Y // 2) % 2)
    grid = make_grid(960, 540)
    meter = RepeatMeter(Fraction(25))
    light = screen_light(fine_light(picture, grid))
    for _ in range(20):
        found = meter.add(light, picture)
    assert found == Repeating(0.0, 1.0, 20, found.place)
    assert judge_repeats(found, Fraction(25)) == "watch"
