"""The wipe: how much of A, of B and of the border each pixel shows.

A pixel near the boundary gets its exact distance to the nearest segment of it,
positive inside B; all others are wholly A or B. So edges and borders are
equally wide along every normal, at corners, hubs and tips too.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from keyer.kinds.picture import Planes
from keyer.pixel.jit import kernel
from keyer.pixel.moment import TILE_HEIGHT, TILE_WIDTH, Moment, away, moment, tiles

__all__ = ["Moment", "moment", "weigh_band", "wipe_band"]

Plane = NDArray[np.float32]
Index = NDArray[np.int32]
State = NDArray[np.int8]

FEW = 5
"""Segments near a tile up to which it is not worth while to look at its quarters apart."""

_NO_RAMP = np.empty((0, 0), np.float32)


@kernel
def _keep(
    segments: Plane, near: Index, x: np.float32, y: np.float32, half: np.float32, kept: Index
) -> tuple[int, np.float32]:
    """Keep the segments that may be nearest to some place within `half` of (x, y).

    Returns how many, and the distance from (x, y) to the nearest.
    """
    best = np.float32(1e30)
    for n in range(near.size):
        best = min(best, away(x, y, segments[near[n]]))
    count = 0
    for n in range(near.size):
        # else some other segment is nearer to every place
        if away(x, y, segments[near[n]]) <= best + 2 * half:
            kept[count] = near[n]
            count += 1
    return count, best


@kernel
def _nearest(
    segments: Plane,
    near: Index,
    x: np.float32,
    y: np.float32,
    steps: Plane,
    squares: Plane,
    left: int,
    top: int,
    right: int,
    bottom: int,
) -> None:
    """Write the squared distance to the nearest of these segments into a part of `squares`.

    `x` and `y` are the place of its first pixel, `steps` those of the next ones
    in a row from it: read, not worked out, since numbers of pixels are slow to
    turn into places.
    """
    for r in range(top, bottom):
        line = squares[r, left:right]
        for c in range(line.size):
            line[c] = np.float32(1e30)
    for n in range(near.size):
        segment = segments[near[n]]
        dx, dy = segment[2] - segment[0], segment[3] - segment[1]
        square = dx * dx + dy * dy
        scale = np.float32(1.0) / square if square > 0 else np.float32(0.0)
        ux, uy = dx * scale, dy * scale
        first = x - segment[0]
        for r in range(top, bottom):
            ey = y + np.float32(r - top) - segment[1]
            base = ey * uy
            line = squares[r, left:right]
            for c in range(line.size):
                ex = first + steps[c]
                part = ex * ux + base
                part = part if part > np.float32(0.0) else np.float32(0.0)
                part = part if part < np.float32(1.0) else np.float32(1.0)
                fx = ex - part * dx
                fy = ey - part * dy
                found = fx * fx + fy * fy
                line[c] = found if found < line[c] else line[c]


@kernel
def _half(rows: int, columns: int, aspect: np.float32) -> np.float32:
    """Distance from the middle of a part of a tile to its corner pixels."""
    x, y = np.float32(columns - 1) * aspect / 2, np.float32(rows - 1) / 2
    half: np.float32 = np.sqrt(x * x + y * y)
    return half


@kernel
def _distances(
    segments: Plane,
    near: Index,
    x: np.float32,
    y: np.float32,
    aspect: np.float32,
    steps: Plane,
    spare: Index,
    squares: Plane,
    rows: int,
    columns: int,
) -> None:
    """Write a tile's squared distances; with many segments near, a quarter at a time."""
    if near.size <= FEW:
        _nearest(segments, near, x, y, steps, squares, 0, 0, columns, rows)
        return
    for top in range(0, rows, TILE_HEIGHT // 2):
        for left in range(0, columns, TILE_WIDTH // 2):
            bottom, right = min(top + TILE_HEIGHT // 2, rows), min(left + TILE_WIDTH // 2, columns)
            first_x, first_y = x + np.float32(left) * aspect, y + np.float32(top)
            middle_x = first_x + np.float32(right - left - 1) * aspect / 2
            middle_y = first_y + np.float32(bottom - top - 1) / 2
            half = _half(bottom - top, right - left, aspect)
            count, _ = _keep(segments, near, middle_x, middle_y, half, spare)
            _nearest(
                segments,
                spare[:count],
                first_x,
                first_y,
                steps,
                squares,
                left,
                top,
                right,
                bottom,
            )


@kernel
def _weigh_row(
    inside: Plane,
    squares: Plane,
    level: np.float32,
    shift: np.float32,
    slope: np.float32,
    offset: np.float32,
    of_a: Plane,
    of_b: Plane,
) -> None:
    """Weights of A and B along a row of a tile; the squares become signed distances."""
    for c in range(squares.size):
        distance = np.sqrt(squares[c])
        distance = (distance if inside[c] < level else -distance) + shift
        squares[c] = distance
        weight = offset + distance * slope
        weight = weight if weight > np.float32(0.0) else np.float32(0.0)
        of_b[c] = weight if weight < np.float32(1.0) else np.float32(1.0)
        weight = offset - distance * slope
        weight = weight if weight > np.float32(0.0) else np.float32(0.0)
        of_a[c] = weight if weight < np.float32(1.0) else np.float32(1.0)


@kernel
def _ramp_row(distances: Plane, border: np.float32, out: Plane) -> None:
    """Way across the border, 0 on A's side and 1 on B's."""
    for c in range(distances.size):
        part = distances[c] / border + np.float32(0.5)
        part = part if part > np.float32(0.0) else np.float32(0.0)
        out[c] = part if part < np.float32(1.0) else np.float32(1.0)


@kernel
def _weights(
    values: Plane,
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
    squares = np.empty((TILE_HEIGHT, TILE_WIDTH), np.float32)
    kept, spare = np.empty((2, segments.shape[0]), np.int32)
    steps = np.arange(TILE_WIDTH).astype(np.float32) * aspect
    edge = (border + soft) / 2
    slope = np.float32(1.0) / soft
    offset = np.float32(0.5) - np.float32(0.5) * border * slope
    first_row = top // TILE_HEIGHT
    for i in range(state.shape[0]):
        begin = max((first_row + i) * TILE_HEIGHT, top)
        end = min((first_row + i + 1) * TILE_HEIGHT, top + rows)
        for j in range(across):
            left = j * TILE_WIDTH
            right = min(left + TILE_WIDTH, columns)
            tile = (first_row + i) * across + j
            near = dealt[first[tile] : first[tile + 1]]
            if near.size == 0:
                state[i, j] = 1 if values[begin + margin_y, left + margin_x] < level else -1
                continue
            x, y = np.float32(left) * aspect, np.float32(begin)
            half = _half(end - begin, right - left, aspect)
            middle_x = x + np.float32(right - left - 1) * aspect / 2
            middle_y = y + np.float32(end - begin - 1) / 2
            count, best = _keep(segments, near, middle_x, middle_y, half, kept)
            within = values[begin + margin_y, left + margin_x] < level
            if best - half > 0 and best - half > (edge - shift if within else edge + shift):
                state[i, j] = 1 if within else -1
                continue
            state[i, j] = 0
            _distances(
                segments,
                kept[:count],
                x,
                y,
                aspect,
                steps,
                spare,
                squares,
                end - begin,
                right - left,
            )
            for r in range(begin, end):
                line = squares[r - begin, : right - left]
                inside = values[r + margin_y, left + margin_x : right + margin_x]
                a, b = of_a[r - top, left:right], of_b[r - top, left:right]
                _weigh_row(inside, line, level, shift, slope, offset, a, b)
                if ramp.size > 0:
                    _ramp_row(line, border, ramp[r - top, left:right])


@kernel
def _lay_row(
    a: Plane, b: Plane, of_a: Plane, of_b: Plane, third: Plane, begin: int, end: int
) -> None:
    """Lay a part of a row of one plane together, in A; `third` may be one value for all."""
    if third.size == 1:
        fill = third[0]
        for c in range(begin, end):
            rest = np.float32(1.0) - of_a[c] - of_b[c]
            a[c] = of_a[c] * a[c] + of_b[c] * b[c] + rest * fill
    else:
        for c in range(begin, end):
            rest = np.float32(1.0) - of_a[c] - of_b[c]
            a[c] = of_a[c] * a[c] + of_b[c] * b[c] + rest * third[c]


@kernel
def _blend(
    a: Planes, b: Planes, third: Planes, of_a: Plane, of_b: Plane, state: State, top: int
) -> None:
    """Lay A, B and the border together by their weights, in A."""
    rows, columns = of_a.shape
    first_row = top // TILE_HEIGHT
    for i in range(state.shape[0]):
        begin = max((first_row + i) * TILE_HEIGHT - top, 0)
        end = min((first_row + i + 1) * TILE_HEIGHT - top, rows)
        j = 0
        while j < state.shape[1]:
            kind = state[i, j]
            left = j * TILE_WIDTH
            while j < state.shape[1] and state[i, j] == kind:
                j += 1
            right = min(j * TILE_WIDTH, columns)
            if kind < 0:
                continue
            for plane in range(a.shape[0]):
                for r in range(begin, end):
                    if kind > 0:
                        for c in range(left, right):
                            a[plane, r, c] = b[plane, r, c]
                    else:
                        edge = third[plane, min(r, third.shape[1] - 1)]
                        _lay_row(a[plane, r], b[plane, r], of_a[r], of_b[r], edge, left, right)


@kernel
def _spread(of_a: Plane, of_b: Plane, state: State, top: int) -> None:
    """Fill the weights of the tiles that are wholly A or B."""
    rows, columns = of_a.shape
    first_row = top // TILE_HEIGHT
    for i in range(state.shape[0]):
        begin = max((first_row + i) * TILE_HEIGHT - top, 0)
        end = min((first_row + i + 1) * TILE_HEIGHT - top, rows)
        for j in range(state.shape[1]):
            if state[i, j] == 0:
                continue
            share = np.float32(1.0 if state[i, j] > 0 else 0.0)
            for r in range(begin, end):
                for c in range(j * TILE_WIDTH, min(j * TILE_WIDTH + TILE_WIDTH, columns)):
                    of_b[r, c] = share
                    of_a[r, c] = np.float32(1.0) - share


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


def border_fill(now: Moment, ramp: Plane) -> Planes:
    """Colour of the border at every pixel of a band, or the one that it has everywhere.

    Parameters
    ----------
    now : Moment
    ramp : (rows, W) float32, or empty
        From `band_weights`.

    Returns
    -------
    (3, rows, W) or (3, 1, 1) float32
    """
    near, far = np.asarray(now.colours, np.float32)[:, :, np.newaxis, np.newaxis]
    fill: Planes = near + (far - near) * ramp if ramp.size else near
    return fill


def wipe_band(a: Planes, b: Planes, now: Moment, top: int, border: Planes | None = None) -> None:
    """Wipe a band from A to B, in place.

    Parameters
    ----------
    a, b : (3, rows, W) float32, C-contiguous
        `a` becomes the result.
    now : Moment
    top : int
        Row of the picture where the band begins.
    border : (3, rows, W) float32, optional
        A third source that fills the border instead of its colours.
    """
    if now.whole:
        if now.whole > 0:
            np.copyto(a, b)
        return
    of_a, of_b = np.empty((2, *a.shape[1:]), np.float32)
    state, ramp = band_weights(now, top, of_a, of_b)
    third = border_fill(now, ramp) if border is None else border
    _blend(a, b, third, of_a, of_b, state, top)


def weigh_band(now: Moment, top: int, of_a: Plane, of_b: Plane) -> None:
    """Write the weights of A and B of a band; the border has the rest.

    Parameters
    ----------
    now : Moment
    top : int
        Row of the picture where the band begins.
    of_a, of_b : (rows, W) float32, C-contiguous
        Written, 0..1.
    """
    if now.whole:
        of_a.fill(1.0 if now.whole < 0 else 0.0)
        of_b.fill(0.0 if now.whole < 0 else 1.0)
        return
    state, _ = band_weights(now, top, of_a, of_b)
    _spread(of_a, of_b, state, top)
