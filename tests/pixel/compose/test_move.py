"""Push and slide."""

import numpy as np
import pytest

from keyer.errors import FrameShapeError, SettingError
from keyer.pixel.compose.move import push, slide

A = np.arange(24, dtype=np.uint8).reshape(1, 4, 6)
B = 100 + A
SIDES = ["left", "top", "right", "bottom"]


@pytest.mark.parametrize("move", [push, slide])
@pytest.mark.parametrize("side", SIDES)
def test_the_ends_are_the_pictures_bit_for_bit(move, side):
    np.testing.assert_array_equal(move(A, B, 0.0, side), A)
    np.testing.assert_array_equal(move(A, B, 1.0, side), B)


def test_push_moves_both():
    """By hand, half way: three columns of each."""
    found = push(A, B, 0.5, "left")
    np.testing.assert_array_equal(found[0, 0], [103, 104, 105, 0, 1, 2])
    np.testing.assert_array_equal(push(A, B, 0.5, "right")[0, 0], [3, 4, 5, 100, 101, 102])
    np.testing.assert_array_equal(push(A, B, 0.25, "top")[0, :, 0], [118, 0, 6, 12])
    np.testing.assert_array_equal(push(A, B, 0.25, "bottom")[0, :, 0], [6, 12, 18, 100])


def test_slide_leaves_a_where_it_is():
    np.testing.assert_array_equal(slide(A, B, 0.5, "left")[0, 0], [103, 104, 105, 3, 4, 5])
    np.testing.assert_array_equal(slide(A, B, 0.5, "right")[0, 0], [0, 1, 2, 100, 101, 102])
    np.testing.assert_array_equal(slide(A, B, 0.25, "top")[0, :, 0], [118, 6, 12, 18])
    np.testing.assert_array_equal(slide(A, B, 0.25, "bottom")[0, :, 0], [0, 6, 12, 100])


@pytest.mark.parametrize("move", [push, slide])
@pytest.mark.parametrize("side", SIDES)
def test_the_share_of_b_is_the_progress(move, side):
    """Within half a column."""
    a, b = np.zeros((3, 40, 40), np.float32), np.ones((3, 40, 40), np.float32)
    for progress in (0.1, 0.33, 0.5, 0.9):
        found = move(a, b, progress, side)
        assert found.dtype == np.float32
        assert found.mean() == pytest.approx(progress, abs=0.5 / 40)


def test_wrong_requests_are_refused():
    with pytest.raises(SettingError, match="side must be one of left, top, right, bottom"):
        push(A, B, 0.5, "up")
    with pytest.raises(SettingError, match=r"progress must be in \[0, 1\]"):
        slide(A, B, 1.5, "left")
    with pytest.raises(FrameShapeError, match="b must have the shape and depth of a"):
        push(A, B[:, :3], 0.5, "left")
    with pytest.raises(FrameShapeError, match="float64"):
        push(A, B.astype(float), 0.5, "left")
