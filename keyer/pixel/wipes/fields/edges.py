"""Levels of straight boundaries that run across the frame, or part and run to its sides.

A level function takes places in picture heights from the middle of the frame
(x to the right, y down; two-dimensional float32 arrays that broadcast together) and the
frame's half width and half height, and returns the progress at which each
place turns from A to B: 0..1 inside the frame, and naturally on beyond it.
"""

from __future__ import annotations

from typing import Any

import numpy as np

from keyer.errors import SettingError
from keyer.kinds.arrays import Reals

ONE = np.float32(1)
HALF = np.float32(0.5)


def _slant(
    x: Reals, y: Reals, half_width: float, half_height: float, across: float, down: float
) -> Reals:
    """Way along a direction, -1 in one corner (or side) of the frame and 1 in the opposite one."""
    whole = abs(across) + abs(down)
    if whole == 0:
        msg = "across and down must not both be 0: the edge would not move."
        raise SettingError(msg)
    level: Reals = np.zeros((1, 1), np.float32)
    if across:
        level = level + x * np.float32(across / whole / half_width)
    if down:
        level = level + y * np.float32(down / whole / half_height)
    return level


def bar(
    x: Reals,
    y: Reals,
    half_width: float,
    half_height: float,
    *,
    across: float,
    down: float,
) -> Reals:
    """Let one straight edge travel the way (`across`, `down`), in half frame sizes."""
    return HALF + HALF * _slant(x, y, half_width, half_height, across, down)


def split(
    x: Reals,
    y: Reals,
    half_width: float,
    half_height: float,
    *,
    across: float,
    down: float,
) -> Reals:
    """Part two parallel edges from a line through the middle."""
    return np.abs(_slant(x, y, half_width, half_height, across, down))


def box(
    x: Reals,
    y: Reals,
    half_width: float,
    half_height: float,
    *,
    anchor_x: float,
    anchor_y: float,
) -> Reals:
    """Grow a frame-shaped box from an anchor: -1 left or top, 0 middle, 1 right or bottom."""
    u = np.abs(x * np.float32(1 / half_width) - np.float32(anchor_x))
    v = np.abs(y * np.float32(1 / half_height) - np.float32(anchor_y))
    u, v = u * np.float32(1 / (1 + abs(anchor_x))), v * np.float32(1 / (1 + abs(anchor_y)))
    level: Reals = np.maximum(u, v)
    return level


def _quarter(x: Reals, y: Reals, half_width: float, half_height: float) -> tuple[Reals, Reals]:
    """Places folded into one quarter of the frame: 0 in the middle, 1 on its sides."""
    return np.abs(x) * np.float32(1 / half_width), np.abs(y) * np.float32(1 / half_height)


def corner_boxes(x: Reals, y: Reals, half_width: float, half_height: float) -> Reals:
    """Grow four boxes from the corners of the frame to its middle."""
    u, v = _quarter(x, y, half_width, half_height)
    level: Reals = ONE - np.minimum(u, v)
    return level


def quarter_boxes(x: Reals, y: Reals, half_width: float, half_height: float) -> Reals:
    """Grow four boxes from the middles of the frame's quarters."""
    u, v = _quarter(x, y, half_width, half_height)
    level: Reals = np.maximum(np.abs(u + u - ONE), np.abs(v + v - ONE))
    return level


def cross(x: Reals, y: Reals, half_width: float, half_height: float) -> Reals:
    """Widen both diagonals of the frame to its sides."""
    u, v = _quarter(x, y, half_width, half_height)
    return np.abs(u - v)


def two_diamonds(x: Reals, y: Reals, half_width: float, half_height: float) -> Reals:
    """Part a diamond through the middles of the sides inward and outward."""
    u, v = _quarter(x, y, half_width, half_height)
    return np.abs(u + v - ONE)


def _turned(
    x: Reals, y: Reals, half_width: float, half_height: float, toward: str
) -> tuple[Reals, Reals]:
    """Way along a direction, -1..1, and place to the side of it from the middle, 0..1."""
    u, v = x * np.float32(1 / half_width), y * np.float32(1 / half_height)
    along = {"down": v, "up": -v, "right": u, "left": -u}[toward]
    return along, np.abs(u if toward in {"down", "up"} else v)


def wedges(x: Reals, y: Reals, half_width: float, half_height: float, *, upright: bool) -> Reals:
    """Let two wedges, points first, come from opposite sides, meet in the middle and widen."""
    u, v = _quarter(x, y, half_width, half_height)
    return HALF + HALF * ((u - v) if upright else (v - u))


def vee(x: Reals, y: Reals, half_width: float, half_height: float, *, toward: str) -> Reals:
    """Let a V travel point first; from its point to its ends it is as deep as the frame."""
    along, side = _turned(x, y, half_width, half_height, toward)
    return HALF * (HALF + HALF * along + side)


def split_vee(x: Reals, y: Reals, half_width: float, half_height: float, *, toward: str) -> Reals:
    """Part a V from one side of the frame to the corners of the other in two."""
    along, side = _turned(x, y, half_width, half_height, toward)
    return np.abs(HALF * along + side - HALF)


def _teeth(x: Reals, y: Reals, sizes: tuple[float, float], teeth: int, *, upright: bool) -> Any:
    """Way across a zig-zag with right-angled teeth, from its middle; half its travel; its depth."""
    half_width, half_height = sizes
    way, side, half = (x, y, half_height) if upright else (y, x, half_width)
    pitch = 2 * half / teeth
    part = side * np.float32(1 / pitch) + np.float32(0.5 * (teeth % 2 + 1))
    wave = np.abs(part - np.floor(part) - HALF) - np.float32(0.25)
    return way + wave * np.float32(pitch), half_width if upright else half_height, pitch / 2


def zigzag(
    x: Reals,
    y: Reals,
    half_width: float,
    half_height: float,
    *,
    upright: bool,
    teeth: int,
) -> Reals:
    """Let a zig-zag line with right-angled teeth travel right (upright) or down."""
    way, half, depth = _teeth(x, y, (half_width, half_height), teeth, upright=upright)
    level: Reals = HALF + way * np.float32(0.5 / (half + depth / 2))
    return level


def split_zigzag(
    x: Reals,
    y: Reals,
    half_width: float,
    half_height: float,
    *,
    upright: bool,
    teeth: int,
) -> Reals:
    """Part a zig-zag line through the middle in two."""
    way, half, depth = _teeth(x, y, (half_width, half_height), teeth, upright=upright)
    level: Reals = np.abs(way) * np.float32(1 / (half + depth / 2))
    return level
