"""The demo's logo: half a wheel standing on two waves, in one colour, with alpha."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from keyer.kinds.picture import RgbPicture

SIZE = (480, 400)
"""Columns and rows."""

_COLOUR = (255, 200, 61)
_FINE = 4
_SPOKES = 11
_WHEEL = (0.0, 0.56, 0.47)
"""Of the hub, from the middle and from the top, and the rim's radius, in widths."""


def emblem() -> RgbPicture:
    """Draw the logo.

    Returns
    -------
    RgbPicture
        8 bits with straight alpha; all of it has one colour.
    """
    columns, rows = SIZE
    x = (np.arange(columns * _FINE) + 0.5) / (columns * _FINE) - 0.5
    y = (np.arange(rows * _FINE) + 0.5) / (columns * _FINE)
    inside = _wheel(x[np.newaxis, :], y[:, np.newaxis])
    for level in (0.64, 0.755):
        inside |= _wave(x[np.newaxis, :], y[:, np.newaxis], level)
    fine = inside.astype(np.float32).reshape(rows, _FINE, columns, _FINE)
    alpha = np.round(fine.mean(axis=(1, 3)) * 255).astype(np.uint8)
    planes = np.empty((3, rows, columns), np.uint8)
    planes[:] = np.array(_COLOUR, np.uint8)[:, np.newaxis, np.newaxis]
    return RgbPicture(planes, alpha)


def _wheel(x: NDArray[np.float64], y: NDArray[np.float64]) -> NDArray[np.bool_]:
    """Upper half of a wheel: rim, spokes and hub."""
    middle, height, radius = _WHEEL
    across, up = x - middle, height - y
    away, angle = np.hypot(across, up), np.arctan2(up, across)
    rim = np.abs(away - radius + 0.025) < 0.025
    step = np.pi / (_SPOKES - 1)
    off = (angle + step / 2) % step - step / 2
    spokes = (np.abs(away * np.sin(off)) < 0.006) & (away < radius - 0.02)
    found: NDArray[np.bool_] = (rim | spokes | (away < 0.06)) & (up > 0)
    return found


def _wave(x: NDArray[np.float64], y: NDArray[np.float64], level: float) -> NDArray[np.bool_]:
    """Give one wave, thinning out towards its ends."""
    middle = level + 0.018 * np.cos(2 * np.pi * x / 0.25)
    thick = 0.026 * np.sqrt(np.clip(1 - (x / 0.49) ** 2, 0, 1))
    found: NDArray[np.bool_] = np.abs(y - middle) < thick
    return found
