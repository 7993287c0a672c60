"""Smooth noise that can move and come back to where it began.

Gradient noise (K. Perlin, "An image synthesizer", 1985; fade curve of his
"Improving noise", 2002) on a square lattice. The gradients all turn at the same
rate, so that a whole cycle of the phase ends where it began.
"""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import NDArray

from keyer.kinds.arrays import Plane
from keyer.pixel.kernels.jit import kernel

Nodes = NDArray[np.float32]


def _scattered(i: NDArray[np.int64], j: NDArray[np.int64], seed: int) -> NDArray[np.float64]:
    """Give each node a number 0..1, whatever the extent of the lattice."""
    mixed = (i * 0x9E3779B1 + j * 0x85EBCA77 + (seed + 1) * 0xC2B2AE3D) & 0xFFFFFFFF
    for shift, factor in ((15, 0x2C1B3C6D), (12, 0x297A2D39), (15, 1)):
        mixed = ((mixed ^ (mixed >> shift)) * factor) & 0xFFFFFFFF
    return np.asarray(mixed / 2.0**32)


def lattice(
    origin: tuple[float, float], spans: tuple[float, float], seed: int, phase: float
) -> Nodes:
    """Gradients at the nodes of a lattice, a unit apart.

    Parameters
    ----------
    origin : tuple of two floats
        Where the noise is first wanted, x and y, in units of the lattice.
    spans : tuple of two floats
        How far it is wanted from there.
    seed : int
    phase : float
        Cycles by which the gradients have turned.

    Returns
    -------
    (rows, columns, 2) float32
        From the whole numbers below `origin`.
    """
    left, top = math.floor(origin[0]), math.floor(origin[1])
    columns = np.arange(left, left + math.ceil(spans[0]) + 3)
    rows = np.arange(top, top + math.ceil(spans[1]) + 3)
    turns = _scattered(columns[np.newaxis], rows[:, np.newaxis], seed) + phase
    angle = 2 * math.pi * turns
    # a gradient of length sqrt 2 brings the noise to -1..1
    return (np.stack([np.cos(angle), np.sin(angle)], axis=-1) * math.sqrt(2)).astype(np.float32)


@kernel
def noise_line(
    nodes: Nodes,
    x: np.float32,
    y: np.float32,
    step_x: np.float32,
    step_y: np.float32,
    out: Plane,
) -> None:
    """Write noise along a line; x and y from the first node, in units of the lattice."""
    for i in range(out.size):
        u = x + np.float32(i) * step_x
        v = y + np.float32(i) * step_y
        column, row = int(u), int(v)
        u, v = u - np.float32(column), v - np.float32(row)
        fade_u = u * u * u * (u * (u * np.float32(6) - np.float32(15)) + np.float32(10))
        fade_v = v * v * v * (v * (v * np.float32(6) - np.float32(15)) + np.float32(10))
        w, z = u - np.float32(1), v - np.float32(1)
        a = nodes[row, column, 0] * u + nodes[row, column, 1] * v
        b = nodes[row, column + 1, 0] * w + nodes[row, column + 1, 1] * v
        c = nodes[row + 1, column, 0] * u + nodes[row + 1, column, 1] * z
        d = nodes[row + 1, column + 1, 0] * w + nodes[row + 1, column + 1, 1] * z
        upper = a + fade_u * (b - a)
        lower = c + fade_u * (d - c)
        out[i] = upper + fade_v * (lower - upper)
