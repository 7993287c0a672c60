"""The order in which the cells of a grid are uncovered, and the way across each.

A route is a list of steps: row, column, and the way (rows down, columns right)
in which the cell is crossed.
"""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
from numpy.typing import NDArray

Step = tuple[int, int, int, int]
Route = list[Step]


def snake(rows: int, columns: int) -> Route:
    """Along the first row, back along the next, and so on down."""
    route: Route = []
    for row in range(rows):
        way = 1 if row % 2 == 0 else -1
        for column in range(columns)[::way]:
            route.append((row, column, 0, way))
    return route


def diagonal(rows: int, columns: int) -> Route:
    """Along the diagonals from the top left corner, alternately up and down."""
    route: Route = []
    for total in range(rows + columns - 1):
        cells = [(row, total - row) for row in range(rows) if 0 <= total - row < columns]
        up = total % 2 == 0
        # each cell is crossed from the side that is uncovered, so that the stairs stay clean
        route.extend((row, column, 0, 1) for row, column in (cells[::-1] if up else cells))
    return route


def spiral(rows: int, columns: int) -> Route:
    """Along the outer ring clockwise from the top left corner, winding in."""
    route: Route = []
    top, left, bottom, right = 0, 0, rows, columns
    while top < bottom and left < right:
        route += [(top, column, 0, 1) for column in range(left, right)]
        route += [(row, right - 1, 1, 0) for row in range(top + 1, bottom)]
        if bottom - top > 1 and right - left > 1:
            route += [(bottom - 1, column, 0, -1) for column in range(right - 2, left - 1, -1)]
            route += [(row, left, -1, 0) for row in range(bottom - 2, top, -1)]
        top, left, bottom, right = top + 1, left + 1, bottom - 1, right - 1
    return route


def diagonal_pair(rows: int, columns: int) -> Route:
    """Take the first half of `diagonal`; the second starts from the opposite corner."""
    return diagonal(rows, columns)[: rows * columns // 2]


ROUTES: dict[str, Callable[[int, int], Route]] = {
    "snake": snake,
    "diagonal": diagonal,
    "spiral": spiral,
}
"""Routes by the name that the library's files use."""


def turned_over(route: Route, rows: int, columns: int, *, across: bool, down: bool) -> Route:
    """Mirror a route left to right (`across`) and top to bottom (`down`)."""
    sx, sy = (-1 if across else 1), (-1 if down else 1)
    return [
        (
            rows - 1 - row if down else row,
            columns - 1 - column if across else column,
            sy * way_down,
            sx * way_right,
        )
        for row, column, way_down, way_right in route
    ]


def transposed(route: Route) -> Route:
    """Swap rows and columns."""
    return [(column, row, right, down) for row, column, down, right in route]


def route_from(name: str, rows: int, columns: int, *, corner: str, first: str) -> Route:
    """Make a route from a corner.

    Parameters
    ----------
    name : str
        Key of `ROUTES`.
    rows, columns : int
    corner : str
        Where it starts: two words, `"top left"`.
    first : {"across", "down"}
        Which way its first steps go.
    """
    make = ROUTES[name]
    route = transposed(make(columns, rows)) if first == "down" else make(rows, columns)
    return turned_over(route, rows, columns, across="right" in corner, down="bottom" in corner)


def tables(rows: int, columns: int, routes: list[Route]) -> tuple[NDArray[np.float32], ...]:
    """Lay routes that are taken at the same time out as tables.

    Parameters
    ----------
    rows, columns : int
    routes : list of Route
        Together they pass each cell once.

    Returns
    -------
    start, length, down, right : (rows, columns) float32
        Progress at which a cell begins, how long it takes, and the way across it.
    """
    start, length, down, right = (np.zeros((rows, columns), np.float32) for _ in range(4))
    for route in routes:
        for number, (row, column, way_down, way_right) in enumerate(route):
            start[row, column] = number / len(route)
            length[row, column] = 1 / len(route)
            down[row, column], right[row, column] = way_down, way_right
    return start, length, down, right
