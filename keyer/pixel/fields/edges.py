"""Levels of straight boundaries: bars, boxes, barn doors, diagonals.

A level function takes places in picture heights from the middle of the frame
(x to the right, y down; float32 arrays that broadcast together) and the
frame's half width and half height, and returns the progress at which each
place turns from A to B: 0..1 inside the frame, and naturally on beyond it.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

Plane = NDArray[np.float32]


def _slant(
    x: Plane, y: Plane, half_width: float, half_height: float, across: float, down: float
) -> Plane:
    """Way along a direction, -1 in one corner (or side) of the frame and 1 in the opposite one."""
    whole = abs(across) + abs(down)
    level = np.zeros((1, 1), np.float32)
    if across:
        level = level + x * np.float32(across / whole / half_width)
    if down:
        level = level + y * np.float32(down / whole / half_height)
    return level


def bar(
    x: Plane, y: Plane, half_width: float, half_height: float, *, across: float, down: float
) -> Plane:
    """One straight edge that travels the way (`across`, `down`), in half frame sizes."""
    slant = _slant(x, y, half_width, half_height, across, down)
    return np.float32(0.5) + np.float32(0.5) * slant


def split(
    x: Plane, y: Plane, half_width: float, half_height: float, *, across: float, down: float
) -> Plane:
    """Two parallel edges that part from a line through the middle."""
    return np.abs(_slant(x, y, half_width, half_height, across, down))


def box(
    x: Plane, y: Plane, half_width: float, half_height: float, *, anchor_x: float, anchor_y: float
) -> Plane:
    """A frame-shaped box that grows from an anchor (-1 left or top, 0 middle, 1 right or bottom)."""
    u = np.abs(x * np.float32(1 / half_width) - np.float32(anchor_x))
    v = np.abs(y * np.float32(1 / half_height) - np.float32(anchor_y))
    return np.maximum(
        u * np.float32(1 / (1 + abs(anchor_x))), v * np.float32(1 / (1 + abs(anchor_y)))
    )


def four_boxes(x: Plane, y: Plane, half_width: float, half_height: float, *, inward: bool) -> Plane:
    """Four boxes: from the corners of the frame inward, or from the middles of its quarters."""
    u = np.abs(x * np.float32(1 / half_width))
    v = np.abs(y * np.float32(1 / half_height))
    if inward:
        return np.float32(1) - np.minimum(u, v)
    return np.maximum(np.abs(2 * u - np.float32(1)), np.abs(2 * v - np.float32(1)))
