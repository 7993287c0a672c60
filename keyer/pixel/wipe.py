"""The wipe: how much of A, of B and of the border each pixel shows.

Once a frame the boundary is found (`keyer.pixel.contour`) and its segments are
dealt out to tiles of the picture. A pixel near it gets its exact distance to
the nearest segment, positive inside B; all others are wholly A or B. So edges
and borders are equally wide along every normal, at corners, hubs and tips too.

The distance is shifted by the edge's half extent, from minus at the start to
plus at the end, so that at 0 there is only A and at 1 only B.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from keyer.kinds.field import Field
from keyer.kinds.picture import Planes
from keyer.kinds.settings import Edge, Rgb
from keyer.pixel.contour import boundary
from keyer.pixel.jit import kernel

TILE_WIDTH = 32
TILE_HEIGHT = 16

HANDS_LEAD = 0.125
"""Share of the progress in which the edge of a turning hand comes in, and goes out."""

Plane = NDArray[np.float32]
Index = NDArray[np.int32]


@dataclass(frozen=True, eq=False)
class Moment:
    """A wipe at one progress, ready for its bands. All lengths in rows.

    Attributes
    ----------
    field : Field
    values : float32
        The field's values, modulated if it is.
    level : float
        Progress that the values are compared with.
    segments : (N, 4) float32
        The boundary: x0, y0, x1, y1.
    first, dealt : int32
        Tile t is near segments `dealt[first[t]:first[t + 1]]`.
    shift : float
        Added to the distance.
    border : float
        Width of the border, 0 for none.
    soft : float
        Width of each ramp.
    colours : tuple of two R'G'B'
        Of the border, on A's side and on B's.
    whole : {-1, 0, 1}
        The picture is wholly A (-1), wholly B (1) or neither (0).
    """

    field: Field
    values: Plane
    level: float
    segments: Plane
    first: Index
    dealt: Index
    shift: float
    border: float
    soft: float
    colours: tuple[Rgb, Rgb]
    whole: int


@kernel
def _away(x: np.float32, y: np.float32, segment: Plane) -> np.float32:
    """Distance from a point to a segment."""
    dx, dy = segment[2] - segment[0], segment[3] - segment[1]
    ex, ey = x - segment[0], y - segment[1]
    square = dx * dx + dy * dy
    part = (ex * dx + ey * dy) / square if square > 0 else np.float32(0.0)
    part = min(max(part, np.float32(0.0)), np.float32(1.0))
    ex, ey = ex - part * dx, ey - part * dy
    return np.sqrt(ex * ex + ey * ey)


@kernel
def _deal(
    segments: Plane,
    extent: np.float32,
    aspect: np.float32,
    across: int,
    down: int,
    count: Index,
    dealt: Index,
    write: bool,
) -> None:
    """Count the segments near each tile, or write their numbers."""
    tile_width = np.float32(TILE_WIDTH) * aspect
    half_x = np.float32(TILE_WIDTH - 1) * aspect / 2
    half_y = np.float32(TILE_HEIGHT - 1) / 2
    near = extent + np.sqrt(half_x * half_x + half_y * half_y)
    for s in range(segments.shape[0]):
        x0, x1 = min(segments[s, 0], segments[s, 2]), max(segments[s, 0], segments[s, 2])
        y0, y1 = min(segments[s, 1], segments[s, 3]), max(segments[s, 1], segments[s, 3])
        left = max(int(np.floor((x0 - near - half_x) / tile_width)), 0)
        right = min(int(np.floor((x1 + near - half_x) / tile_width)) + 1, across)
        top = max(int(np.floor((y0 - near - half_y) / TILE_HEIGHT)), 0)
        bottom = min(int(np.floor((y1 + near - half_y) / TILE_HEIGHT)) + 1, down)
        for i in range(top, bottom):
            y = np.float32(i * TILE_HEIGHT) + half_y
            for j in range(left, right):
                x = np.float32(j) * tile_width + half_x
                if _away(x, y, segments[s]) <= near:
                    tile = i * across + j
                    if write:
                        dealt[count[tile]] = s
                    count[tile] += 1


def _tiles(geometry_width: int, geometry_height: int) -> tuple[int, int]:
    return -(-geometry_width // TILE_WIDTH), -(-geometry_height // TILE_HEIGHT)


def _lead(progress: float, *, turns: bool) -> float:
    """Shift of the edge over its half extent, -1..1.

    A travelling edge takes it evenly. A hand shall stand where the clock says,
    so it takes it at the start and at the end.
    """
    if not turns:
        return 2.0 * progress - 1.0
    return min(progress / HANDS_LEAD, 1.0) - 1.0 + max((progress - 1.0) / HANDS_LEAD + 1.0, 0.0)


def moment(field: Field, edge: Edge, progress: float, seconds: float = 0.0) -> Moment:
    """Prepare a wipe for one frame.

    Parameters
    ----------
    field : Field
    edge : Edge
    progress : float
        0..1 of the effect; the modifiers' start and end are applied here.
    seconds : float
        Time since the effect began, for a modulation that moves.

    Returns
    -------
    Moment
    """
    level = field.modifiers.progress(progress)
    geometry = field.geometry
    rows = geometry.height / 100
    finest = max(1.0, geometry.pixel_aspect)
    border = edge.border * rows
    soft = max((max(edge.soft, edge.border_soft) if border else edge.soft) * rows, finest)
    half = (border + soft) / 2
    shift = half * _lead(level, turns=field.turns)
    colours = (edge.border_colour, edge.border_colour)
    across, down = _tiles(geometry.width, geometry.height)
    if not 0.0 < level < 1.0:
        empty = np.empty((0, 4), np.float32)
        none = np.zeros(across * down + 1, np.int32)
        whole = -1 if level <= 0.0 else 1
        return Moment(
            field, field.values, level, empty, none, none[:0], shift, border, soft, colours, whole
        )
    values = field.values
    segments = boundary(values, field, level, field.low, field.high)
    extent = np.float32(half + abs(shift))
    aspect = np.float32(geometry.pixel_aspect)
    count = np.zeros(across * down, np.int32)
    none = np.empty(0, np.int32)
    _deal(segments, extent, aspect, across, down, count, none, False)
    first = np.zeros(across * down + 1, np.int32)
    np.cumsum(count, out=first[1:])
    dealt = np.empty(int(first[-1]), np.int32)
    _deal(segments, extent, aspect, across, down, first[:-1].copy(), dealt, True)
    return Moment(field, values, level, segments, first, dealt, shift, border, soft, colours, 0)


@kernel
def _nearest(
    segments: Plane,
    near: Index,
    x: np.float32,
    y: np.float32,
    aspect: np.float32,
    half: np.float32,
    squares: Plane,
) -> None:
    """Write the squared distance of a tile's pixels to the nearest of its segments."""
    rows, columns = squares.shape
    best = np.float32(1e30)
    middle_x = x + np.float32(columns - 1) * aspect / 2
    middle_y = y + np.float32(rows - 1) / 2
    for n in range(near.size):
        best = min(best, _away(middle_x, middle_y, segments[near[n]]))
    for r in range(rows):
        for c in range(columns):
            squares[r, c] = np.float32(1e30)
    for n in range(near.size):
        segment = segments[near[n]]
        if _away(middle_x, middle_y, segment) > best + 2 * half:
            continue
        dx, dy = segment[2] - segment[0], segment[3] - segment[1]
        square = dx * dx + dy * dy
        scale = np.float32(1.0) / square if square > 0 else np.float32(0.0)
        ux, uy = dx * scale, dy * scale
        for r in range(rows):
            ey = y + np.float32(r) - segment[1]
            line = squares[r]
            base = ey * uy
            left = x - segment[0]
            for c in range(columns):
                ex = left + np.float32(c) * aspect
                part = ex * ux + base
                part = part if part > np.float32(0.0) else np.float32(0.0)
                part = part if part < np.float32(1.0) else np.float32(1.0)
                fx = ex - part * dx
                fy = ey - part * dy
                away = fx * fx + fy * fy
                line[c] = away if away < line[c] else line[c]


@kernel
def _weigh(
    values: Plane,
    level: np.float32,
    squares: Plane,
    shift: np.float32,
    border: np.float32,
    soft: np.float32,
    of_a: Plane,
    of_b: Plane,
) -> None:
    """Weights of A and B of a tile from its squared distances."""
    rows, columns = squares.shape
    slope = np.float32(1.0) / soft
    offset = np.float32(0.5) - np.float32(0.5) * border * slope
    for r in range(rows):
        inside = values[r]
        line = squares[r]
        a, b = of_a[r], of_b[r]
        for c in range(columns):
            away = np.sqrt(line[c])
            away = (away if inside[c] < level else -away) + shift
            weight = away * slope + offset
            weight = weight if weight > np.float32(0.0) else np.float32(0.0)
            b[c] = weight if weight < np.float32(1.0) else np.float32(1.0)
            weight = offset - away * slope
            weight = weight if weight > np.float32(0.0) else np.float32(0.0)
            a[c] = weight if weight < np.float32(1.0) else np.float32(1.0)


@kernel
def _weights(
    values: Plane,
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
    state: NDArray[np.int8],
) -> None:
    """Weights of a band; `state` of each of its tiles: -1 all A, 1 all B, 0 computed."""
    rows, columns = of_a.shape
    across = state.shape[1]
    squares = np.empty((TILE_HEIGHT, TILE_WIDTH), np.float32)
    half_x = np.float32(TILE_WIDTH - 1) * aspect / 2
    half_y = np.float32(TILE_HEIGHT - 1) / 2
    half = np.sqrt(half_x * half_x + half_y * half_y)
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
                state[i, j] = 1 if values[begin, left] < level else -1
                continue
            state[i, j] = 0
            part = squares[: end - begin, : right - left]
            x, y = np.float32(left) * aspect, np.float32(begin)
            _nearest(segments, near, x, y, aspect, half, part)
            _weigh(
                values[begin:end, left:right],
                level,
                part,
                shift,
                border,
                soft,
                of_a[begin - top : end - top, left:right],
                of_b[begin - top : end - top, left:right],
            )


@kernel
def _blend(
    a: Planes, b: Planes, third: Planes, of_a: Plane, of_b: Plane, state: NDArray[np.int8], top: int
) -> None:
    """Lay A, B and the border together by their weights, in A."""
    rows, columns = of_a.shape
    first_row = top // TILE_HEIGHT
    for i in range(state.shape[0]):
        begin = max((first_row + i) * TILE_HEIGHT - top, 0)
        end = min((first_row + i + 1) * TILE_HEIGHT - top, rows)
        for j in range(state.shape[1]):
            if state[i, j] < 0:
                continue
            left = j * TILE_WIDTH
            right = min(left + TILE_WIDTH, columns)
            for plane in range(a.shape[0]):
                for r in range(begin, end):
                    into = a[plane, r, left:right]
                    other = b[plane, r, left:right]
                    if state[i, j] > 0:
                        for c in range(into.size):
                            into[c] = other[c]
                        continue
                    share_a = of_a[r, left:right]
                    share_b = of_b[r, left:right]
                    rest = third[plane, min(r, third.shape[1] - 1)]
                    if third.shape[2] == 1:
                        fill = rest[0]
                        for c in range(into.size):
                            edge = np.float32(1.0) - share_a[c] - share_b[c]
                            into[c] = share_a[c] * into[c] + share_b[c] * other[c] + edge * fill
                    else:
                        edges = rest[left:right]
                        for c in range(into.size):
                            edge = np.float32(1.0) - share_a[c] - share_b[c]
                            into[c] = share_a[c] * into[c] + share_b[c] * other[c] + edge * edges[c]


def _band_weights(now: Moment, top: int, of_a: Plane, of_b: Plane) -> NDArray[np.int8]:
    """Write the weights of the tiles near the boundary; return the state of each tile."""
    field = now.field
    across, _ = _tiles(field.geometry.width, field.geometry.height)
    last = (top + of_a.shape[0] - 1) // TILE_HEIGHT
    state = np.empty((last - top // TILE_HEIGHT + 1, across), np.int8)
    height, width = field.geometry.height, field.geometry.width
    y, x = field.margin_y, field.margin_x
    _weights(
        now.values[y : y + height, x : x + width],
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
        state,
    )
    return state


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
        A third source that fills the border instead of its colour.
    """
    if now.whole:
        if now.whole > 0:
            np.copyto(a, b)
        return
    of_a, of_b = np.empty(a.shape[1:], np.float32), np.empty(a.shape[1:], np.float32)
    state = _band_weights(now, top, of_a, of_b)
    third = border
    if third is None:
        third = np.float32(now.colours[0]).reshape(3, 1, 1)
    _blend(a, b, third, of_a, of_b, state, top)


@kernel
def _spread(of_a: Plane, of_b: Plane, state: NDArray[np.int8], top: int) -> None:
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
    state = _band_weights(now, top, of_a, of_b)
    _spread(of_a, of_b, state, top)
