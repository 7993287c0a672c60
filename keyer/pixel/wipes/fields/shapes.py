"""Levels of round shapes that grow from the middle of the frame until they cover it.

Each is made of discs and straight sides, and a place's level is the exact
scale at which the outline passes it: with a disc of radius r about c it solves
|place - scale c| = scale r.
"""

from __future__ import annotations

import math
from functools import lru_cache

import numpy as np

from keyer.kinds.arrays import Reals
from keyer.pixel.wipes.fields.cover import covering


def diamond(x: Reals, y: Reals, half_width: float, half_height: float) -> Reals:
    """Grow a diamond of the frame's proportions, its corners on the axes."""
    return np.abs(x) * np.float32(0.5 / half_width) + np.abs(y) * np.float32(0.5 / half_height)


def ellipse(x: Reals, y: Reals, half_width: float, half_height: float, *, width: float) -> Reals:
    """Grow an ellipse `width` times as wide as high; 1 is a circle."""
    squares = np.square(x * np.float32(1 / width)) + np.square(y)
    corner = math.hypot(half_width / width, half_height)
    level: Reals = np.sqrt(squares) * np.float32(1 / corner)
    return level


def _disc(x: Reals, y: Reals, cx: float, cy: float, radius: float) -> Reals:
    """Return at which scale, grown from the middle, a disc reaches each place."""
    room = radius**2 - cx**2 - cy**2
    along = x * np.float32(cx) + y * np.float32(cy)
    square = x * x + y * y
    root: Reals = np.sqrt(along * along + np.float32(room) * square)
    scale: Reals = (root - along) * np.float32(1 / room)
    return scale


def _lying(x: Reals, y: Reals, *, upright: bool) -> tuple[Reals, Reals]:
    """Fold into one quarter, turned so that the long axis lies along the first."""
    x, y = np.abs(x), np.abs(y)
    return (y, x) if upright else (x, y)


def _eye(x: Reals, y: Reals, width: float) -> Reals:
    rise = (width * width - 1) / 2  # two circles through (width, 0), each 1 high
    return _disc(x, y, 0.0, -rise, rise + 1)


@lru_cache(maxsize=64)
def _eye_cover(half_long: float, half_short: float, width: float) -> float:
    return covering(lambda u, v: _eye(np.abs(u), np.abs(v), width), half_long, half_short)


def eye(
    x: Reals,
    y: Reals,
    half_width: float,
    half_height: float,
    *,
    upright: bool,
    width: float,
) -> Reals:
    """Grow a pointed lens of two arcs, `width` times as long as high."""
    sizes = (half_height, half_width) if upright else (half_width, half_height)
    level = _eye(*_lying(x, y, upright=upright), width)
    return level * np.float32(1 / _eye_cover(*sizes, width))


def _round_box(x: Reals, y: Reals, width: float, radius: float) -> Reals:
    cx, cy = width - radius, 1 - radius
    straight: Reals = np.maximum(x * np.float32(1 / width), y)
    room = cx * cx + cy * cy - radius * radius
    along = x * np.float32(cx) + y * np.float32(cy)
    square = x * x + y * y
    root: Reals = np.sqrt(np.maximum(along * along - np.float32(room) * square, np.float32(0)))
    arc: Reals = square / np.maximum(along + root, np.float32(1e-9))
    corner = (y * np.float32(width) > x * np.float32(cy)) & (x > y * np.float32(cx))
    return np.where(corner, arc, straight)


@lru_cache(maxsize=64)
def _round_cover(half_long: float, half_short: float, width: float, radius: float) -> float:
    return covering(
        lambda u, v: _round_box(np.abs(u), np.abs(v), width, radius), half_long, half_short
    )


def round_box(
    x: Reals,
    y: Reals,
    half_width: float,
    half_height: float,
    *,
    upright: bool,
    width: float,
    radius: float,
) -> Reals:
    """Grow a box `width` times as long as high; its corners have `radius` half heights."""
    sizes = (half_height, half_width) if upright else (half_width, half_height)
    level = _round_box(*_lying(x, y, upright=upright), width, radius)
    return level * np.float32(1 / _round_cover(*sizes, width, radius))


def _heart(x: Reals, y: Reals) -> Reals:
    """Scale of a square on its corner with a half disc on each of its upper sides.

    It grows from the middle of its height, `low` above the middle of the square.
    """
    low = (math.sqrt(0.5) - 0.5) / 2
    x = np.abs(x)
    falling, rising = (x + y) * np.float32(1 / (1 + low)), (x - y) * np.float32(1 / (1 - low))
    square: Reals = np.maximum(falling, rising)
    level: Reals = np.minimum(square, _disc(x, y, 0.5, low - 0.5, math.sqrt(0.5)))
    return level


@lru_cache(maxsize=16)
def _heart_cover(half_width: float, half_height: float) -> float:
    return covering(_heart, half_width, half_height)


def heart(x: Reals, y: Reals, half_width: float, half_height: float) -> Reals:
    """Grow a heart."""
    return _heart(x, y) * np.float32(1 / _heart_cover(half_width, half_height))


def _keyhole(x: Reals, y: Reals) -> Reals:
    """Scale of a disc over a foot that widens downwards; both hold the middle."""
    x = np.abs(x)
    disc = _disc(x, y, 0.0, -0.45, 0.55)
    # the foot's side runs from (0.16, -0.45) to (0.42, 1)
    lean = (0.42 - 0.16) / 1.45
    waist = 0.16 + lean * 0.45
    side = (x - y * np.float32(lean)) * np.float32(1 / waist)
    foot: Reals = np.maximum(np.maximum(side, y), y * np.float32(-1 / 0.45))
    level: Reals = np.minimum(disc, foot)
    return level


@lru_cache(maxsize=16)
def _keyhole_cover(half_width: float, half_height: float) -> float:
    return covering(_keyhole, half_width, half_height)


def keyhole(x: Reals, y: Reals, half_width: float, half_height: float) -> Reals:
    """Grow a keyhole: a disc over a flared foot."""
    return _keyhole(x, y) * np.float32(1 / _keyhole_cover(half_width, half_height))
