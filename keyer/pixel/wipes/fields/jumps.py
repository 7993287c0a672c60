"""Find where between two samples a field jumps.

A hand's start, or the seam between repetitions, is an edge too. Its samples on
both sides do not say where between them it lies; the level function does.
"""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
from numpy.typing import NDArray

from keyer.kinds.arrays import Reals
from keyer.kinds.field import JUMP_STEPS, NO_JUMP, Jumps
from keyer.pixel.kernels.bands import run_bands
from keyer.pixel.kernels.jit import kernel
from keyer.pixel.wipes.blocks import BLOCK

Marks = NDArray[np.uint8]
Index = NDArray[np.int32]
Places = tuple[Index, Index, Marks]
Evaluate = Callable[[Reals, Reals], Reals]

HALVINGS = 7
LEAST = np.float32(0.004)
"""Smallest step between two samples that may be a jump."""


@kernel
def _steep(values: Reals, down: int, across: int, top: int, bottom: int, out: Index) -> int:
    """Write the samples of some rows whose step to the next is far greater than those beside it."""
    count = 0
    for r in range(max(top, down), min(bottom, values.shape[0] - 2 * down)):
        for c in range(across, values.shape[1] - 2 * across):
            here, following = values[r, c], values[r + down, c + across]
            step = abs(following - here)
            if step > LEAST:
                before = abs(here - values[r - down, c - across])
                after = abs(values[r + 2 * down, c + 2 * across] - following)
                if step > 3 * min(before, after) + LEAST:
                    if count < out.shape[0]:
                        out[count, 0], out[count, 1] = r, c
                    count += 1
    return count


def _candidates(values: Reals, axis: int) -> tuple[Index, Index]:
    """Rows and columns of the samples after which the field may jump."""
    bands: dict[int, Index] = {}

    def work(top: int, bottom: int) -> None:
        found = np.empty((2048, 2), np.int32)
        while (count := _steep(values, 1 - axis, axis, top, bottom, found)) > found.shape[0]:
            found = np.empty((count, 2), np.int32)
        bands[top] = found[:count]

    run_bands(values.shape[0], values.shape[1], work)
    places = np.concatenate([bands[top] for top in sorted(bands)])
    return places[:, 0], places[:, 1]


def _refine(
    start: tuple[Reals, Reals], way: tuple[np.float32, np.float32], evaluate: Evaluate
) -> tuple[Reals, Reals]:
    """Halve each way again and again, keeping the half with the greater step.

    Returns where along the way the step lies, 0..1, and its share of the whole change.
    """

    def at(part: Reals) -> Reals:
        return evaluate(start[0] + part * way[0], start[1] + part * way[1])

    low = np.zeros_like(start[0])
    high = np.ones_like(low)
    first, last = at(low), at(high)
    whole = np.maximum(np.abs(last - first), np.float32(1e-6))
    for _ in range(HALVINGS):
        middle = (low + high) / 2
        level = at(middle)
        before = np.abs(level - first) > np.abs(last - level)
        high, last = np.where(before, middle, high), np.where(before, level, last)
        low, first = np.where(before, low, middle), np.where(before, first, level)
    return (low + high) / 2, np.abs(last - first) / whole


def _places(values: Reals, x: Reals, y: Reals, axis: int, evaluate: Evaluate) -> Places:
    """Rows and columns after whose samples the field jumps, and the marks that say where."""
    rows, columns = _candidates(values, axis)
    if rows.size == 0:
        return rows, columns, np.empty(0, np.uint8)
    zero = np.float32(0)
    way = (x[1] - x[0], zero) if axis == 1 else (zero, y[1] - y[0])
    start = x[columns, np.newaxis], y[rows, np.newaxis]
    place, share = (found[:, 0] for found in _refine(start, way, evaluate))
    real = share > 0.5
    return rows[real], columns[real], np.rint(place[real] * JUMP_STEPS).astype(np.uint8)


def find_jumps(values: Reals, x: Reals, y: Reals, evaluate: Evaluate) -> Jumps | None:
    """Find the jumps of a field.

    Parameters
    ----------
    values : (rows, columns) float32
        The field.
    x, y : float32
        Places of its columns and rows, as `evaluate` takes them.
    evaluate : callable
        The field at any place.
    """
    across = _places(values, x, y, 1, evaluate)
    down = _places(values, x, y, 0, evaluate)
    if across[0].size + down[0].size == 0:
        return None
    return pack_jumps(across, down, values.shape)


def pack_jumps(across: Places, down: Places, shape: tuple[int, ...]) -> Jumps:
    """Keep the marks of jumps in the blocks of a field that have any.

    Parameters
    ----------
    across, down : tuple of three arrays
        Row and column of each sample that a jump follows, and its mark.
    shape : tuple of two ints
        Rows and columns of the field.
    """
    rows, columns, codes = (np.concatenate((across[n], down[n])) for n in range(3))
    number = np.full([-(-size // BLOCK) for size in shape], -1, np.int32)
    place = rows // BLOCK * number.shape[1] + columns // BLOCK
    blocks, which = np.unique(place, return_inverse=True)
    number.ravel()[blocks] = np.arange(blocks.size)
    marks = np.full((blocks.size, 2, BLOCK, BLOCK), NO_JUMP, np.uint8)
    way = np.repeat([0, 1], [across[0].size, down[0].size])
    marks[which, way, rows % BLOCK, columns % BLOCK] = codes
    return Jumps(number, marks)


def jump_planes(jumps: Jumps | None, shape: tuple[int, ...]) -> tuple[Marks, Marks]:
    """Lay the marks of jumps out like the field.

    Parameters
    ----------
    jumps : Jumps or None
    shape : tuple of two ints
        Rows and columns of the field.

    Returns
    -------
    across, down : (rows, columns) uint8
    """
    padded = [-(-size // BLOCK) * BLOCK for size in shape]
    planes = np.full((2, *padded), NO_JUMP, np.uint8)
    if jumps is not None:
        for i, j in np.argwhere(jumps.number >= 0):
            here = slice(i * BLOCK, (i + 1) * BLOCK), slice(j * BLOCK, (j + 1) * BLOCK)
            planes[:, *here] = jumps.marks[jumps.number[i, j]]
    across, down = planes[:, : shape[0], : shape[1]]
    return across, down
