"""How much of A and of B the pixels near a wipe's boundary show.

A pixel near the boundary gets its exact distance to the nearest segment of it,
positive inside B; a tile that is far from it is wholly A or B. So edges and
borders are equally wide along every normal, at corners, hubs and tips too.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from keyer.pixel.contour import BLOCK
from keyer.pixel.jit import kernel
from keyer.pixel.moment import TILE_HEIGHT, TILE_WIDTH, Moment, away, tiles

Plane = NDArray[np.float32]
Index = NDArray[np.int32]
State = NDArray[np.int8]

TILE = TILE_HEIGHT * TILE_WIDTH

_NO_RAMP = np.empty((0, 0), np.float32)


@kernel
def _keep(
    segments: Plane,
    near: Index,
    begin: int,
    end: int,
    x: np.float32,
    y: np.float32,
    half: np.float32,
    kept: Index,
) -> tuple[int, np.float32]:
    """Keep those of `near[begin:end]` that may be nearest to some place within `half` of (x, y).

    Returns how many, and the distance from (x, y) to the nearest.
    """
    best = np.float32(1e30)
    for n in range(begin, end):
        best = min(best, away(x, y, segments, near[n]))
    count = 0
    for n in range(begin, end):
        # else some other segment is nearer to every place
        if away(x, y, segments, near[n]) <= best + 2 * half:
            kept[count] = near[n]
            count += 1
    return count, best


@kernel
def _nearest(
    segments: Plane,
    near: Index,
    count: int,
    x: np.float32,
    y: np.float32,
    across: Plane,
    down: Plane,
    squares: Plane,
) -> Plane:
    """Squared distance to the nearest of `count` segments from each pixel of a tile.

    `x` and `y` are the place of its first pixel, `across` and `down` lead from
    there to each: one run of pixels, since short rows cost more than what is
    worked out in them. `squares` are two such runs, one of which is returned.
    """
    reached: Plane = squares[0]
    other: Plane = squares[1]
    for i in range(reached.size):
        reached[i] = np.float32(1e30)
    for n in range(count):
        s = near[n]
        dx, dy = segments[s, 2] - segments[s, 0], segments[s, 3] - segments[s, 1]
        square = dx * dx + dy * dy
        scale = np.float32(1.0) / square if square > 0 else np.float32(0.0)
        ux, uy = dx * scale, dy * scale
        first_x, first_y = x - segments[s, 0], y - segments[s, 1]
        for i in range(reached.size):
            ex, ey = first_x + across[i], first_y + down[i]
            part = ex * ux + ey * uy
            part = part if part > np.float32(0.0) else np.float32(0.0)
            part = part if part < np.float32(1.0) else np.float32(1.0)
            fx, fy = ex - part * dx, ey - part * dy
            found = fx * fx + fy * fy
            # never back into the same place: that compiles to masked stores, many times slower
            other[i] = found if found < reached[i] else reached[i]
        reached, other = other, reached
    return reached


@kernel
def _half(rows: int, columns: int, aspect: np.float32) -> np.float32:
    """Distance from the middle of a tile to its corner pixels."""
    x, y = np.float32(columns - 1) * aspect / 2, np.float32(rows - 1) / 2
    half: np.float32 = np.sqrt(x * x + y * y)
    return half


@kernel
def _side(
    values: Plane, low: Plane, high: Plane, row: int, column: int, level: np.float32
) -> np.float32:
    """1 where a sample lies inside B, else -1; told by its block where that is on one side.

    The few extremes stay in the processor's cache, the many values do not.
    """
    block_row, block_column = row // BLOCK, column // BLOCK
    if high[block_row, block_column] < level:
        return np.float32(1.0)
    if low[block_row, block_column] >= level:
        return np.float32(-1.0)
    return np.float32(1.0) if values[row, column] < level else np.float32(-1.0)


@kernel
def _sides(
    values: Plane,
    row: int,
    column: int,
    level: np.float32,
    rows: int,
    columns: int,
    sides: Plane,
) -> None:
    """Write the side of each pixel of a tile that the boundary crosses."""
    for r in range(rows):
        for c in range(columns):
            inside = values[row + r, column + c] < level
            sides[r * TILE_WIDTH + c] = np.float32(1.0) if inside else np.float32(-1.0)


@kernel
def _weigh(
    squares: Plane,
    sides: Plane,
    shift: np.float32,
    slope: np.float32,
    offset: np.float32,
    of_a: Plane,
    of_b: Plane,
) -> None:
    """Weights of A and B in a tile; the squares become signed distances."""
    for i in range(squares.size):
        distance = np.sqrt(squares[i]) * sides[i] + shift
        squares[i] = distance
        weight = offset + distance * slope
        weight = weight if weight > np.float32(0.0) else np.float32(0.0)
        of_b[i] = weight if weight < np.float32(1.0) else np.float32(1.0)
        weight = offset - distance * slope
        weight = weight if weight > np.float32(0.0) else np.float32(0.0)
        of_a[i] = weight if weight < np.float32(1.0) else np.float32(1.0)


@kernel
def _way_across(distances: Plane, border: np.float32) -> None:
    """Turn distances into the way across the border, 0 on A's side and 1 on B's."""
    for i in range(distances.size):
        part = distances[i] / border + np.float32(0.5)
        part = part if part > np.float32(0.0) else np.float32(0.0)
        distances[i] = part if part < np.float32(1.0) else np.float32(1.0)


@kernel
def _put(run: Plane, out: Plane, top: int, left: int, rows: int, columns: int) -> None:
    """Lay a tile's run of pixels out in rows."""
    for r in range(rows):
        for c in range(columns):
            out[top + r, left + c] = run[r * TILE_WIDTH + c]


@kernel
def _weights(
    values: Plane,
    low: Plane,
    high: Plane,
    margin_x: int,
    margin_y: int,
    level: np.float32,
    segments: Plane,
    first: Index,
    dealt: Index,
    top: int,
    aspect: np.float32,
    shift: np.float32,
    border: np.float32,
    soft: np.float32,
    of_a: Plane,
    of_b: Plane,
    ramp: Plane,
    state: State,
) -> None:
    """Weights of a band; `state` of each of its tiles: -1 all A, 1 all B, 0 computed."""
    rows, columns = of_a.shape
    across = state.shape[1]
    # one by one: unpacked from one array they would not be known to be contiguous
    near = np.empty(segments.shape[0], np.int32)
    runs, sides = np.empty((2, TILE), np.float32), np.empty(TILE, np.float32)
    tile_a, tile_b = np.empty(TILE, np.float32), np.empty(TILE, np.float32)
    step_x, step_y = np.empty(TILE, np.float32), np.empty(TILE, np.float32)
    for p in range(TILE):
        step_x[p], step_y[p] = np.float32(p % TILE_WIDTH) * aspect, np.float32(p // TILE_WIDTH)
    edge = (border + soft) / 2
    slope = np.float32(1.0) / soft
    offset = np.float32(0.5) - np.float32(0.5) * border * slope
    first_row = top // TILE_HEIGHT
    for i in range(state.shape[0]):
        begin = max((first_row + i) * TILE_HEIGHT, top)
        end = min((first_row + i + 1) * TILE_HEIGHT, top + rows)
        tall, row = end - begin, begin + margin_y
        for j in range(across):
            left = j * TILE_WIDTH
            wide, column = min(TILE_WIDTH, columns - left), left + margin_x
            side = _side(values, low, high, row, column, level)
            state[i, j] = np.int8(side)
            tile = (first_row + i) * across + j
            if first[tile] == first[tile + 1]:
                continue
            x, y = np.float32(left) * aspect, np.float32(begin)
            middle_x, middle_y = x + np.float32(wide - 1) * aspect / 2, y + np.float32(tall - 1) / 2
            half = _half(tall, wide, aspect)
            count, best = _keep(
                segments, dealt, first[tile], first[tile + 1], middle_x, middle_y, half, near
            )
            if best - half > max(edge - side * shift, np.float32(0.0)):
                continue
            state[i, j] = 0
            squares = _nearest(segments, near, count, x, y, step_x, step_y, runs)
            if best > half:
                sides[:] = side
            else:
                _sides(values, row, column, level, tall, wide, sides)
            _weigh(squares, sides, shift, slope, offset, tile_a, tile_b)
            _put(tile_a, of_a, begin - top, left, tall, wide)
            _put(tile_b, of_b, begin - top, left, tall, wide)
            if ramp.size > 0:
                _way_across(squares, border)
                _put(squares, ramp, begin - top, left, tall, wide)


def band_weights(now: Moment, top: int, of_a: Plane, of_b: Plane) -> tuple[State, Plane]:
    """Write the weights of the tiles near the boundary.

    Parameters
    ----------
    now : Moment
        Not wholly A or B.
    top : int
        Row of the picture where the band begins.
    of_a, of_b : (rows, W) float32
        Written where a tile is near the boundary.

    Returns
    -------
    state : (tile rows, tile columns) int8
        -1 all A, 1 all B, 0 near the boundary.
    ramp : (rows, W) float32
        Way across a border whose two sides differ in colour; else empty.
    """
    field = now.field
    last = (top + of_a.shape[0] - 1) // TILE_HEIGHT
    state = np.empty((last - top // TILE_HEIGHT + 1, tiles(field)[0]), np.int8)
    ramped = now.border > 0 and now.colours[0] != now.colours[1]
    ramp = np.zeros_like(of_a) if ramped else _NO_RAMP
    _weights(
        now.values,
        now.low,
        now.high,
        field.margin_x,
        field.margin_y,
        np.float32(now.level),
        now.segments,
        now.first,
        now.dealt,
        top,
        np.float32(field.geometry.pixel_aspect),
        np.float32(now.shift),
        np.float32(now.border),
        np.float32(now.soft),
        of_a,
        of_b,
        ramp,
        state,
    )
    return state, ramp
