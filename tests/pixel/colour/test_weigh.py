"""Sums of planes with weights."""

import numpy as np
import pytest
from support import TWIN, planes

from keyer.pixel.colour.luma_chroma import LUMA, hue_axes
from keyer.pixel.colour.weigh import luma_of, signal_against, weigh


def test_weighed_sum_by_hand():
    stack = planes(3)
    expected = 0.5 * stack[0] - 0.25 * stack[1] + 2 * stack[2]
    assert np.abs(weigh(stack, np.array([0.5, -0.25, 2.0])) - expected).max() < TWIN


@pytest.mark.parametrize("matrix", ["bt601", "bt709"])
def test_luma(matrix):
    stack = planes(4)
    expected = np.tensordot(np.array(LUMA[matrix]), stack, axes=1)
    assert np.abs(luma_of(stack, matrix) - expected).max() < TWIN


def test_signal_is_0_on_the_backing_1_at_grey_and_a_between():
    axes = hue_axes(229.68, "bt709")
    backing = np.zeros((3, 1, 3), np.float32)
    backing[1] = 0.8
    grey = np.full((3, 1, 3), 0.5, np.float32)
    cover = np.array([0, 0.3, 1], np.float32)
    mixed = cover * grey + (1 - cover) * backing
    assert signal_against(mixed, backing, axes)[0] == pytest.approx(cover, abs=1e-5)
