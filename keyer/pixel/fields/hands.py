"""Levels of hands that turn about a point."""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import NDArray

from keyer.pixel.fields.angles import signed_turns

Plane = NDArray[np.float32]


def turned(x: Plane, y: Plane, start_deg: float) -> Plane:
    """Angle clockwise from a start (0 is twelve o'clock), in turns, 0 to just below 1."""
    sin = np.float32(math.sin(math.radians(start_deg)))
    cos = np.float32(math.cos(math.radians(start_deg)))
    turns = signed_turns(x * sin - y * cos, x * cos + y * sin)
    turns[turns < 0] += np.float32(1)
    return turns


def clock(x: Plane, y: Plane, half_width: float, half_height: float, *, start_deg: float) -> Plane:
    """One hand that sweeps once around the middle, clockwise from `start_deg`."""
    del half_width, half_height
    return turned(x, y, start_deg)
