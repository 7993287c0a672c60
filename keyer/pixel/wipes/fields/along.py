"""Way along the edge of a pattern, for waves that displace it.

Each function takes what the level function of the same pattern takes, and
returns picture heights along the edge, with no break where the edge has none.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from typing import Any

import numpy as np

from keyer.kinds.arrays import Reals
from keyer.pixel.wipes.fields.angles import signed_turns
from keyer.pixel.wipes.fields.hands import fold

Along = Callable[..., Reals]

ROUND_RADIUS = 0.3
"""Radius in picture heights at which the waves around a shape have their length."""


def bar(x: Reals, y: Reals, half_width: float, half_height: float, **params: Any) -> Reals:
    """Return how far along a straight edge each point lies."""
    across, down = params["across"] / half_width, params["down"] / half_height
    length = math.hypot(across, down)
    return y * np.float32(across / length) - x * np.float32(down / length)


def upright(x: Reals, y: Reals, half_width: float, half_height: float, **params: Any) -> Reals:
    """Along a line that stands, or lies where the pattern is not upright."""
    del half_width, half_height
    return y + 0 * x if params["upright"] else x + 0 * y


def arms(x: Reals, y: Reals, half_width: float, half_height: float, **params: Any) -> Reals:
    """Return how far from the point of a V each place lies, along both arms."""
    if params["toward"] in {"down", "up"}:
        side, way, half_side, half_way = x, y, half_width, half_height
    else:
        side, way, half_side, half_way = y, x, half_height, half_width
    sign = 1 if params["toward"] in {"down", "right"} else -1
    length = math.hypot(half_side, 2 * half_way)
    return np.abs(side) * np.float32(half_side / length) - way * np.float32(
        sign * 2 * half_way / length
    )


def slopes(x: Reals, y: Reals, half_width: float, half_height: float, **_: Any) -> Reals:
    """Along lines parallel to the diagonals of the frame, from its middle."""
    length = math.hypot(half_width, half_height)
    return np.abs(x) * np.float32(half_width / length) + np.abs(y) * np.float32(
        half_height / length
    )


def diamonds(x: Reals, y: Reals, half_width: float, half_height: float, **_: Any) -> Reals:
    """Along the sides of a diamond of the frame's proportions, in each quarter of the frame."""
    length = math.hypot(half_width, half_height)
    return np.abs(x) * np.float32(half_width / length) - np.abs(y) * np.float32(
        half_height / length
    )


def folded(x: Reals, y: Reals, half_width: float, half_height: float, **_: Any) -> Reals:
    """Along both sides of a box's corner, in each quarter of the frame."""
    del half_width, half_height
    return np.abs(x) - np.abs(y)


def sloping(x: Reals, y: Reals, half_width: float, half_height: float, **_: Any) -> Reals:
    """Return how far along the falling diagonal each point lies, for edges that run every way."""
    del half_width, half_height
    return x + y


def _around(x: Reals, y: Reals, wavelength: float) -> Reals:
    """Around the middle, in a whole number of waves."""
    waves = max(1, round(2 * math.pi * ROUND_RADIUS / wavelength))
    return signed_turns(-y, x) * np.float32(waves * wavelength)


def around(
    x: Reals,
    y: Reals,
    half_width: float,
    half_height: float,
    *,
    wavelength: float,
    **_: Any,
) -> Reals:
    """Return how far around the middle each point lies."""
    del half_width, half_height
    return _around(x, y, wavelength)


def quarters(
    x: Reals,
    y: Reals,
    half_width: float,
    half_height: float,
    *,
    wavelength: float,
    **_: Any,
) -> Reals:
    """Around the middle of each quarter of the frame."""
    u, v = np.abs(x) - np.float32(half_width / 2), np.abs(y) - np.float32(half_height / 2)
    return _around(u, v, wavelength / 2)


def box(
    x: Reals,
    y: Reals,
    half_width: float,
    half_height: float,
    *,
    wavelength: float,
    **params: Any,
) -> Reals:
    """Around a box's anchor, or from its one free side to the other."""
    anchor_x, anchor_y = params["anchor_x"], params["anchor_y"]
    if anchor_x and anchor_y:
        return y * np.float32(anchor_x) - x * np.float32(anchor_y)
    x, y = x - np.float32(anchor_x * half_width), y - np.float32(anchor_y * half_height)
    return _around(x, y, wavelength)


def radius(x: Reals, y: Reals, half_width: float, half_height: float, **params: Any) -> Reals:
    """Return how far from a hand's pivot each point lies."""
    x, y = fold(x, y, params.get("halves", ""))
    x = x - np.float32(params.get("pivot_x", 0.0) * half_width)
    y = y - np.float32(params.get("pivot_y", 0.0) * half_height)
    length: Reals = np.hypot(x, y)
    return length


def half_radius(x: Reals, y: Reals, half_width: float, half_height: float, **params: Any) -> Reals:
    """Along the hand in each half of the frame, from the half's middle."""
    if params["halves"] == "top and bottom":
        y = np.abs(y) - np.float32(half_height / 2)
    else:
        x = np.abs(x) - np.float32(half_width / 2)
    length: Reals = np.hypot(x, y)
    return length


def pair_radius(x: Reals, y: Reals, half_width: float, half_height: float, **params: Any) -> Reals:
    """Along the nearer of two hands in opposite corners or on opposite sides."""
    if "falling" in params:
        px, py = -1.0, -1.0 if params["falling"] else 1.0
    else:
        px, py = params["pivot_x"], params["pivot_y"]
    px, py = px * half_width, py * half_height
    one = np.hypot(x - np.float32(px), y - np.float32(py))
    other = np.hypot(x + np.float32(px), y + np.float32(py))
    length: Reals = np.minimum(one, other)
    return length
