"""Seeded clouds of noise for textures, mist, ripples and cloth."""

from __future__ import annotations

import cv2
import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float32]


def lattice(shape: tuple[int, int], cells: tuple[float, float], seed: int) -> Floats:
    """Smooth noise of one scale.

    Parameters
    ----------
    shape : rows, columns
    cells : how many random values down and across the picture
    seed : int

    Returns
    -------
    (H, W) float32, about -1..1
    """
    rows, columns = (max(int(np.ceil(count)), 1) + 3 for count in cells)
    grid = np.random.default_rng(seed).random((rows, columns), np.float32) * 2 - 1
    height, width = shape
    # Positions are set by the cells, not by the size of the array: the same seed
    # gives the same clouds at every picture size.
    down = 1 + (np.arange(height, dtype=np.float32) + 0.5) / height * np.float32(cells[0])
    across = 1 + (np.arange(width, dtype=np.float32) + 0.5) / width * np.float32(cells[1])
    return _bicubic(grid, down, across)


def _weights(positions: Floats, size: int) -> Floats:
    """Cubic B-spline weights as a (positions, size) matrix."""
    base = np.floor(positions).astype(np.int64)
    t = (positions - base).astype(np.float32)
    parts = (
        (1 - t) ** 3 / 6,
        (3 * t**3 - 6 * t**2 + 4) / 6,
        (-3 * t**3 + 3 * t**2 + 3 * t + 1) / 6,
        t**3 / 6,
    )
    matrix = np.zeros((len(positions), size), np.float32)
    index = np.arange(len(positions))
    for offset, part in enumerate(parts):
        matrix[index, np.clip(base - 1 + offset, 0, size - 1)] += part
    return matrix


def _bicubic(grid: Floats, down: Floats, across: Floats) -> Floats:
    rows = _weights(down, grid.shape[0]) @ grid
    result: Floats = rows @ _weights(across, grid.shape[1]).T
    # A B-spline smooths; bring the spread back to about that of the grid.
    return result * np.float32(2.0)


def fractal(
    shape: tuple[int, int],
    cells: tuple[float, float],
    seed: int,
    *,
    octaves: int = 4,
    fall: float = 0.5,
) -> Floats:
    """Sum of smooth noise at doubling scales.

    Parameters
    ----------
    shape : rows, columns
    cells : random values down and across at the coarsest scale
    seed : int
    octaves : int
    fall : float
        Weight of each scale against the one before.

    Returns
    -------
    (H, W) float32, about -1..1
    """
    total = np.zeros(shape, np.float32)
    weight, sum_of_weights = 1.0, 0.0
    for octave in range(octaves):
        scale = 2.0**octave
        if cells[0] * scale > shape[0] and cells[1] * scale > shape[1]:
            break
        total += np.float32(weight) * lattice(
            shape, (cells[0] * scale, cells[1] * scale), seed + 101 * octave
        )
        sum_of_weights += weight
        weight *= fall
    return total / np.float32(max(sum_of_weights, 1e-6))


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
