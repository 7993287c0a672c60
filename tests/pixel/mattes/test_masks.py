"""Garbage and hold-in mattes."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from skimage import draw

from keyer.errors import FrameShapeError, SettingError
from keyer.pixel.mattes.masks import Ellipse, Polygon, Rectangle, apply_masks, draw_mask, join_masks


@pytest.mark.parametrize("soft", [0, 1, 6, 20])
def test_a_rectangles_area_is_its_own_whatever_the_edge(soft):
    mask = draw_mask(Rectangle(30, 40, 100, 60, soft), 150, 180)
    # The ramp adds outside what it takes inside, but for the rounded corners: (soft/2)^2 each.
    assert mask.sum() == pytest.approx(100 * 60, abs=4 * (soft / 2) ** 2 + 1)


def test_a_hard_rectangle_on_whole_pixels_is_exact():
    mask = draw_mask(Rectangle(3, 2, 5, 4), 10, 12)
    expected = np.zeros((10, 12))
    expected[2:6, 3:8] = 1
    assert np.array_equal(mask, expected)


def test_a_hard_rectangle_on_half_pixels_covers_half():
    mask = draw_mask(Rectangle(3.5, 2, 5, 4), 10, 12)
    assert mask[3].tolist() == [0, 0, 0, 0.5, 1, 1, 1, 1, 0.5, 0, 0, 0]


@pytest.mark.parametrize(("width", "height"), [(80, 80), (100, 50), (30, 90)])
def test_an_ellipses_area(width, height):
    mask = draw_mask(Ellipse(75.3, 60.7, width, height, 3), 130, 160)
    assert mask.sum() == pytest.approx(np.pi * width * height / 4, rel=0.01)


@pytest.mark.parametrize("soft", [4, 12])
def test_the_soft_edge_of_an_ellipse_is_as_wide_as_asked_along_its_axes(soft):
    mask = draw_mask(Ellipse(100, 60, 150, 80, soft), 120, 200)
    row, column = mask[60], mask[:, 100]
    for line in (row, column):
        rising = (line > 0.01) & (line < 0.99)
        assert rising.sum() == pytest.approx(2 * soft, abs=3)


def test_a_polygon_against_scikit_image():
    points = ((10, 8), (70, 20), (40, 60), (55, 30))
    mask = draw_mask(Polygon(points), 80, 90)
    rows, cols = (np.array(part) - 0.5 for part in ([8, 20, 60, 30], [10, 70, 40, 55]))
    expected = draw.polygon2mask((80, 90), np.stack([rows, cols], 1))
    assert ((mask > 0.5) != expected).mean() < 0.003


def test_crossing_lines_cut_a_hole():
    ring = (
        (0, 0),
        (30, 0),
        (30, 30),
        (0, 30),
        (0, 0),
        (10, 10),
        (10, 20),
        (20, 20),
        (20, 10),
        (10, 10),
    )
    mask = draw_mask(Polygon(ring), 30, 30)
    assert mask[15, 15] == 0
    assert mask[5, 15] == 1


@given(st.floats(0, 40), st.floats(1, 60), st.floats(1, 60))
def test_every_mask_lies_in_0_to_1(soft, width, height):
    for shape in (
        Rectangle(5, 7, width, height, soft),
        Ellipse(30, 20, width, height, soft),
        Polygon(((0, 0), (width, 3), (9, height)), soft),
    ):
        mask = draw_mask(shape, 40, 60)
        assert mask.dtype == np.float32
        assert mask.min() >= 0
        assert mask.max() <= 1


def test_garbage_clears_and_hold_saves():
    matte = np.full((20, 30), 0.4, np.float32)
    garbage = draw_mask(Rectangle(0, 0, 15, 20), 20, 30)
    hold = draw_mask(Rectangle(10, 5, 10, 10), 20, 30)
    done = apply_masks(matte, garbage, hold)
    assert done[0, 0] == 0
    assert done[7, 12] == 1
    assert done[0, 29] == np.float32(0.4)
    assert apply_masks(matte) is matte


def test_several_masks_are_joined():
    first, second = (draw_mask(Rectangle(x, 0, 5, 9), 9, 20) for x in (0, 12))
    joined = join_masks([first, second])
    assert joined.sum() == 90
    assert first.sum() == 45


def test_refusals():
    with pytest.raises(SettingError, match="three corners"):
        Polygon(((0, 0), (1, 1)))
    with pytest.raises(SettingError, match="soft"):
        Rectangle(0, 0, 5, 5, -1)
    with pytest.raises(SettingError, match="points"):
        Polygon(((0, 0), (1, float("nan")), (2, 2)))
    with pytest.raises(FrameShapeError, match=r"hold-in matte.*30 x 20"):
        apply_masks(np.zeros((20, 30), np.float32), None, np.zeros((20, 31), np.float32))
