"""Follow the boundary of a wipe from sample to sample: marching squares.

A square has four neighbouring samples as its corners. Where the field crosses a
level between two of them the boundary passes that edge of the square, and it
leaves by another. Boundaries that end at the rim of the samples are followed
from there, then those that close on themselves.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from keyer.kinds.arrays import Plane
from keyer.kinds.field import JUMP_STEPS, NO_JUMP, Jumps
from keyer.pixel.kernels.jit import kernel
from keyer.pixel.wipes.blocks import BLOCK, Blocks, Index, Samples

TOP, RIGHT, BOTTOM, LEFT = range(4)
"""Edges of a square; those between two columns are even."""

Marks = NDArray[np.uint8]

# for the corners of a square that lie inside (tl = 1, tr = 2, br = 4, bl = 8) and the edge that
# the boundary enters by, the edge that it leaves by. Rows 16 and 17 are the saddles 5 and 10
# when their middle is on the other side.
LEAVES = np.full((18, 4), -1, np.int8)
for _corners, _pairs in {
    1: [(0, 3)],
    2: [(0, 1)],
    3: [(1, 3)],
    4: [(1, 2)],
    5: [(0, 1), (2, 3)],
    6: [(0, 2)],
    7: [(2, 3)],
    8: [(2, 3)],
    9: [(0, 2)],
    10: [(0, 3), (1, 2)],
    11: [(1, 2)],
    12: [(1, 3)],
    13: [(0, 1)],
    14: [(0, 3)],
    16: [(0, 3), (1, 2)],
    17: [(0, 1), (2, 3)],
}.items():
    for _one, _other in _pairs:
        LEAVES[_corners, _one] = _other
        LEAVES[_corners, _other] = _one

_NO_JUMPS = Jumps(np.empty((0, 0), np.int32), np.empty((0, 2, BLOCK, BLOCK), np.uint8))


@kernel
def _case(tl: np.float32, tr: np.float32, br: np.float32, bl: np.float32, level: np.float32) -> int:
    """Which corners of a square lie inside; saddles by their middle."""
    case = 1 if tl < level else 0
    case += 2 if tr < level else 0
    case += 4 if br < level else 0
    case += 8 if bl < level else 0
    if case in (5, 10) and not (tl + tr + bl + br) * np.float32(0.25) < level:
        case = 16 if case == 5 else 17
    return case


class _Field(NamedTuple):
    """A field near a level, for the kernels: `Blocks`, `Jumps`, and how they are looked at."""

    number: Index
    places: Index
    samples: Samples
    marked: Index
    marks: Marks
    level: np.float32
    aspect: np.float32
    leaves: NDArray[np.int8]
    rows: int
    columns: int


@kernel
def _trace(
    field: _Field,
    row: int,
    column: int,
    enter: int,
    passed: Marks,
    points: Plane,
    count: int,
) -> tuple[int, int, int, int]:
    """Follow the boundary from an edge of a square to the rim, or until it closes.

    Writes its points as far as there is room. Returns how many there are now,
    and the edge of the rim by which it left: the row and column beyond it, and
    which one it is; where it did not reach the rim, the edge that it began at.

    One function, since to hand arrays on at every step takes longer than the step.
    """
    number, _, samples, marked, marks, level, aspect, leaves, rows, columns = field
    first_row, first_column, first = row, column, enter
    edge, begun = enter, False
    while True:
        n, r, c = number[row // BLOCK, column // BLOCK], row % BLOCK, column % BLOCK
        tl, tr = samples[n, r, c], samples[n, r, c + 1]
        bl, br = samples[n, r + 1, c], samples[n, r + 1, c + 1]
        if begun:
            edge = leaves[_case(tl, tr, br, bl, level), enter]
        if min(enter, edge) == TOP:
            passed[n, r] |= np.uint8(1 << c)

        flat = edge % 2 == 0
        from_row, from_column = row + (edge == BOTTOM), column + (edge == RIGHT)
        start = tr if edge == RIGHT else bl if edge == BOTTOM else tl
        end = tr if edge == TOP else bl if edge == LEFT else br
        part = (level - start) / (end - start)
        if marks.size > 0:
            m = marked[from_row // BLOCK, from_column // BLOCK]
            if m >= 0:
                mark = marks[m, edge % 2, from_row % BLOCK, from_column % BLOCK]
                part = part if mark == NO_JUMP else np.float32(mark) / np.float32(JUMP_STEPS)
        if count < points.shape[0]:
            x, y = np.float32(from_column), np.float32(from_row)
            points[count, 0] = (x + part if flat else x) * aspect
            points[count, 1] = y if flat else y + part
        count += 1

        if begun:
            row += (edge == BOTTOM) - (edge == TOP)
            column += (edge == RIGHT) - (edge == LEFT)
            enter = edge ^ 2
            if row < 0 or column < 0 or row >= rows - 1 or column >= columns - 1:
                return count, row, column, edge
            if number[row // BLOCK, column // BLOCK] < 0:  # by a rounding beyond what was copied
                return count, first_row, first_column, first
            if row == first_row and column == first_column and enter == first:
                return count, row, column, edge
        begun = True


@kernel
def _rim(field: _Field, starts: Index) -> int:
    """Write the squares and edges by which a boundary comes in; count them."""
    number, _, samples, _, _, level, _, _, rows, columns = field
    count = 0
    for c in range(columns - 1):
        for edge, row, line in ((TOP, 0, 0), (BOTTOM, rows - 2, rows - 1)):
            n, r = number[line // BLOCK, c // BLOCK], line % BLOCK
            here, following = samples[n, r, c % BLOCK], samples[n, r, c % BLOCK + 1]
            if n >= 0 and (here < level) != (following < level):
                starts[count, 0], starts[count, 1], starts[count, 2] = row, c, edge
                count += 1
    for r in range(rows - 1):
        for edge, column, line in ((LEFT, 0, 0), (RIGHT, columns - 2, columns - 1)):
            n, c = number[r // BLOCK, line // BLOCK], line % BLOCK
            here, following = samples[n, r % BLOCK, c], samples[n, r % BLOCK + 1, c]
            if n >= 0 and (here < level) != (following < level):
                starts[count, 0], starts[count, 1], starts[count, 2] = r, column, edge
                count += 1
    return count


@kernel
def _follow(
    field: _Field,
    starts: Index,
    done: Marks,
    passed: Marks,
    points: Plane,
    ends: Index,
) -> tuple[int, int]:
    """Write the points and the end of each line as far as there is room; count both.

    `done` are the edges of the rim by which a line left, `passed` the pairs of
    neighbours of each block that a line went between.
    """
    count, lines = 0, 0
    number, places, samples, level, rows = (
        field.number,
        field.places,
        field.samples,
        field.level,
        field.rows,
    )
    for s in range(_rim(field, starts)):
        row, column, edge = starts[s, 0], starts[s, 1], starts[s, 2]
        if done[edge, column if edge % 2 == 0 else row]:
            continue
        count, row, column, edge = _trace(field, row, column, edge, passed, points, count)
        done[edge, column if edge % 2 == 0 else row] = 1
        if lines < ends.size:
            ends[lines] = count
        lines += 1
    for n in range(places.size):
        top, left = places[n] // number.shape[1] * BLOCK, places[n] % number.shape[1] * BLOCK
        for r in range(min(BLOCK, rows - 1 - top)):
            inside = 0
            for c in range(BLOCK + 1):
                inside |= (samples[n, r, c] < level) << c
            parted = inside ^ inside >> 1
            for c in range(BLOCK):
                if not parted & ~passed[n, r] & 0xFF:
                    break
                if parted & ~passed[n, r] & 1 << c:
                    start = (top + r, left + c, TOP)
                    count, _, _, _ = _trace(field, *start, passed, points, count)
                    if lines < ends.size:
                        ends[lines] = count
                    lines += 1
    return count, lines


def trace(
    blocks: Blocks,
    shape: tuple[int, ...],
    level: float,
    *,
    jumps: Jumps | None = None,
    aspect: float = 1.0,
) -> tuple[Plane, Index]:
    """Return the lines that every boundary of a field follows.

    Parameters
    ----------
    blocks : Blocks
        Those that the level parts.
    shape : tuple of two ints
        Rows and columns of the field.
    level : float
    jumps : Jumps, optional
    aspect : float
        Width of a pixel over its height.

    Returns
    -------
    points : (N, 2) float32
        x, y in rows, from the centre of the first sample; one line after the other.
    ends : (M,) int32
        Number of points at the end of each line.
    """
    rows, columns = shape
    number, marks = jumps or _NO_JUMPS
    at = np.float32(level), np.float32(aspect)
    field = _Field(*blocks, number, marks, *at, LEAVES, rows, columns)
    if min(rows, columns) < 2:
        return np.empty((0, 2), np.float32), np.empty(0, np.int32)
    points, ends = np.empty((1 << 15, 2), np.float32), np.empty(1 << 12, np.int32)
    while True:
        starts = np.empty((2 * (rows + columns), 3), np.int32)
        done = np.zeros((4, max(rows, columns)), np.uint8)
        passed = np.zeros((len(blocks.samples), BLOCK), np.uint8)
        count, lines = _follow(field, starts, done, passed, points, ends)
        if count <= len(points) and lines <= len(ends):
            return points[:count], ends[:lines]
        points, ends = np.empty((count, 2), np.float32), np.empty(lines, np.int32)
