"""The wipe: A, B and the border laid together by their weights.

The weights near the boundary are `keyer.pixel.wipe_weights`'s; all other tiles
are wholly A or B.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from keyer.kinds.picture import Planes
from keyer.pixel.jit import kernel
from keyer.pixel.moment import TILE_HEIGHT, TILE_WIDTH, Moment, moment
from keyer.pixel.wipe_weights import band_weights

__all__ = ["Moment", "moment", "weigh_band", "wipe_band"]

Plane = NDArray[np.float32]
State = NDArray[np.int8]


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
