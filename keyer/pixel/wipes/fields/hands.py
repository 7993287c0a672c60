"""Levels of hands that turn about a point.

Angles are in degrees clockwise from twelve o'clock. Where a hand does not go
all around, the level runs on below 0 and above 1 outside its sector, so that
nothing jumps inside the frame.
"""

from __future__ import annotations

import math

import numpy as np

from keyer.kinds.arrays import Reals
from keyer.pixel.wipes.fields.angles import signed_turns


def signed(x: Reals, y: Reals, from_deg: float) -> Reals:
    """Angle from a direction, in turns, -0.5..0.5, positive clockwise."""
    sin = np.float32(math.sin(math.radians(from_deg)))
    cos = np.float32(math.cos(math.radians(from_deg)))
    return signed_turns(x * sin - y * cos, x * cos + y * sin)


def turned(x: Reals, y: Reals, from_deg: float) -> Reals:
    """Angle clockwise from a direction, in turns, 0 to just below 1."""
    turns = signed(x, y, from_deg)
    turns -= np.floor(turns)
    # a place a hair before the direction would round up to a whole turn
    np.minimum(turns, np.float32(1 - 2**-24), out=turns)
    return turns


def fold(x: Reals, y: Reals, halves: str) -> tuple[Reals, Reals]:
    """Fold right over left or bottom over top, so that both halves do the same in mirror image."""
    if halves == "left and right":
        return -np.abs(x), y
    if halves == "top and bottom":
        return x, -np.abs(y)
    return x, y


def clock(
    x: Reals,
    y: Reals,
    half_width: float,
    half_height: float,
    *,
    start_deg: float,
    hands: int,
) -> Reals:
    """Sweep the whole turn with hands about the middle, the first from `start_deg`."""
    del half_width, half_height
    turns = turned(x, y, start_deg)
    if hands == 1:
        return turns
    turns = turns * np.float32(hands)
    return turns - np.floor(turns)


def fan(
    x: Reals,
    y: Reals,
    half_width: float,
    half_height: float,
    *,
    pivot_x: float,
    pivot_y: float,
    start_deg: float,
    open_deg: float,
    halves: str = "",
) -> Reals:
    """Open two hands to both sides of `start_deg`, each by `open_deg`.

    The pivot stands at (`pivot_x`, `pivot_y`) in half frame sizes from the
    middle; with `halves` the other half mirrors what stands in the left or top.
    """
    x, y = fold(x, y, halves)
    x, y = x - np.float32(pivot_x * half_width), y - np.float32(pivot_y * half_height)
    return np.abs(signed(x, y, start_deg)) * np.float32(360 / open_deg)


def _sweep(x: Reals, y: Reals, start_deg: float, sweep_deg: float) -> Reals:
    """One hand from `start_deg`, clockwise for a positive `sweep_deg`; 0..1 in its sector."""
    middle = signed(x, y, start_deg + sweep_deg / 2)
    return np.float32(0.5) + middle * np.float32(360 / sweep_deg)


def sweep(
    x: Reals,
    y: Reals,
    half_width: float,
    half_height: float,
    *,
    pivot_x: float,
    pivot_y: float,
    start_deg: float,
    sweep_deg: float,
    halves: str = "",
) -> Reals:
    """Sweep one hand about a pivot, or with `halves` two in mirror image."""
    x, y = fold(x, y, halves)
    x, y = x - np.float32(pivot_x * half_width), y - np.float32(pivot_y * half_height)
    return _sweep(x, y, start_deg, sweep_deg)


def parallel_sweep(
    x: Reals,
    y: Reals,
    half_width: float,
    half_height: float,
    *,
    pivot_x: float,
    pivot_y: float,
    start_deg: float,
    sweep_deg: float,
) -> Reals:
    """Sweep two hands on opposite sides, each in its half of the frame, that stay parallel.

    Given is the one on the left or at the top; the other is it, half a turn round.
    """
    other = (y if pivot_y else x) > 0
    x, y = np.where(other, -x, x), np.where(other, -y, y)
    x, y = x - np.float32(pivot_x * half_width), y - np.float32(pivot_y * half_height)
    return _sweep(x, y, start_deg, sweep_deg)


def corner_pair(
    x: Reals, y: Reals, half_width: float, half_height: float, *, falling: bool
) -> Reals:
    """Sweep two hands in opposite corners from the long sides to the diagonal between them."""
    if not falling:
        y = -y
    x, y = x * np.float32(1 / half_width), y * np.float32(1 / half_height)
    below = y > x
    x, y = np.where(below, -x, x) + np.float32(1), np.where(below, -y, y) + np.float32(1)
    diagonal = math.degrees(math.atan2(half_height, half_width))
    return _sweep(x * np.float32(half_width), y * np.float32(half_height), 90.0, diagonal)


def half_clocks(
    x: Reals,
    y: Reals,
    half_width: float,
    half_height: float,
    *,
    start_deg: float,
    halves: str,
) -> Reals:
    """Sweep the whole turn with a hand in the middle of each half of the frame, both in step."""
    if halves == "top and bottom":
        half = np.float32(half_height / 2)
        y = np.where(y > 0, y - half, y + half)
    else:
        half = np.float32(half_width / 2)
        x = np.where(x > 0, x - half, x + half)
    return turned(x, y, start_deg)
