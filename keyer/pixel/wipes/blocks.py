"""The few blocks of a field in which a wipe's boundary lies.

A field has millions of samples, in rows that lie far apart in memory; what a
frame needs of it lies in some hundred blocks of 8 x 8. These are copied
together, and of every other block it is enough to know on which side it lies.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from keyer.kinds.arrays import Plane
from keyer.pixel.kernels.bands import run_bands
from keyer.pixel.kernels.jit import kernel

BLOCK = 8
"""Samples along each side of a block."""

SIDE = BLOCK + 1
"""Samples along each side of a block with those that it shares with its neighbours."""

TILE = 2 * BLOCK
"""Pixels along each side of a tile of the picture; it has the samples of four blocks."""

INSIDE, OUTSIDE = -1, -2
"""Instead of a block's number: all its samples lie inside B, or outside."""

Samples = NDArray[np.float32]
Index = NDArray[np.int32]


class Blocks(NamedTuple):
    """Blocks of a field (squares of samples) through which a boundary may run.

    Attributes
    ----------
    number : (block rows, block columns) int32
        Of each block of the field: where its samples are, `INSIDE` or `OUTSIDE`.
    places : (N,) int32
        Where each number stands among the blocks, counted along their rows.
    samples : (N, 9, 9) float32
        With the first row and column of its neighbours; beyond the field's last
        row and column these are repeated.
    """

    number: Index
    places: Index
    samples: Samples


@kernel
def _extremes(values: Plane, low: Plane, high: Plane) -> None:
    """Least and greatest sample of each block, with the next row and column."""
    rows, columns = values.shape
    for i in range(low.shape[0]):
        for j in range(low.shape[1]):
            least = values[i * BLOCK, j * BLOCK]
            most = least
            for r in range(i * BLOCK, min(i * BLOCK + BLOCK + 1, rows)):
                for c in range(j * BLOCK, min(j * BLOCK + BLOCK + 1, columns)):
                    value = values[r, c]
                    least = value if value < least else least
                    most = value if value > most else most
            low[i, j] = least
            high[i, j] = most


def block_extremes(values: Plane) -> tuple[Plane, Plane]:
    """Least and greatest value of each block of a field.

    Parameters
    ----------
    values : (rows, columns) float32

    Returns
    -------
    low, high : (ceil(rows / 8), ceil(columns / 8)) float32
        A block includes the first row and column of its neighbours.
    """
    shape = -(-values.shape[0] // BLOCK), -(-values.shape[1] // BLOCK)
    low, high = np.empty(shape, np.float32), np.empty(shape, np.float32)

    def work(top: int, bottom: int) -> None:
        part = values[top * BLOCK : bottom * BLOCK + 1]
        _extremes(part, low[top:bottom], high[top:bottom])

    run_bands(shape[0], values.shape[1] * BLOCK, work)
    return low, high


@kernel
def _number(low: Plane, high: Plane, level: np.float32, number: Index, places: Index) -> int:
    """Give numbers to the blocks that a level parts, write their places, and count them."""
    for i in range(number.shape[0]):
        for j in range(number.shape[1]):
            side = INSIDE if high[i, j] < level else OUTSIDE
            number[i, j] = side if high[i, j] < level or low[i, j] >= level else 0
    count = 0
    for i in range(number.shape[0]):
        for j in range(number.shape[1]):
            if number[i, j] == 0:
                number[i, j], places[count] = count, i * number.shape[1] + j
                count += 1
    return count


def number_blocks(low: Plane, high: Plane, level: float) -> tuple[Index, Index]:
    """Give numbers to the blocks that a level parts, and tell on which side the others lie.

    Parameters
    ----------
    low, high : (block rows, block columns) float32
        Least and greatest value of each block.
    level : float

    Returns
    -------
    number : int32 of the same shape
        As `Blocks` has it.
    places : (N,) int32
    """
    number, places = np.empty(low.shape, np.int32), np.empty(low.size, np.int32)
    count = _number(low, high, np.float32(level), number, places)
    return number, places[:count]


@kernel
def _gather(values: Plane, across: int, places: Index, samples: Samples) -> None:
    rows, columns = values.shape
    for n in range(places.size):
        top, left = places[n] // across * BLOCK, places[n] % across * BLOCK
        for r in range(SIDE):
            row = min(top + r, rows - 1)
            for c in range(SIDE):
                samples[n, r, c] = values[row, min(left + c, columns - 1)]


def gather(values: Plane, low: Plane, high: Plane, level: float) -> Blocks:
    """Copy the blocks together that a level parts.

    Parameters
    ----------
    values : (rows, columns) float32
    low, high : float32
        As of `block_extremes(values)`.
    level : float
    """
    number, places = number_blocks(low, high, level)
    samples = np.empty((places.size, SIDE, SIDE), np.float32)
    _gather(values, number.shape[1], places, samples)
    return Blocks(number, places, samples)
