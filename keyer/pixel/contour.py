"""Find the boundary of a wipe: where its field equals the progress.

The field is followed from sample to sample (marching squares) and the way is
straightened into as few line segments as stay within a thirtieth of a pixel of
it. Distances to these segments are exact, whatever pattern they come from.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from keyer.kinds.field import Field
from keyer.pixel.jit import kernel

BLOCK = 8
"""Samples along each side of the blocks whose least and greatest values are kept."""

TOLERANCE = np.float32(0.03)
"""How far in pixels a segment may stray from the boundary."""

NO_JUMP = 255
JUMP_STEPS = 254

Plane = NDArray[np.float32]
Marks = NDArray[np.uint8]

# the two edges (0 top, 1 right, 2 bottom, 3 left) that the boundary crosses in a square whose
# corners inside are tl = 1, tr = 2, br = 4, bl = 8: for an edge entered, the edge it leaves by.
# Rows 16 and 17 are the saddles 5 and 10 when their middle is on the other side.
_LEAVES = np.full((18, 4), -1, np.int8)
for _case, _pairs in {
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
        _LEAVES[_case, _one] = _other
        _LEAVES[_case, _other] = _one


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
    _extremes(values, low, high)
    return low, high


@kernel
def _case(values: Plane, row: int, column: int, level: np.float32) -> int:
    """Which corners of a square lie inside; saddles by their middle."""
    tl, tr = values[row, column], values[row, column + 1]
    bl, br = values[row + 1, column], values[row + 1, column + 1]
    case = 0
    if tl < level:
        case += 1
    if tr < level:
        case += 2
    if br < level:
        case += 4
    if bl < level:
        case += 8
    if case in (5, 10) and not (tl + tr + bl + br) * np.float32(0.25) < level:
        case = 16 if case == 5 else 17
    return case


@kernel
def _part(first: np.float32, second: np.float32, level: np.float32, jump: int) -> np.float32:
    """How far along the way between two samples the boundary lies, 0..1."""
    if jump != NO_JUMP:
        return np.float32(jump) / np.float32(JUMP_STEPS)
    return (level - first) / (second - first)


@kernel
def _is_end(seen: Marks, row: int, column: int, edge: int) -> bool:
    """Whether no part of the boundary beyond an edge of a square is left to follow."""
    if edge == 0:
        return row == 0 or (seen[row - 1, column] >> 2 & 1) != 0
    if edge == 1:
        return column == seen.shape[1] - 2 or (seen[row, column + 1] >> 3 & 1) != 0
    if edge == 2:
        return row == seen.shape[0] - 2 or (seen[row + 1, column] & 1) != 0
    return column == 0 or (seen[row, column - 1] >> 1 & 1) != 0


@kernel
def _follow(
    values: Plane,
    jump_across: Marks,
    jump_down: Marks,
    jumps: bool,
    low: Plane,
    high: Plane,
    level: np.float32,
    aspect: np.float32,
    seen: Marks,
    leaves: NDArray[np.int8],
    out: Plane,
) -> int:
    """Write the segments x0, y0, x1, y1 of the boundary; -1 if `out` is too short.

    Coordinates are in rows, from the first sample's centre.
    """
    rows, columns = values.shape
    count = 0
    tolerance = np.float32(TOLERANCE)
    for i in range(low.shape[0]):
        for j in range(low.shape[1]):
            if not (low[i, j] < level and high[i, j] >= level):
                continue
            for r in range(i * BLOCK, min(i * BLOCK + BLOCK, rows - 1)):
                for c in range(j * BLOCK, min(j * BLOCK + BLOCK, columns - 1)):
                    first_case = _case(values, r, c, level)
                    if first_case in (0, 15):
                        continue
                    for start in range(4):
                        other = leaves[first_case, start]
                        if other < 0 or seen[r, c] >> start & 1:
                            continue
                        if not _is_end(seen, r, c, start) and _is_end(seen, r, c, other):
                            continue  # begin at an end, not in its last step
                        row, column, enter = r, c, start
                        case = first_case
                        points = 0
                        ax = ay = px = py = np.float32(0.0)
                        lx = ly = hx = hy = np.float32(0.0)
                        cone = False
                        while True:
                            # the point on the edge that is entered
                            if enter in (0, 2):
                                line = row + (1 if enter == 2 else 0)
                                jump = int(jump_across[line, column]) if jumps else NO_JUMP
                                part = _part(
                                    values[line, column], values[line, column + 1], level, jump
                                )
                                x = (np.float32(column) + part) * aspect
                                y = np.float32(line)
                            else:
                                line = column + (1 if enter == 1 else 0)
                                jump = int(jump_down[row, line]) if jumps else NO_JUMP
                                part = _part(values[row, line], values[row + 1, line], level, jump)
                                x = np.float32(line) * aspect
                                y = np.float32(row) + part
                            # straighten: all points since the last corner lie in a cone from it
                            if points == 0:
                                ax, ay = x, y
                            else:
                                vx, vy = x - ax, y - ay
                                length = np.sqrt(vx * vx + vy * vy)
                                fits = True
                                if cone:
                                    fits = (
                                        lx * vy - ly * vx >= 0
                                        and vx * hy - vy * hx >= 0
                                        and vx * (lx + hx) + vy * (ly + hy) > 0
                                    )
                                if not fits:
                                    if count >= out.shape[0]:
                                        return -1
                                    out[count, 0], out[count, 1] = ax, ay
                                    out[count, 2], out[count, 3] = px, py
                                    count += 1
                                    ax, ay = px, py
                                    cone = False
                                    vx, vy = x - ax, y - ay
                                    length = np.sqrt(vx * vx + vy * vy)
                                if length > tolerance:
                                    sx, sy = -vy * tolerance / length, vx * tolerance / length
                                    nlx, nly = vx - sx, vy - sy
                                    nhx, nhy = vx + sx, vy + sy
                                    if not cone:
                                        lx, ly, hx, hy = nlx, nly, nhx, nhy
                                        cone = True
                                    else:
                                        if lx * nly - ly * nlx > 0:
                                            lx, ly = nlx, nly
                                        if nhx * hy - nhy * hx > 0:
                                            hx, hy = nhx, nhy
                            px, py = x, y
                            points += 1
                            if case < 0 or seen[row, column] >> enter & 1:
                                break
                            leave = leaves[case, enter]
                            seen[row, column] |= np.uint8((1 << enter) | (1 << leave))
                            if leave == 0:
                                row, enter = row - 1, 2
                            elif leave == 1:
                                column, enter = column + 1, 3
                            elif leave == 2:
                                row, enter = row + 1, 0
                            else:
                                column, enter = column - 1, 1
                            if row < 0 or column < 0 or row >= rows - 1 or column >= columns - 1:
                                # the last point lies on the rim: step back to read it
                                if enter == 2:
                                    row, enter = row + 1, 0
                                elif enter == 3:
                                    column, enter = column - 1, 1
                                elif enter == 0:
                                    row, enter = row - 1, 2
                                else:
                                    column, enter = column + 1, 3
                                case = -1
                            else:
                                case = _case(values, row, column, level)
                        if count >= out.shape[0]:
                            return -1
                        out[count, 0], out[count, 1] = ax, ay
                        out[count, 2], out[count, 3] = px, py
                        count += 1
    return count


_NONE = np.empty((0, 0), np.uint8)


def boundary(values: Plane, field: Field, level: float, low: Plane, high: Plane) -> Plane:
    """Segments of the line on which a field equals a level.

    Parameters
    ----------
    values : (rows, columns) float32
        The field's values, modulated or not.
    field : Field
        Whose margins and jumps apply.
    level : float
    low, high : float32
        As of `block_extremes(values)`.

    Returns
    -------
    (N, 4) float32
        x0, y0, x1, y1 in rows of the picture (a column is `pixel_aspect` rows
        wide), from the centre of its first pixel.
    """
    room = 4096
    seen = np.zeros(values.shape, np.uint8)
    jumps = field.jump_across is not None and field.jump_down is not None
    across = field.jump_across if field.jump_across is not None else _NONE
    down = field.jump_down if field.jump_down is not None else _NONE
    aspect = np.float32(field.geometry.pixel_aspect)
    while True:
        out = np.empty((room, 4), np.float32)
        count = _follow(
            values, across, down, jumps, low, high, np.float32(level), aspect, seen, _LEAVES, out
        )
        if count >= 0:
            break
        room *= 4
        seen.fill(0)
    shift = np.float32([field.margin_x * aspect, field.margin_y] * 2)
    return out[:count] - shift
