"""Finishing a matte."""

import numpy as np
import pytest

from keyer.errors import SettingError
from keyer.measure.coverage import measure_coverage
from keyer.pixel.mattes.finish import drop_specks, feather, fill_holes, grow


def disc(radius=40.0, soft=1.0, size=121, at=None):
    middle = (size - 1) / 2 if at is None else at
    rows, cols = np.mgrid[0:size, 0:size]
    away = np.hypot(rows - middle, cols - middle)
    return np.clip((radius - away) / soft + 0.5, 0, 1).astype(np.float32)


def radius_of(matte):
    return float(np.sqrt(matte.sum() / np.pi))


@pytest.mark.parametrize(
    "pixels", [-6.5, -2.0, -1.0, -0.5, -0.25, 0.25, 0.5, 1.0, 1.75, 3.5, 10.25]
)
@pytest.mark.parametrize("soft", [1.0, 4.0])
def test_an_edge_moves_by_fractions_of_a_pixel(pixels, soft):
    matte = disc(soft=soft)
    assert radius_of(grow(matte, pixels)) == pytest.approx(radius_of(matte) + pixels, abs=0.25)


@pytest.mark.parametrize("angle", [0, 20, 45, 70])
def test_straight_edges_move_alike_in_all_directions(angle):
    rows, cols = np.mgrid[0:101, 0:101] - 50
    along = cols * np.cos(np.radians(angle)) + rows * np.sin(np.radians(angle))
    matte = np.clip(0.5 - along / 3, 0, 1).astype(np.float32)
    grown = grow(matte, 2.5)[50]
    # where the edge crosses the middle row, on the line across it
    crossing = np.interp(0.5, grown[::-1], np.arange(100, -1, -1)) - 50
    assert crossing * np.cos(np.radians(angle)) == pytest.approx(2.5, abs=0.15)


def test_nothing_grown_is_the_same():
    matte = disc()
    assert np.array_equal(grow(matte, 0.0), matte)


def test_growing_and_shrinking_keep_a_smooth_shape():
    matte = disc(soft=3.0)
    assert np.abs(grow(grow(matte, 1.5), -1.5) - matte).max() < 0.15


def test_small_holes_are_filled_and_large_ones_kept():
    matte = disc()
    matte[55:58, 55:58] = 0.3
    matte[70:80, 60:70] = 0
    filled = fill_holes(matte, 20)
    assert (filled[55:58, 55:58] == 1).all()
    assert (filled[70:80, 60:70] == 0).all()
    assert measure_coverage(fill_holes(matte, 100)).holes.count == 0


def test_specks_are_dropped_and_the_subject_kept():
    matte = disc()
    matte[5:7, 5:7] = 0.6
    matte[110:119, 5:9] = 0.6
    cleaned = drop_specks(matte, 10)
    assert not cleaned[5:7, 5:7].any()
    assert cleaned[112, 6] == np.float32(0.6)
    assert np.array_equal(cleaned[20:100, 20:100], matte[20:100, 20:100])


@pytest.mark.parametrize("area", [0, 3.9])
def test_areas_are_counted_in_whole_pixels(area):
    matte = np.ones((20, 20), np.float32)
    matte[5:7, 5:7] = 0
    assert np.array_equal(fill_holes(matte, area), matte)
    assert (fill_holes(matte, 4) == 1).all()


@pytest.mark.parametrize("pixels", [4.0, 9.0, 20.0])
def test_a_feathered_hard_edge_has_the_width_asked_for(pixels):
    matte = np.zeros((9, 200), np.float32)
    matte[:, 100:] = 1
    row = feather(matte, pixels)[4]
    between = np.interp([0.02, 0.98], row, np.arange(200))
    assert between[1] - between[0] == pytest.approx(pixels, abs=0.6)
    assert row.sum() == pytest.approx(100, abs=0.01)


def test_no_feather_is_the_same():
    matte = disc()
    assert feather(matte, 0) is matte


@pytest.mark.parametrize(
    ("step", "value"),
    [
        (grow, 300.0),
        (grow, float("nan")),
        (feather, -1.0),
        (fill_holes, -1.0),
        (drop_specks, float("inf")),
    ],
)
def test_out_of_range_is_refused(step, value):
    with pytest.raises(SettingError):
        step(disc(), value)
