"""Find the boundary of a wipe: where its field equals the progress.

The field is followed from sample to sample (marching squares) and the way is
straightened into as few line segments as stay within a thirtieth of a pixel of
it. Distances to these segments are exact, whatever pattern they come from.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from keyer.kinds.field import Field
from keyer.pixel.bands import run_bands
from keyer.pixel.corners import sharpen
from keyer.pixel.jit import kernel

BLOCK = 8
"""Samples along each side of the blocks whose least and greatest values are kept."""

TOLERANCE = 0.03
"""How far in rows a segment may stray from the boundary."""

NO_JUMP = 255
JUMP_STEPS = 254

# what the pen that straightens the boundary remembers: its last corner, its last point, the two
# sides of the cone, and whether there is a cone
AX, AY, PX, PY, LX, LY, HX, HY, CONE = range(9)
PEN = 9

Plane = NDArray[np.float32]
Marks = NDArray[np.uint8]

# the two edges (0 top, 1 right, 2 bottom, 3 left) that the boundary crosses in a square whose
# corners inside are tl = 1, tr = 2, br = 4, bl = 8: for an edge entered, the edge it leaves by.
# Rows 16 and 17 are the saddles 5 and 10 when their middle is on the other side.
_LEAVES = np.full((18, 4), -1, np.int8)
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
        _LEAVES[_corners, _one] = _other
        _LEAVES[_corners, _other] = _one


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
def _crossing(
    values: Plane,
    across: Marks,
    down: Marks,
    level: np.float32,
    row: int,
    column: int,
    edge: int,
) -> tuple[np.float32, np.float32]:
    """Where the boundary crosses an edge of a square, in samples: column, row."""
    jump = NO_JUMP
    if edge in (0, 2):
        line = row + 1 if edge == 2 else row
        if across.size > 0:
            jump = int(across[line, column])
        part = _part(values[line, column], values[line, column + 1], level, jump)
        return np.float32(column) + part, np.float32(line)
    line = column + 1 if edge == 1 else column
    if down.size > 0:
        jump = int(down[row, line])
    part = _part(values[row, line], values[row + 1, line], level, jump)
    return np.float32(line), np.float32(row) + part


@kernel
def _close(pen: Plane, out: Plane, count: int) -> int:
    """Write the segment from the pen's last corner to its last point."""
    if count < out.shape[0]:
        out[count, 0], out[count, 1] = pen[AX], pen[AY]
        out[count, 2], out[count, 3] = pen[PX], pen[PY]
    return count + 1


@kernel
def _draw(
    pen: Plane, x: np.float32, y: np.float32, tolerance: np.float32, out: Plane, count: int
) -> int:
    """Go on to a point; write a segment when the points since the last corner leave its cone.

    All points since that corner lie within the tolerance of any line from it
    inside the cone (its two sides are kept in the pen).
    """
    vx, vy = x - pen[AX], y - pen[AY]
    if pen[CONE] > 0:
        left = pen[LX] * vy - pen[LY] * vx
        right = vx * pen[HY] - vy * pen[HX]
        ahead = vx * (pen[LX] + pen[HX]) + vy * (pen[LY] + pen[HY])
        if left < 0 or right < 0 or ahead <= 0:
            count = _close(pen, out, count)
            pen[AX], pen[AY], pen[CONE] = pen[PX], pen[PY], np.float32(0.0)
            vx, vy = x - pen[AX], y - pen[AY]
    length = np.sqrt(vx * vx + vy * vy)
    if length > tolerance:
        sx, sy = -vy * tolerance / length, vx * tolerance / length
        first = pen[CONE] <= 0
        if first or pen[LX] * (vy - sy) - pen[LY] * (vx - sx) > 0:
            pen[LX], pen[LY] = vx - sx, vy - sy
        if first or (vx + sx) * pen[HY] - (vy + sy) * pen[HX] > 0:
            pen[HX], pen[HY] = vx + sx, vy + sy
        pen[CONE] = np.float32(1.0)
    pen[PX], pen[PY] = x, y
    return count


@kernel
def _step(row: int, column: int, leave: int) -> tuple[int, int, int]:
    """Go on to the square beyond an edge; return it and its edge."""
    if leave == 0:
        return row - 1, column, 2
    if leave == 1:
        return row, column + 1, 3
    if leave == 2:
        return row + 1, column, 0
    return row, column - 1, 1


@kernel
def _begin(
    values: Plane,
    level: np.float32,
    leaves: NDArray[np.int8],
    row: int,
    column: int,
    enter: int,
) -> tuple[int, int, int]:
    """Go back along the boundary to where it comes in, or once around if it is closed."""
    rows, columns = values.shape
    first_row, first_column, first = row, column, enter
    while True:
        back_row, back_column, leave = _step(row, column, enter)
        if not (0 <= back_row < rows - 1 and 0 <= back_column < columns - 1):
            return row, column, enter
        row, column = back_row, back_column
        enter = leaves[_case(values, row, column, level), leave]
        if row == first_row and column == first_column and enter == first:
            return row, column, enter


@kernel
def _walk(
    values: Plane,
    across: Marks,
    down: Marks,
    level: np.float32,
    aspect: np.float32,
    tolerance: np.float32,
    seen: Marks,
    leaves: NDArray[np.int8],
    row: int,
    column: int,
    enter: int,
    out: Plane,
    count: int,
) -> int:
    """Follow the boundary from an edge of a square until it closes or leaves the samples."""
    rows, columns = values.shape
    pen = np.zeros(PEN, np.float32)
    x, y = _crossing(values, across, down, level, row, column, enter)
    pen[AX], pen[AY] = x * aspect, y
    pen[PX], pen[PY] = pen[AX], pen[AY]
    while not seen[row, column] >> enter & 1:
        leave = leaves[_case(values, row, column, level), enter]
        seen[row, column] |= np.uint8((1 << enter) | (1 << leave))
        x, y = _crossing(values, across, down, level, row, column, leave)
        count = _draw(pen, x * aspect, y, tolerance, out, count)
        row, column, enter = _step(row, column, leave)
        if row < 0 or column < 0 or row >= rows - 1 or column >= columns - 1:
            break
    return _close(pen, out, count)


@kernel
def _follow(
    values: Plane,
    across: Marks,
    down: Marks,
    low: Plane,
    high: Plane,
    level: np.float32,
    aspect: np.float32,
    tolerance: np.float32,
    seen: Marks,
    leaves: NDArray[np.int8],
    out: Plane,
) -> int:
    """Write the segments x0, y0, x1, y1 of the boundary as far as there is room; count them all.

    Coordinates are in rows, from the first sample's centre.
    """
    rows, columns = values.shape
    count = 0
    for i in range(low.shape[0]):
        for j in range(low.shape[1]):
            if not (low[i, j] < level and high[i, j] >= level):
                continue
            for r in range(i * BLOCK, min(i * BLOCK + BLOCK, rows - 1)):
                for c in range(j * BLOCK, min(j * BLOCK + BLOCK, columns - 1)):
                    case = _case(values, r, c, level)
                    for start in range(4):
                        if leaves[case, start] < 0 or seen[r, c] >> start & 1:
                            continue
                        row, column, enter = _begin(values, level, leaves, r, c, start)
                        begin = count
                        count = _walk(
                            values,
                            across,
                            down,
                            level,
                            aspect,
                            tolerance,
                            seen,
                            leaves,
                            row,
                            column,
                            enter,
                            out,
                            count,
                        )
                        if count <= out.shape[0]:
                            sharpen(out, begin, count)
    return count


_NONE = np.empty((0, 0), np.uint8)


def boundary(
    values: Plane,
    field: Field,
    level: float,
    low: Plane,
    high: Plane,
    *,
    tolerance: float = TOLERANCE,
) -> Plane:
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
    tolerance : float
        How far in rows a segment may stray from the boundary.

    Returns
    -------
    (N, 4) float32
        x0, y0, x1, y1 in rows of the picture (a column is `pixel_aspect` rows
        wide), from the centre of its first pixel.
    """
    marks = (_NONE, _NONE)
    if field.jump_across is not None and field.jump_down is not None:
        marks = (field.jump_across, field.jump_down)
    aspect = np.float32(field.geometry.pixel_aspect)
    settled = (*marks, low, high, np.float32(level), aspect, np.float32(tolerance))
    out = np.empty((4096, 4), np.float32)
    while True:
        seen = np.zeros(values.shape, np.uint8)
        count = _follow(values, *settled, seen, _LEAVES, out)
        if count <= out.shape[0]:
            break
        out = np.empty((count, 4), np.float32)
    origin = (field.margin_x * float(aspect), field.margin_y) * 2
    return out[:count] - np.asarray(origin, np.float32)
