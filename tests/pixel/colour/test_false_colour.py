"""Numbers shown as colours."""

import numpy as np
import pytest

from keyer.pixel.colour.false_colour import ABOUT_A_MIDDLE, FROM_NOTHING, UNKNOWN, in_colours
from keyer.pixel.colour.luma_chroma import LUMA


@pytest.mark.parametrize("scale", [ABOUT_A_MIDDLE, FROM_NOTHING])
def test_ends_steps_and_beyond(scale):
    values = np.array([[-9, -1, 0, 1, 9]], np.float32)
    planes = in_colours(values, -1, 1, scale)
    assert planes[:, 0, 0] == pytest.approx(scale[0])
    assert planes[:, 0, 1] == pytest.approx(scale[0])
    assert planes[:, 0, 2] == pytest.approx(scale[2])
    assert planes[:, 0, 4] == pytest.approx(scale[-1])


@pytest.mark.parametrize("scale", [ABOUT_A_MIDDLE, FROM_NOTHING])
def test_a_scale_gets_lighter_all_the_way(scale):
    luma = np.array(scale) @ np.array(LUMA["bt709"])
    assert (np.diff(luma) > 0.05).all()


def test_what_is_not_a_number_is_grey():
    planes = in_colours(np.array([[np.nan, np.inf]], np.float32), 0, 1, FROM_NOTHING)
    assert (planes == np.float32(UNKNOWN)).all()
