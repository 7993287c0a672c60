"""How much of A and of B the pixels near a wipe's boundary show.

A pixel near the boundary gets its exact distance to the nearest segment of it,
positive inside B; a tile that is far from it is wholly A or B. So edges and
borders are equally wide along every normal, at corners, hubs and tips too.

The weights of a tile lie together as one run of pixels: short rows far apart in
memory take longer to reach than to work out.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np

from keyer.kinds.arrays import Plane, Planes
from keyer.pixel.kernels.jit import kernel
from keyer.pixel.kernels.scratch import buffer
from keyer.pixel.wipes.blocks import BLOCK, INSIDE, OUTSIDE, TILE, Index, Samples
from keyer.pixel.wipes.wipe_state import WipeState, away, tiles

PIXELS = TILE * TILE
"""Of a tile."""


class Weights(NamedTuple):
    """Weights of A and B in a band; the border has the rest.

    Attributes
    ----------
    number : (tile rows, tiles across) int32
        Of each tile that the band touches: which weights are its own, or
        `INSIDE` where it is wholly B, `OUTSIDE` where it is wholly A.
    places : (N,) int32
        Where each number stands in it, counted along its rows.
    of_a, of_b : (N, 256) float32
        The tile's pixels row by row, from its first row in the band.
    ramp : (N, 256) float32
        Way across a border whose two sides differ in colour; else empty.
    """

    number: Index
    places: Index
    of_a: Plane
    of_b: Plane
    ramp: Plane


class _Near(NamedTuple):
    """A field near the boundary, for the kernels: `Blocks`, the level, and the field's margins."""

    number: Index
    samples: Samples
    level: np.float32
    margin_x: int
    margin_y: int


@kernel
def _tell_sides(near: _Near, top: int, tile: Index) -> None:
    """Tell of each tile on which side its first pixel in the band lies."""
    number, samples, level, margin_x, margin_y = near
    for i in range(tile.shape[0]):
        row = max((top // TILE + i) * TILE, top) + margin_y
        for j in range(tile.shape[1]):
            column = j * TILE + margin_x
            n = number[row // BLOCK, column // BLOCK]
            inside = n == INSIDE
            if n >= 0:
                inside = samples[n, row % BLOCK, column % BLOCK] < level
            tile[i, j] = INSIDE if inside else OUTSIDE


@kernel
def _plan(
    segments: Plane,
    first: Index,
    dealt: Index,
    aspect: np.float32,
    edge: np.float32,
    shift: np.float32,
    top: int,
    bottom: int,
    columns: int,
    tile: Index,
    places: Index,
    ends: Index,
    kept: Index,
    whole: Index,
) -> int:
    """Give numbers to the tiles near the boundary, and keep the segments that each may be nearest.

    Those of tile n end at `ends[n]`; `whole[n]` is `INSIDE` or `OUTSIDE` where
    the boundary does not cross it, else 0. Returns how many have a number.
    """
    count, total = 0, 0
    across = tile.shape[1]
    for place in range(tile.size):
        i, j = place // across, place % across
        row = top // TILE + i
        begin, end = max(row * TILE, top), min(row * TILE + TILE, bottom)
        half_x = np.float32(min(TILE, columns - j * TILE) - 1) * aspect / 2
        half_y = np.float32(end - begin - 1) / 2
        half = np.sqrt(half_x * half_x + half_y * half_y)
        x, y = np.float32(j * TILE) * aspect + half_x, np.float32(begin) + half_y
        near, until = first[row * across + j], first[row * across + j + 1]
        best = np.float32(1e30)
        for k in range(near, until):
            s = dealt[k]
            x0, y0, x1, y1 = segments[s, 0], segments[s, 1], segments[s, 2], segments[s, 3]
            best = min(best, away(x, y, x0, y0, x1, y1))
        reach = edge - shift if tile[i, j] == INSIDE else edge + shift
        if best - half > max(reach, np.float32(0.0)):
            continue
        for k in range(near, until):
            s = dealt[k]
            x0, y0, x1, y1 = segments[s, 0], segments[s, 1], segments[s, 2], segments[s, 3]
            # else some other segment is nearer to every place in the tile
            if away(x, y, x0, y0, x1, y1) <= best + 2 * half:
                kept[total] = s
                total += 1
        whole[count] = tile[i, j] if best > half else 0
        tile[i, j], places[count], ends[count] = count, place, total
        count += 1
    return count


@kernel
def _draw_sides(
    near: _Near,
    top: int,
    bottom: int,
    across: int,
    places: Index,
    whole: Index,
    sides: Plane,
) -> None:
    """Write 1 where a pixel of a numbered tile lies inside B, else -1."""
    number, samples, level, margin_x, margin_y = near
    for n in range(places.size):
        if whole[n] != 0:
            side = np.float32(1.0) if whole[n] == INSIDE else np.float32(-1.0)
            for p in range(PIXELS):
                sides[n, p] = side
            continue
        row = top // TILE + places[n] // across
        begin, end = max(row * TILE, top), min(row * TILE + TILE, bottom)
        for r in range(end - begin):
            down = begin + r + margin_y
            for half in range(2):
                right = (places[n] % across * 2 + half) * BLOCK + margin_x
                block, k = number[down // BLOCK, right // BLOCK], r * TILE + half * BLOCK
                if block < 0:
                    side = np.float32(1.0) if block == INSIDE else np.float32(-1.0)
                    for c in range(BLOCK):
                        sides[n, k + c] = side
                else:
                    line = down % BLOCK
                    for c in range(BLOCK):
                        inside = samples[block, line, c] < level
                        sides[n, k + c] = np.float32(1.0) if inside else np.float32(-1.0)


@kernel
def _square_away(
    ex: np.float32,
    ey: np.float32,
    dx: np.float32,
    dy: np.float32,
    ux: np.float32,
    uy: np.float32,
) -> np.float32:
    """Squared distance from (ex, ey) to a segment from the origin to (dx, dy)."""
    part = ex * ux + ey * uy
    part = part if part > np.float32(0.0) else np.float32(0.0)
    part = part if part < np.float32(1.0) else np.float32(1.0)
    fx, fy = ex - part * dx, ey - part * dy
    return fx * fx + fy * fy


@kernel
def _measure(
    segments: Plane,
    aspect: np.float32,
    top: int,
    across: int,
    places: Index,
    ends: Index,
    kept: Index,
    shift: np.float32,
    distances: Plane,
) -> None:
    """Turn the sides of the tiles' pixels into signed, shifted distances to the boundary."""
    step_x, step_y = np.empty(PIXELS, np.float32), np.empty(PIXELS, np.float32)
    for p in range(PIXELS):
        step_x[p], step_y[p] = np.float32(p % TILE) * aspect, np.float32(p // TILE)
    runs = np.empty((2, PIXELS), np.float32)
    for n in range(places.size):
        x = np.float32(places[n] % across * TILE) * aspect
        y = np.float32(max((top // TILE + places[n] // across) * TILE, top))
        begin = ends[n - 1] if n > 0 else 0
        for p in range(PIXELS):
            runs[0, p] = np.float32(1e30)
        run = 0
        for k in range(begin, ends[n]):
            s = kept[k]
            dx, dy = segments[s, 2] - segments[s, 0], segments[s, 3] - segments[s, 1]
            square = dx * dx + dy * dy
            scale = np.float32(1.0) / square if square > 0 else np.float32(0.0)
            ux, uy = dx * scale, dy * scale
            ex, ey = x - segments[s, 0], y - segments[s, 1]
            for p in range(PIXELS):
                found = _square_away(ex + step_x[p], ey + step_y[p], dx, dy, ux, uy)
                # never back into the same place: that compiles to masked stores, far slower
                runs[1 - run, p] = found if found < runs[run, p] else runs[run, p]
            run = 1 - run
        for p in range(PIXELS):
            distances[n, p] = distances[n, p] * np.sqrt(runs[run, p]) + shift


@kernel
def _weigh(
    distances: Plane,
    slope: np.float32,
    offset: np.float32,
    of_a: Plane,
    of_b: Plane,
) -> None:
    """Weights of A and B at distances."""
    for i in range(distances.size):
        weight = offset + distances[i] * slope
        weight = weight if weight > np.float32(0.0) else np.float32(0.0)
        of_b[i] = weight if weight < np.float32(1.0) else np.float32(1.0)
        weight = offset - distances[i] * slope
        weight = weight if weight > np.float32(0.0) else np.float32(0.0)
        of_a[i] = weight if weight < np.float32(1.0) else np.float32(1.0)


@kernel
def _weights(
    near: _Near,
    segments: Plane,
    first: Index,
    dealt: Index,
    aspect: np.float32,
    border: np.float32,
    soft: np.float32,
    shift: np.float32,
    top: int,
    bottom: int,
    columns: int,
    tile: Index,
    room: Planes,
) -> Index:
    """Work a band out; places are returned, distances and weights of A and B put in `room`."""
    across = tile.shape[1]
    begin, end = top // TILE * across, (top // TILE + tile.shape[0]) * across
    kept = np.empty(first[end] - first[begin], np.int32)
    places, ends = np.empty(tile.size, np.int32), np.empty(tile.size, np.int32)
    whole = np.empty(tile.size, np.int32)
    _tell_sides(near, top, tile)
    edge = (border + soft) / 2
    reach = segments, first, dealt, aspect, edge, shift
    count = _plan(*reach, top, bottom, columns, tile, places, ends, kept, whole)
    places, ends = places[:count], ends[:count]
    distances, of_a, of_b = room[0, :count], room[1, :count], room[2, :count]
    _draw_sides(near, top, bottom, across, places, whole, distances)
    _measure(segments, aspect, top, across, places, ends, kept, shift, distances)
    slope = np.float32(1.0) / soft
    offset = np.float32(0.5) - np.float32(0.5) * border * slope
    _weigh(distances.reshape(-1), slope, offset, of_a.reshape(-1), of_b.reshape(-1))
    return places


def band_weights(now: WipeState, top: int, bottom: int) -> Weights:
    """Weights of the tiles near the boundary.

    Parameters
    ----------
    now : WipeState
        Not wholly A or B.
    top, bottom : int
        Rows of the picture, the last excluded.

    Returns
    -------
    Weights
        Until this thread asks for the next.
    """
    field = now.field
    number = np.empty((-(-bottom // TILE) - top // TILE, tiles(field)[0]), np.int32)
    room = buffer("tiles", 3, number.size, PIXELS)
    places = _weights(
        _Near(
            now.blocks.number,
            now.blocks.samples,
            np.float32(now.level),
            field.margin_x,
            field.margin_y,
        ),
        now.segments,
        now.first,
        now.dealt,
        np.float32(field.geometry.pixel_aspect),
        np.float32(now.border),
        np.float32(now.soft),
        np.float32(now.shift),
        top,
        bottom,
        field.geometry.width,
        number,
        room,
    )
    distances, of_a, of_b = room[:, : places.size]
    ramp = distances[:0]
    if now.border > 0 and now.colours[0] != now.colours[1]:
        ramp = np.clip(distances / np.float32(now.border) + np.float32(0.5), 0, 1)
    return Weights(number, places, of_a, of_b, ramp)
