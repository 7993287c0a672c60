"""Seeded grain."""

from __future__ import annotations

import cv2
import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float32]


def grain(shape: tuple[int, ...], seed: int, soften: float = 0.0) -> Floats:
    """Independent normal noise of unit spread, softened by `soften` pixels.

    Parameters
    ----------
    shape : rows, columns, and channels if any
    seed : int
    soften : float

    Returns
    -------
    float32 of `shape`
    """
    noise = np.random.default_rng(seed).standard_normal(shape, np.float32)
    if soften > 0:
        noise = np.asarray(cv2.GaussianBlur(noise, (0, 0), soften), np.float32)
        noise /= max(float(noise.std()), 1e-6)
    return noise
