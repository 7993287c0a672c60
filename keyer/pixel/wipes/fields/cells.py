"""Levels of grids whose cells are uncovered one after another.

Inside a cell the edge advances evenly the way its route crosses it. Grids are
counted along the longer side of the frame (`columns`) and the shorter (`rows`).
"""

from __future__ import annotations

from functools import lru_cache

import numpy as np
from numpy.typing import NDArray

from keyer.errors import SettingError
from keyer.kinds.arrays import Flat, Reals
from keyer.pixel.kernels.jit import kernel
from keyer.pixel.wipes.fields.routes import (
    ROUTES,
    Route,
    diagonal_pair,
    route_from,
    tables,
    turned_over,
)

Tables = tuple[Flat, ...]

LARGEST = 64


def _counts(half_width: float, half_height: float, columns: int, rows: int) -> tuple[int, int]:
    """Rows and columns of the grid in this frame."""
    for name, count in (("columns", columns), ("rows", rows)):
        if not 1 <= count <= LARGEST:
            msg = f"{name} must be in [1, {LARGEST}], got {count}."
            raise SettingError(msg)
    return (columns, rows) if half_height > half_width else (rows, columns)


def _halved(name: str, count: int) -> int:
    if count % 2:
        msg = f"{name} must be even to be halved, got {count}. Say {count + 1}."
        raise SettingError(msg)
    return count // 2


def _place(way: Reals, half: float, count: int) -> tuple[NDArray[np.intp], Reals]:
    """Which cell a place is in, and where in it, 0..1; outside the frame, of the nearest cell."""
    part = (way + np.float32(half)) * np.float32(count / (2 * half))
    number = np.clip(np.floor(part), 0, count - 1).astype(np.intp)
    return number, part - number.astype(np.float32)


@kernel
def _cross(
    x: Flat,
    y: Flat,
    half_width: np.float32,
    half_height: np.float32,
    start: Flat,
    length: Flat,
    down: Flat,
    right: Flat,
    out: Flat,
) -> None:
    """Level of each place: when its cell begins, and how far along the way across it is.

    `x` and `y` may have one row or one column for all.
    """
    rows, columns = start.shape
    across = np.float32(columns) / (np.float32(2.0) * half_width)
    along = np.float32(rows) / (np.float32(2.0) * half_height)
    for r in range(out.shape[0]):
        for c in range(out.shape[1]):
            u = (x[min(r, x.shape[0] - 1), min(c, x.shape[1] - 1)] + half_width) * across
            v = (y[min(r, y.shape[0] - 1), min(c, y.shape[1] - 1)] + half_height) * along
            # outside the frame the nearest cell goes on
            column = min(max(int(np.floor(u)), 0), columns - 1)
            row = min(max(int(np.floor(v)), 0), rows - 1)
            way_x, way_y = right[row, column], down[row, column]
            u = (u - np.float32(column) - np.float32(0.5)) * way_x
            v = (v - np.float32(row) - np.float32(0.5)) * way_y
            # across both ways, half of each
            share = (u + v) / max(abs(way_x) + abs(way_y), np.float32(1.0)) + np.float32(0.5)
            out[r, c] = start[row, column] + length[row, column] * share


def _level(x: Reals, y: Reals, half_width: float, half_height: float, grid: Tables) -> Reals:
    start, length, down, right = grid
    out = np.empty(np.broadcast_shapes(x.shape, y.shape), np.float32)
    _cross(
        np.ascontiguousarray(x, np.float32),
        np.ascontiguousarray(y, np.float32),
        np.float32(half_width),
        np.float32(half_height),
        start,
        length,
        down,
        right,
        out,
    )
    return out


@lru_cache(maxsize=64)
def _one(rows: int, columns: int, name: str, corner: str, first: str) -> Tables:
    if name not in ROUTES:
        msg = f"route must be one of {', '.join(ROUTES)}, got {name!r}."
        raise SettingError(msg)
    return tables(rows, columns, [route_from(name, rows, columns, corner=corner, first=first)])


def route(
    x: Reals,
    y: Reals,
    half_width: float,
    half_height: float,
    *,
    columns: int,
    rows: int,
    route: str,
    corner: str,
    first: str,
) -> Reals:
    """Take one route through the grid from a corner, which sets out `first` across or down."""
    counts = _counts(half_width, half_height, columns, rows)
    return _level(x, y, half_width, half_height, _one(*counts, route, corner, first))


def _shifted(steps: Route, down: int, right: int) -> Route:
    return [(row + down, column + right, *way) for row, column, *way in steps]  # type: ignore[misc]


@lru_cache(maxsize=64)
def _parts(
    rows: int, columns: int, name: str, corner: str, first: str, parts: str, others: str
) -> Tables:
    tall = _halved("rows", rows) if parts != "left and right" else rows
    wide = _halved("columns", columns) if parts != "top and bottom" else columns
    own = route_from(name, tall, wide, corner=corner, first=first)
    routes = []
    for down in (False, True) if tall < rows else (False,):
        for right in (False, True) if wide < columns else (False,):
            flips = {
                "same": (False, False),
                "mirror": (right, down),
                "opposite": (right or down, right or down),
            }[others]
            turned = turned_over(own, tall, wide, across=flips[0], down=flips[1])
            routes.append(_shifted(turned, tall * down, wide * right))
    return tables(rows, columns, routes)


def parts(
    x: Reals,
    y: Reals,
    half_width: float,
    half_height: float,
    *,
    columns: int,
    rows: int,
    route: str,
    corner: str,
    first: str,
    parts: str,
    others: str,
) -> Reals:
    """Take a route in each part of the frame at the same time.

    `parts` is `"left and right"`, `"top and bottom"` or `"quarters"`. `route`,
    `corner` and `first` are those of the left or top part; the `others` do the
    `"same"`, its `"mirror"` image, or the `"opposite"` (half a turn round).
    """
    counts = _counts(half_width, half_height, columns, rows)
    grid = _parts(*counts, route, corner, first, parts, others)
    return _level(x, y, half_width, half_height, grid)


@lru_cache(maxsize=16)
def _pair(rows: int, columns: int, *, mirrored: bool) -> Tables:
    _halved("cells", rows * columns)
    first = diagonal_pair(rows, columns)
    second = turned_over(first, rows, columns, across=True, down=True)
    both = [first, second]
    if mirrored:
        both = [turned_over(one, rows, columns, across=False, down=True) for one in both]
    return tables(rows, columns, both)


def diagonal_snakes(
    x: Reals,
    y: Reals,
    half_width: float,
    half_height: float,
    *,
    columns: int,
    rows: int,
    corner: str,
) -> Reals:
    """Take the diagonals from opposite corners at the same time, to meet between the other two."""
    counts = _counts(half_width, half_height, columns, rows)
    return _level(x, y, half_width, half_height, _pair(*counts, mirrored="bottom" in corner))


def waterfall(
    x: Reals,
    y: Reals,
    half_width: float,
    half_height: float,
    *,
    columns: int,
    rows: int,
    upright: bool,
    far: bool,
) -> Reals:
    """Fill columns downwards (upright) or rows sideways, each next one a cell behind.

    The outermost on the left leads, or on the right (`far`); rows are led by
    the top one and fill from the left, or from the right (`far`). The count of
    cells filled grows evenly.
    """
    down, across = _counts(half_width, half_height, columns, rows)
    if far:
        x = -x
    if upright:
        line, _ = _place(x, half_width, across)
        way, steps, lines = y * np.float32(0.5 / half_height), down, across
    else:
        line, _ = _place(y, half_height, down)
        way, steps, lines = x * np.float32(0.5 / half_width), across, down
    time = (way + np.float32(0.5)) * np.float32(steps) + line.astype(np.float32)
    # share of all cells filled at each time: the mean of ramps that start one after another
    times = np.arange(lines + steps)
    filled = np.clip(times[:, np.newaxis] - np.arange(lines), 0, steps).mean(axis=1) / steps
    level: Reals = np.interp(time, times, filled).astype(np.float32)
    return level
