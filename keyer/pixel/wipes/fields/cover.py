"""Find the size at which a growing shape covers the whole frame."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np

from keyer.kinds.arrays import Reals

POINTS = 4097
"""Places along each side of the frame; not tied to pixels, so that no size differs from another."""


def rim(half_width: float, half_height: float) -> tuple[Reals, Reals]:
    """Places all around the rim of a frame, corners included."""
    x = np.linspace(-half_width, half_width, POINTS, dtype=np.float32)
    y = np.linspace(-half_height, half_height, POINTS, dtype=np.float32)
    right, bottom = np.float32(half_width), np.float32(half_height)
    across, down = np.ones_like(x), np.ones_like(y)
    xs = np.concatenate([x, x, -right * down, right * down])
    ys = np.concatenate([-bottom * across, bottom * across, y, y])
    return xs[np.newaxis], ys[np.newaxis]


def covering(
    scale: Callable[[Reals, Reals], Reals], half_width: float, half_height: float
) -> float:
    """Greatest scale on the rim of a frame: a shape of that scale covers the frame."""
    return float(scale(*rim(half_width, half_height)).max())
