"""Boxes: where they stand, what is about them, and that they do not shimmer."""

import numpy as np
import pytest
from support import planes

from keyer.kinds.settings import BoxLook
from keyer.pixel.compose.place import PLAIN, Placement, place

ROWS, COLUMNS = 100, 160
"""A percent of the picture height is a row."""

ONES = np.ones((ROWS, COLUMNS), np.float32)
RED = (1.0, 0.0, 0.0)


def white():
    return np.ones((3, ROWS, COLUMNS), np.float32), ONES


def boxed(placement, look=PLAIN, picture=None, aspect=1.0):
    return place(*(picture or white()), placement, look, aspect)


@pytest.mark.parametrize("x", [50.0, 50.1, 50.3])
def test_a_border_is_even_on_all_sides(x):
    """By hand: a picture of half size with a border of 5 rows; areas of ring and picture."""
    fill, cover = boxed(Placement(x, 50.17, 50), BoxLook(5.0, RED))
    ring = (80 + 10) * (50 + 10) - 80 * 50
    # red is 1 in the border and in the white picture, blue in the picture alone
    assert cover.sum() == pytest.approx((80 + 10) * (50 + 10), abs=1.5)
    assert (fill[0] - fill[2]).sum() == pytest.approx(ring, abs=1.5)
    for line in ((fill[0] - fill[2])[50], (fill[0] - fill[2])[:, 80]):
        half = len(line) // 2
        assert line[:half].sum() == pytest.approx(5, abs=0.02)
        assert line[half:].sum() == pytest.approx(5, abs=0.02)


def test_round_corners_take_away_what_a_square_has_more_than_a_circle():
    _, cover = boxed(Placement(50, 50, 50), BoxLook(corners=10.0))
    assert cover.sum() == pytest.approx(80 * 50 - (4 - np.pi) * 100, abs=1.0)
    assert cover[25, 40] == 0
    assert cover[50, 40] == 1


def test_a_turned_box_keeps_its_size_and_its_shape():
    _, cover = boxed(Placement(50, 50, 40, turn=30.0))
    assert cover.sum() == pytest.approx(64 * 40, abs=2)
    columns = np.arange(COLUMNS) + 0.5
    assert (cover * columns).sum() / cover.sum() == pytest.approx(80, abs=0.05)
    # by hand: the right end of its axis lies lower, 32 sin 30 below the middle
    along = np.deg2rad(30)
    x, y = 80 + 31 * np.cos(along), 50 + 31 * np.sin(along)
    assert cover[int(y), int(x)] == 1
    assert cover[int(100 - y), int(x)] == 0


def test_turned_by_half_it_is_flipped_both_ways():
    picture = planes(1, ROWS, COLUMNS), ONES
    turned = boxed(Placement(50, 50, 50, turn=180.0), picture=picture)[0]
    flipped = boxed(
        Placement(50, 50, 50, left_right=True, up_down=True), BoxLook(corners=1e-6), picture
    )[0]
    np.testing.assert_allclose(turned, flipped, atol=2e-3)


def test_pixels_that_are_not_square_do_not_skew_what_is_turned():
    """By hand: 32 columns of double width by 20 rows become, by a quarter turn, 64 rows by 10."""
    _, cover = boxed(Placement(50, 50, 20, turn=90.0), aspect=2.0)
    seen = np.argwhere(cover > 0.5)
    assert np.ptp(seen[:, 0]) + 1 == pytest.approx(64, abs=1)
    assert np.ptp(seen[:, 1]) + 1 == pytest.approx(10, abs=1)


def test_crops_fall_between_pixels():
    _, cover = boxed(Placement(50, 50, 100, (10.3, 0, 0, 0)), BoxLook(corners=1e-6))
    assert cover[50].sum() == pytest.approx(160 * 0.897, abs=0.01)


def test_a_drop_shadow_lies_under_all_of_it():
    look = BoxLook(2.0, RED, shadow=50.0, shadow_soft=4.0, shadow_offset=(6.0, 6.0))
    fill, cover = boxed(Placement(50, 50, 50), look)
    plain = boxed(Placement(50, 50, 50), BoxLook(2.0, RED))
    np.testing.assert_allclose(fill, plain[0], atol=1e-6)  # it is black
    assert cover[80, 124] == pytest.approx(0.5)  # right below the corner
    np.testing.assert_array_equal(cover[plain[1] == 1], 1)
    assert cover[:24].max() <= plain[1][:24].max()


def test_what_is_clear_in_the_picture_stays_clear_within_the_border():
    matte = np.zeros((ROWS, COLUMNS), np.float32)
    _, cover = boxed(Placement(50, 50, 50), BoxLook(5.0, RED), (np.zeros((3, *matte.shape)), matte))
    assert cover[50, 80] == 0
    assert cover[50, 38] == pytest.approx(1)


@pytest.mark.parametrize(
    "placement", [Placement(500, 50), Placement(50, 50, 0), Placement(50, 50, 100, (60, 0, 60, 0))]
)
def test_what_is_not_there_is_clear(placement):
    fill, cover = boxed(placement, BoxLook(1.0, shadow=50.0))
    assert not cover.any()
    assert not fill.any()


def test_a_slow_move_does_not_shimmer():
    """Fine stripes in a box that moves by an eighth of a pixel a frame.

    What would flicker is the amplitude of the stripes (by a Fourier sum over ten of
    them), from sharp on whole pixels to blurred between them.
    """
    columns = np.arange(COLUMNS)
    stripes = np.broadcast_to(0.5 + 0.4 * np.cos(2 * np.pi * columns / 8), (3, ROWS, COLUMNS))
    picture = np.ascontiguousarray(stripes, np.float32), ONES
    contrasts, areas = [], []
    for step in range(16):
        placement = Placement(50 + 100 / COLUMNS * step / 8, 50, 50)
        fill, cover = boxed(placement, BoxLook(1.0, RED, 0.0, 2.0), picture)
        wave = np.exp(2j * np.pi * np.arange(40) / 4)
        contrasts.append(abs((fill[1][50, 60:100] * wave).sum()))
        areas.append(cover.sum())
    assert np.ptp(contrasts) / np.mean(contrasts) < 0.1
    assert np.ptp(areas) / np.mean(areas) < 2e-4
