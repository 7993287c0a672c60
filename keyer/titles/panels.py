"""Panels behind the text, plain, ramp, rounded, bordered, see-through; circles and rules."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from keyer.titles.ink import Canvas, Coverage, Mark

Axis = NDArray[np.float32]


@dataclass(frozen=True)
class Rectangle:
    """A rectangle in display pixels from the picture's top left corner."""

    left: float
    top: float
    right: float
    bottom: float

    @property
    def width(self) -> float:
        """Display pixels."""
        return self.right - self.left

    @property
    def height(self) -> float:
        """Display pixels."""
        return self.bottom - self.top

    def inset(self, by: float) -> Rectangle:
        """Return the rectangle that lies `by` inside on every side."""
        x, y = min(by, self.width / 2), min(by, self.height / 2)
        return Rectangle(self.left + x, self.top + y, self.right - x, self.bottom - y)

    def square(self) -> Rectangle:
        """Return the largest square in its middle."""
        side = min(self.width, self.height)
        left, top = (self.left + self.right - side) / 2, (self.top + self.bottom - side) / 2
        return Rectangle(left, top, left + side, top + side)

    def place(self, name: str) -> tuple[float, float]:
        """Return one of its nine places, such as "top left" or "centre"."""
        x = self.left if "left" in name else self.right if "right" in name else None
        y = self.top if "top" in name else self.bottom if "bottom" in name else None
        middle = (self.left + self.right) / 2, (self.top + self.bottom) / 2
        return middle[0] if x is None else x, middle[1] if y is None else y

    def snapped(self, aspect: float) -> Rectangle:
        """Move the sides to the nearest edges of pixels, so that they are sharp."""
        columns = (round(side / aspect) * aspect for side in (self.left, self.right))
        left, right = columns
        return Rectangle(left, float(round(self.top)), right, float(round(self.bottom)))


def _share(low: float, high: float, first: int, count: int, pixel: float) -> Axis:
    """Share of each pixel along one axis that lies between two sides."""
    edges = (np.arange(first, first + count + 1) * pixel).astype(np.float64)
    inside = np.clip(edges, low, high)
    return (np.diff(inside) / pixel).astype(np.float32)


def rounded(shape: Rectangle, radius: float, canvas: Canvas) -> Mark:
    """Coverage of a rectangle with rounded corners.

    Parameters
    ----------
    shape : Rectangle
    radius : float
        Of the corners, in display pixels; at most half the shorter side is used.
    canvas : Canvas

    Returns
    -------
    Mark
        Straight sides cover by area; corners by their distance to the arc,
        within a pixel of it.
    """
    aspect = canvas.pixel_aspect
    left, right = math.floor(shape.left / aspect), math.ceil(shape.right / aspect)
    top, bottom = math.floor(shape.top), math.ceil(shape.bottom)
    across = _share(shape.left, shape.right, left, right - left, aspect)
    down = _share(shape.top, shape.bottom, top, bottom - top, 1.0)
    cover = np.outer(down, across).astype(np.float32)
    radius = min(radius, shape.width / 2, shape.height / 2)
    if radius > 0:
        x = (np.arange(left, right) + 0.5) * aspect
        y = np.arange(top, bottom) + 0.5
        dx = np.maximum(np.maximum(shape.left + radius - x, x - shape.right + radius), 0)
        dy = np.maximum(np.maximum(shape.top + radius - y, y - shape.bottom + radius), 0)
        rows, columns = np.flatnonzero(dy > 0), np.flatnonzero(dx > 0)
        if rows.size and columns.size:
            away = np.hypot(dx[columns][None, :], dy[rows][:, None])
            # a pixel is as wide, seen along the arc's normal, as its sides make it
            wide = (dx[columns][None, :] * aspect + dy[rows][:, None]) / np.maximum(away, 1e-6)
            arc = np.clip(0.5 + (radius - away) / np.maximum(wide, 1e-6), 0, 1)
            cover[np.ix_(rows, columns)] = np.minimum(cover[np.ix_(rows, columns)], arc)
    return Mark(cover, left, top)


def ring(shape: Rectangle, radius: float, width: float, canvas: Canvas) -> Mark:
    """Coverage of a border that lies inside a panel's edge.

    Parameters
    ----------
    shape : Rectangle
    radius : float
        Of the panel's corners.
    width : float
        Of the border, in display pixels.
    canvas : Canvas
    """
    outer = rounded(shape, radius, canvas)
    hole = shape.inset(width)
    if min(hole.width, hole.height) <= 0:
        return outer
    inner = rounded(hole, max(radius - width, 0), canvas)
    cover = outer.coverage.copy()
    row, column = inner.top - outer.top, inner.left - outer.left
    height, breadth = inner.coverage.shape
    cover[row : row + height, column : column + breadth] -= inner.coverage
    return Mark(np.maximum(cover, 0), outer.left, outer.top)


def ramp_along(shape: Rectangle, angle: float, mark: Mark, aspect: float) -> Coverage:
    """How far along a ramp each pixel of a mark lies.

    Parameters
    ----------
    shape : Rectangle
        The panel; the ramp runs from its one side or corner to the opposite one.
    angle : float
        Degrees; 0 runs to the right, 90 downwards.
    mark : Mark
        Says which pixels.
    aspect : float
        Pixel aspect.

    Returns
    -------
    (h, w) float32, 0 at the start, 1 at the end
    """
    way_x, way_y = math.cos(math.radians(angle)), math.sin(math.radians(angle))
    rows, columns = mark.coverage.shape
    x = (np.arange(columns) + mark.left + 0.5) * aspect - (shape.left + shape.right) / 2
    y = np.arange(rows) + mark.top + 0.5 - (shape.top + shape.bottom) / 2
    length = abs(way_x) * shape.width + abs(way_y) * shape.height
    along = (x[None, :] * way_x + y[:, None] * way_y) / max(length, 1e-6) + 0.5
    return np.clip(along, 0, 1).astype(np.float32)


def straight(
    start: tuple[float, float],
    end: tuple[float, float],
    thick: float,
    canvas: Canvas,
    *,
    round_ends: bool,
) -> Mark:
    """Coverage of a straight line.

    Parameters
    ----------
    start, end : (x, y)
        Where its middle begins and ends, in display pixels.
    thick : float
        In display pixels.
    canvas : Canvas
    round_ends : bool
        Half circles beyond both ends; otherwise it is cut off square at them.

    Returns
    -------
    Mark
        Lines that lie or stand cover by area; slanting ones by their distance
        from the middle, within a pixel of it.
    """
    aspect, half = canvas.pixel_aspect, thick / 2
    if not round_ends and (start[0] == end[0] or start[1] == end[1]):
        (left, right), (top, bottom) = (sorted(pair) for pair in zip(start, end, strict=True))
        across, down = (half, 0.0) if left == right else (0.0, half)
        return rounded(
            Rectangle(left - across, top - down, right + across, bottom + down), 0, canvas
        )
    (x0, y0), (x1, y1) = start, end
    left = math.floor((min(x0, x1) - half) / aspect) - 1
    right = math.ceil((max(x0, x1) + half) / aspect) + 1
    top, bottom = math.floor(min(y0, y1) - half) - 1, math.ceil(max(y0, y1) + half) + 1
    x = ((np.arange(left, right) + 0.5) * aspect - x0).astype(np.float32)[np.newaxis, :]
    y = (np.arange(top, bottom) + 0.5 - y0).astype(np.float32)[:, np.newaxis]
    length = math.hypot(x1 - x0, y1 - y0)
    way_x, way_y = (x1 - x0) / length, (y1 - y0) / length
    along, beside = x * way_x + y * way_y, np.abs(y * way_x - x * way_y)
    beyond = np.maximum(-along, along - length)
    # a pixel is as wide, seen along the normal, as its sides make it
    wide = abs(way_y) * aspect + abs(way_x)
    away = np.hypot(beside, np.maximum(beyond, 0)) if round_ends else beside
    over = np.minimum(half, away + wide / 2) - np.maximum(-half, away - wide / 2)
    cover = np.clip(over / wide, 0, 1)
    if not round_ends:
        deep = abs(way_x) * aspect + abs(way_y)
        cover = cover * np.clip(0.5 - beyond / deep, 0, 1)
    return Mark(cover.astype(np.float32), left, top)
