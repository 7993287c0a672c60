"""Noise on tiles that repeat: clouds, mist, waves and ground, looked up at any scale."""

from __future__ import annotations

from functools import lru_cache
from typing import Any

import cv2
import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float32]

TILE = 512
"""Side of a tile in samples."""


@lru_cache(maxsize=64)
def tile(seed: int, fall: float, low: float = 1, high: float = 1e9) -> Floats:
    """Noise whose amplitude falls as a power of its frequency.

    Parameters
    ----------
    seed : int
    fall : float
        Exponent of the fall.
    low, high : float
        Slowest and quickest wave that is kept, cycles a tile.

    Returns
    -------
    (TILE, TILE) float32, read-only, mean 0, spread 1; repeats at its borders
    """
    random = np.random.default_rng(seed).standard_normal((TILE, TILE), np.float32)
    down, across = np.fft.fftfreq(TILE) * TILE, np.fft.rfftfreq(TILE) * TILE
    frequency = np.hypot(down[:, None], across[None, :])
    gain = np.where((frequency < low) | (frequency > high), 0.0, np.maximum(frequency, 1) ** -fall)
    plane = np.fft.irfft2(np.fft.rfft2(random) * gain, s=(TILE, TILE))
    result = np.asarray(plane / plane.std(), np.float32)
    result.setflags(write=False)
    return result


@lru_cache(maxsize=32)
def slope_tile(seed: int, fall: float, low: float, high: float) -> Floats:
    """Slopes across and down a tile of noise.

    Parameters
    ----------
    seed, fall, low, high
        As in `tile`.

    Returns
    -------
    (TILE, TILE, 2) float32, read-only, spread 1
    """
    height = tile(seed, fall, low, high)
    across = np.roll(height, -1, 1) - np.roll(height, 1, 1)
    down = np.roll(height, -1, 0) - np.roll(height, 1, 0)
    both = np.stack([across, down], axis=2)
    both /= both.std()
    both.setflags(write=False)
    return both


def sample(source: Floats, u: NDArray[Any], v: NDArray[Any]) -> Floats:
    """Look up a tile at fractional places, bilinear, repeating.

    Parameters
    ----------
    source : (TILE, TILE) or (TILE, TILE, 2) float32
    u, v : floats, broadcast against each other
        Columns and rows in samples.

    Returns
    -------
    float32 of the shape of the places, and the channels of the tile
    """
    columns, rows = np.broadcast_arrays(
        np.mod(u, np.float32(TILE)).astype(np.float32),
        np.mod(v, np.float32(TILE)).astype(np.float32),
    )
    found = cv2.remap(
        source, np.ascontiguousarray(columns), np.ascontiguousarray(rows), cv2.INTER_LINEAR,
        borderMode=cv2.BORDER_WRAP,
    )  # fmt: skip
    return np.asarray(found, np.float32)
