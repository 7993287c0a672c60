"""How different two pictures look, in colour difference."""

import numpy as np
import pytest
from skimage.color import deltaE_cie76, rgb2lab

from keyer.measure.difference import picture_difference

RNG = np.random.default_rng(7)


def test_the_same_picture_does_not_differ():
    one = RNG.integers(0, 256, (36, 64, 3), np.uint8)
    found = picture_difference(one, one.copy())
    assert not found.differs
    assert (found.largest, found.seen_percent, found.mean) == (0, 0.0, 0.0)


def test_the_mean_is_that_of_an_independent_library():
    one, other = (RNG.integers(0, 256, (36, 64, 3), np.uint8) for _ in "ab")
    apart = deltaE_cie76(rgb2lab(one), rgb2lab(other))  # scikit-image: D65, sRGB
    found = picture_difference(one, other)
    assert found.mean == pytest.approx(apart.mean(), rel=2e-3)
    assert found.seen_percent == pytest.approx(100 * (apart >= 2.3).mean(), abs=0.1)


def test_a_quarter_that_is_white_is_a_quarter():
    black = np.zeros((40, 80, 3), np.uint8)
    other = black.copy()
    other[:20, :40] = 255
    found = picture_difference(black, other)
    assert found.largest == 255
    assert found.seen_percent == pytest.approx(25)
    assert found.mean == pytest.approx(25, abs=0.01)  # L* of white is 100


def test_one_code_differs_and_is_not_seen():
    grey = np.full((20, 20, 3), 128, np.uint8)
    found = picture_difference(grey, grey + np.uint8(1))
    assert found.differs
    assert found.seen_percent == 0


def test_pictures_of_two_sizes_are_laid_over_each_other():
    grey, larger = np.full((20, 20, 3), 90, np.uint8), np.full((40, 40, 3), 90, np.uint8)
    assert not picture_difference(grey, larger).differs
