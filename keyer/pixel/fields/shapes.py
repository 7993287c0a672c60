"""Levels of shapes that grow from the middle of the frame until they cover it."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

Plane = NDArray[np.float32]


def diamond(x: Plane, y: Plane, half_width: float, half_height: float) -> Plane:
    """A diamond of the frame's proportions, its corners on the axes."""
    return np.abs(x) * np.float32(0.5 / half_width) + np.abs(y) * np.float32(0.5 / half_height)


def ellipse(x: Plane, y: Plane, half_width: float, half_height: float, *, width: float) -> Plane:
    """An ellipse `width` times as wide as high; 1 is a circle."""
    squares = np.square(x * np.float32(1 / width)) + np.square(y)
    corner = np.hypot(half_width / width, half_height)
    return np.sqrt(squares) * np.float32(1 / corner)
