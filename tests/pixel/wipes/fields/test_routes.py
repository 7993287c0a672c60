"""The order in which cells are uncovered."""

from itertools import pairwise

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from keyer.pixel.wipes.fields.routes import (
    ROUTES,
    diagonal_pair,
    route_from,
    spiral,
    tables,
    transposed,
    turned_over,
)

SIZES = st.integers(1, 9)


@given(st.sampled_from(list(ROUTES)), SIZES, SIZES)
def test_each_cell_is_passed_once(name, rows, columns):
    route = ROUTES[name](rows, columns)
    assert sorted((row, column) for row, column, *_ in route) == [
        (row, column) for row in range(rows) for column in range(columns)
    ]


@pytest.mark.parametrize("name", ["snake", "spiral"])
@given(rows=SIZES, columns=SIZES)
def test_the_next_cell_is_beside_the_last(name, rows, columns):
    route = ROUTES[name](rows, columns)
    for (row, column, *_), (next_row, next_column, *_) in pairwise(route):
        assert abs(row - next_row) + abs(column - next_column) == 1


def test_a_spiral_by_hand():
    """Three rows of four cells, clockwise from the top left."""
    cells = [(row, column) for row, column, *_ in spiral(3, 4)]
    ring = [(0, 0), (0, 1), (0, 2), (0, 3), (1, 3), (2, 3), (2, 2), (2, 1), (2, 0), (1, 0)]
    assert cells == [*ring, (1, 1), (1, 2)]
    assert [way for *_, down, right in spiral(3, 4) for way in [(down, right)]][:7] == [
        (0, 1), (0, 1), (0, 1), (0, 1), (1, 0), (1, 0), (0, -1),
    ]  # fmt: skip


def test_a_diagonal_by_hand():
    cells = [(row, column) for row, column, *_ in ROUTES["diagonal"](2, 3)]
    assert cells == [(0, 0), (0, 1), (1, 0), (1, 1), (0, 2), (1, 2)]


def test_turning_over_twice_and_transposing_twice_change_nothing():
    route = spiral(4, 6)
    once = turned_over(route, 4, 6, across=True, down=True)
    assert turned_over(once, 4, 6, across=True, down=True) == route
    assert transposed(transposed(route)) == route


@pytest.mark.parametrize("corner", ["top left", "top right", "bottom left", "bottom right"])
@pytest.mark.parametrize("first", ["across", "down"])
@pytest.mark.parametrize("name", ["snake", "spiral"])
def test_a_route_starts_in_its_corner_the_way_it_says(corner, first, name):
    row, column, down, right = route_from(name, 4, 6, corner=corner, first=first)[0]
    assert row == (3 if "bottom" in corner else 0)
    assert column == (5 if "right" in corner else 0)
    assert (down == 0) is (first == "across")
    assert (right == 0) is (first == "down")


def test_a_pair_meets_half_way():
    assert len(diagonal_pair(4, 6)) == 12


def test_tables_of_two_routes_run_at_the_same_time():
    halves = [[(0, 0, 0, 1), (0, 1, 0, 1)], [(0, 3, 0, -1), (0, 2, 0, -1)]]
    start, length, down, right = tables(1, 4, halves)
    np.testing.assert_array_equal(start, [[0, 0.5, 0.5, 0]])
    np.testing.assert_array_equal(length, [[0.5] * 4])
    np.testing.assert_array_equal(down, [[0] * 4])
    np.testing.assert_array_equal(right, [[1, 1, -1, -1]])
