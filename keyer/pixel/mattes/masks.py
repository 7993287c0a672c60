"""Masks: shapes and pictures that decide parts of a matte by hand.

A garbage matte makes the matte clear (a stand, a lamp, the end of the backing);
a hold-in matte makes it solid (a green badge before a green backing). Several of
each may be laid on one another. Shapes are given in pixels of the output, and
their soft edge lies with its middle on their outline.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import cv2
import numpy as np

from keyer.errors import FrameShapeError, SettingError
from keyer.kinds.arrays import Plane
from keyer.kinds.ranges import in_range

SHARP = 1.0
"""Least width of an edge in pixels: anti-aliasing."""

FAR = 1.0e6


def _soft(value: float) -> float:
    return in_range("soft", value, 0, 4096, "It is the width of the edge in pixels.")


@dataclass(frozen=True)
class Rectangle:
    """A rectangle.

    Attributes
    ----------
    x, y : float
        Left upper corner.
    width, height : float
    soft : float
        Width of the soft edge.
    """

    x: float
    y: float
    width: float
    height: float
    soft: float = 0.0

    def __post_init__(self) -> None:
        in_range("width", self.width, 0, FAR)
        in_range("height", self.height, 0, FAR)
        _soft(self.soft)


@dataclass(frozen=True)
class Ellipse:
    """An ellipse.

    Attributes
    ----------
    x, y : float
        Middle.
    width, height : float
        Across and down, from edge to edge.
    soft : float
        Width of the soft edge.
    """

    x: float
    y: float
    width: float
    height: float
    soft: float = 0.0

    def __post_init__(self) -> None:
        in_range("width", self.width, 0, FAR)
        in_range("height", self.height, 0, FAR)
        _soft(self.soft)


@dataclass(frozen=True)
class Polygon:
    """A polygon; lines that cross each other cut holes (even-odd rule).

    Attributes
    ----------
    points : sequence of (x, y)
        At least three.
    soft : float
        Width of the soft edge.
    """

    points: tuple[tuple[float, float], ...]
    soft: float = 0.0

    def __post_init__(self) -> None:
        if len(self.points) < 3:
            msg = f"points must be at least three corners of a polygon, got {len(self.points)}."
            raise SettingError(msg)
        for x, y in self.points:
            in_range("points", x, -FAR, FAR, "They are x and y in pixels.")
            in_range("points", y, -FAR, FAR, "They are x and y in pixels.")
        _soft(self.soft)


Shape = Rectangle | Ellipse | Polygon


def draw_mask(shape: Shape, height: int, width: int) -> Plane:
    """Draw a shape as a mask.

    Parameters
    ----------
    shape : Rectangle, Ellipse or Polygon
    height, width : int
        Of the picture.

    Returns
    -------
    (H, W) float32
        1 inside, 0 outside, a straight ramp of the soft edge's width between.
    """
    down = np.arange(height, dtype=np.float32)[:, None] + np.float32(0.5)
    across = np.arange(width, dtype=np.float32)[None] + np.float32(0.5)
    if isinstance(shape, Rectangle):
        inside = _to_rectangle(shape, down, across)
    elif isinstance(shape, Ellipse):
        inside = _to_ellipse(shape, down, across)
    else:
        inside = _to_polygon(shape, down, across)
    ramp = inside / np.float32(max(shape.soft, SHARP)) + np.float32(0.5)
    return np.asarray(ramp.clip(0, 1), np.float32)


def _to_rectangle(shape: Rectangle, down: Plane, across: Plane) -> Plane:
    """Distance to the outline, positive inside."""
    half_width, half_height = np.float32(shape.width / 2), np.float32(shape.height / 2)
    beyond_x = np.abs(across - np.float32(shape.x + shape.width / 2)) - half_width
    beyond_y = np.abs(down - np.float32(shape.y + shape.height / 2)) - half_height
    outside = np.hypot(np.maximum(beyond_x, 0), np.maximum(beyond_y, 0))
    return np.asarray(-outside - np.minimum(np.maximum(beyond_x, beyond_y), 0), np.float32)


def _to_ellipse(shape: Ellipse, down: Plane, across: Plane) -> Plane:
    """Distance to the outline to first order: the implicit equation over its gradient."""
    a, b = (np.float32(max(side / 2, 1e-3)) for side in (shape.width, shape.height))
    x, y = across - np.float32(shape.x), down - np.float32(shape.y)
    radius = np.hypot(x / a, y / b)
    slope = np.hypot(x / a**2, y / b**2)
    middle = min(a, b)
    distance = np.where(radius > 1e-3, (1 - radius) * radius / np.maximum(slope, 1e-9), middle)
    return np.asarray(np.minimum(distance, middle), np.float32)


def _to_polygon(shape: Polygon, down: Plane, across: Plane) -> Plane:
    """Distance to the nearest side; inside by the even-odd rule."""
    corners = np.array(shape.points, np.float32)
    nearest = np.full((down.size, across.size), np.float32(FAR) ** 2, np.float32)
    inside = np.zeros(nearest.shape, np.bool_)
    for (x0, y0), (x1, y1) in zip(corners, np.roll(corners, -1, axis=0), strict=True):
        dx, dy = x1 - x0, y1 - y0
        length = max(float(dx * dx + dy * dy), 1e-12)
        along = ((across - x0) * dx + (down - y0) * dy) / np.float32(length)
        along = along.clip(0, 1)
        away = (across - x0 - along * dx) ** 2 + (down - y0 - along * dy) ** 2
        np.minimum(nearest, away, out=nearest)
        if y0 != y1:
            crossing = x0 + (down - y0) * (dx / dy)
            inside ^= ((y0 > down) != (y1 > down)) & (across < crossing)
    return np.where(inside, 1, -1).astype(np.float32) * np.sqrt(nearest)


def join_masks(masks: Sequence[Plane]) -> Plane:
    """Lay masks on one another: the greatest at each pixel.

    Parameters
    ----------
    masks : sequence of (H, W) float32
        At least one, all of one size: drawn shapes or pictures.

    Returns
    -------
    (H, W) float32
    """
    joined = masks[0].copy()
    for mask in masks[1:]:
        cv2.max(joined, mask, dst=joined)
    return joined


def apply_masks(matte: Plane, garbage: Plane | None = None, hold: Plane | None = None) -> Plane:
    """Make a matte clear under a garbage matte, then solid under a hold-in matte.

    Parameters
    ----------
    matte : (H, W) float32
    garbage, hold : (H, W) float32, optional
        0..1.

    Returns
    -------
    (H, W) float32
        max(matte x (1 - garbage), hold): where both lie, the subject is held.

    Raises
    ------
    FrameShapeError
        If a mask has another size than the matte.
    """
    for name, mask in (("garbage matte", garbage), ("hold-in matte", hold)):
        if mask is not None and mask.shape != matte.shape:
            msg = (
                f"{name} must have the size of the picture, {matte.shape[1]} x {matte.shape[0]},"
                f" got {mask.shape[1]} x {mask.shape[0]}. Fit it to the output first."
            )
            raise FrameShapeError(msg)
    done = matte if garbage is None else matte * (1 - garbage)
    return np.asarray(done if hold is None else np.maximum(done, hold), np.float32)
