"""The wipe: A, B and the border laid together by their weights.

The weights near the boundary are `keyer.pixel.wipes.wipe_weights`'s; all other tiles
are wholly A or B.
"""

from __future__ import annotations

import numpy as np

from keyer.kinds.arrays import Plane, Planes
from keyer.pixel.kernels.jit import kernel
from keyer.pixel.wipes.blocks import INSIDE, TILE, Index
from keyer.pixel.wipes.wipe_state import WipeState, wipe_state
from keyer.pixel.wipes.wipe_weights import PIXELS, band_weights

__all__ = ["WipeState", "weigh_band", "wipe_band", "wipe_state"]

_NONE = np.empty((0, 0, 0), np.float32)


@kernel
def _copy(b: Planes, number: Index, top: int, out: Planes) -> None:
    """Copy the tiles that are wholly B."""
    rows, columns = out.shape[1:]
    for i in range(number.shape[0]):
        begin = max((top // TILE + i) * TILE - top, 0)
        end = min((top // TILE + i + 1) * TILE - top, rows)
        j = 0
        while j < number.shape[1]:
            left, kind = j * TILE, number[i, j]
            j += 1
            if kind != INSIDE:
                continue
            while j < number.shape[1] and number[i, j] == INSIDE:
                j += 1
            for plane in range(out.shape[0]):
                for r in range(begin, end):
                    for c in range(left, min(j * TILE, columns)):
                        out[plane, r, c] = b[plane, r, c]


@kernel
def _blend(
    b: Planes,
    fill: Plane,
    third: Planes,
    of_a: Plane,
    of_b: Plane,
    places: Index,
    across: int,
    top: int,
    out: Planes,
) -> None:
    """Lay A (in `out`), B and the border together in the tiles near the boundary.

    The border is `third` if there is one, else `fill`: a value a plane, or one
    a pixel in the order of the weights.
    """
    rows, columns = out.shape[1:]
    for n in range(places.size):
        row, left = top // TILE + places[n] // across, places[n] % across * TILE
        begin, end = max(row * TILE - top, 0), min((row + 1) * TILE - top, rows)
        for plane in range(out.shape[0]):
            for r in range(begin, end):
                for c in range(left, min(left + TILE, columns)):
                    p = (r - begin) * TILE + c - left
                    if third.size > 0:
                        edge = third[plane, r, c]
                    elif fill.shape[1] > 1:
                        edge = fill[plane, n * PIXELS + p]
                    else:
                        edge = fill[plane, 0]
                    rest = np.float32(1.0) - of_a[n, p] - of_b[n, p]
                    seen = of_a[n, p] * out[plane, r, c] + of_b[n, p] * b[plane, r, c]
                    out[plane, r, c] = seen + rest * edge


@kernel
def _spread(
    runs: Plane, inside: np.float32, outside: np.float32, number: Index, top: int, out: Plane
) -> None:
    """Lay the tiles' runs of pixels out in rows; tiles without one get a value."""
    rows, columns = out.shape
    for r in range(rows):
        i = (top + r) // TILE - top // TILE
        line = r + top % TILE - i * TILE if i > 0 else r
        for j in range(number.shape[1]):
            n, left = number[i, j], j * TILE
            for c in range(min(TILE, columns - left)):
                if n >= 0:
                    out[r, left + c] = runs[n, line * TILE + c]
                else:
                    out[r, left + c] = inside if n == INSIDE else outside


def border_fill(now: WipeState, ramp: Plane) -> Planes:
    """Colour of the border at every pixel, or the one that it has everywhere.

    Parameters
    ----------
    now : WipeState
    ramp : float32, two-dimensional
        Way across the border, or empty.

    Returns
    -------
    (3, *shape of ramp) or (3, 1, 1) float32
    """
    near, far = np.asarray(now.colours, np.float32)[:, :, np.newaxis, np.newaxis]
    fill: Planes = near + (far - near) * ramp if ramp.size else near
    return fill


def wipe_band(a: Planes, b: Planes, now: WipeState, top: int, border: Planes | None = None) -> None:
    """Wipe a band from A to B, in place.

    Parameters
    ----------
    a, b : (3, rows, W) float32, C-contiguous
        `a` becomes the result.
    now : WipeState
    top : int
        Row of the picture where the band begins.
    border : (3, rows, W) float32, optional
        A third source that fills the border instead of its colours.
    """
    if now.whole:
        if now.whole > 0:
            np.copyto(a, b)
        return
    found = band_weights(now, top, top + a.shape[1])
    fill = border_fill(now, found.ramp).reshape(3, -1)
    third = _NONE if border is None else border
    _copy(b, found.number, top, a)
    across = found.number.shape[1]
    _blend(b, fill, third, found.of_a, found.of_b, found.places, across, top, a)


def weigh_band(now: WipeState, top: int, of_a: Plane, of_b: Plane) -> Plane:
    """Write the weights of A and B of a band; the border has the rest.

    Parameters
    ----------
    now : WipeState
    top : int
        Row of the picture where the band begins.
    of_a, of_b : (rows, W) float32, C-contiguous
        Written, 0..1.

    Returns
    -------
    (rows, W) float32
        Way across a border whose two sides differ in colour; else empty.
    """
    ramp = np.empty((0, 0), np.float32)
    if now.whole:
        of_a.fill(1.0 if now.whole < 0 else 0.0)
        of_b.fill(0.0 if now.whole < 0 else 1.0)
        return ramp
    found = band_weights(now, top, top + of_a.shape[0])
    none, all_ = np.float32(0.0), np.float32(1.0)
    _spread(found.of_a, none, all_, found.number, top, of_a)
    _spread(found.of_b, all_, none, found.number, top, of_b)
    if found.ramp.size:
        ramp = np.empty_like(of_a)
        _spread(found.ramp, none, none, found.number, top, ramp)
    return ramp
