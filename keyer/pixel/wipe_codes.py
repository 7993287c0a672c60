"""The wipe at playback speed: 8-bit codes in, 8-bit codes out.

What `keyer.pixel.wipe` does, for the frame that is asked for most: where a tile
is wholly A or B its codes are copied as they are, and only the tiles near the
boundary are worked out.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from keyer.pixel.jit import kernel
from keyer.pixel.moment import TILE_HEIGHT, TILE_WIDTH, Moment
from keyer.pixel.wipe import band_weights, border_fill

Codes = NDArray[np.uint8]
Plane = NDArray[np.float32]
State = NDArray[np.int8]

_WHITE = np.float32(255.0)


@kernel
def _held(code: np.float32) -> np.int32:
    code = code if code > np.float32(0.0) else np.float32(0.0)
    code = code if code < _WHITE else _WHITE
    return np.int32(code)


@kernel
def _mix_row(a: Codes, b: Codes, of_a: Plane, of_b: Plane, fill: np.float32, out: Codes) -> None:
    """Lay a part of a row of one plane together over a border of one colour."""
    white = fill * _WHITE
    for c in range(out.size):
        rest = (np.float32(1.0) - of_a[c] - of_b[c]) * white
        out[c] = _held(
            of_a[c] * np.float32(a[c]) + of_b[c] * np.float32(b[c]) + rest + np.float32(0.5)
        )


@kernel
def _mix_row_ramped(a: Codes, b: Codes, of_a: Plane, of_b: Plane, fill: Plane, out: Codes) -> None:
    """Lay a part of a row of one plane together over a border that changes colour."""
    for c in range(out.size):
        rest = (np.float32(1.0) - of_a[c] - of_b[c]) * fill[c] * _WHITE
        out[c] = _held(
            of_a[c] * np.float32(a[c]) + of_b[c] * np.float32(b[c]) + rest + np.float32(0.5)
        )


@kernel
def _copy_row(source: Codes, out: Codes) -> None:
    for c in range(out.size):
        out[c] = source[c]


@kernel
def _lay(
    a: Codes,
    b: Codes,
    fill: NDArray[np.float32],
    of_a: Plane,
    of_b: Plane,
    state: State,
    top: int,
    out: Codes,
) -> None:
    rows, columns = of_a.shape
    first = top // TILE_HEIGHT
    for i in range(state.shape[0]):
        begin = max((first + i) * TILE_HEIGHT, top)
        end = min((first + i + 1) * TILE_HEIGHT, top + rows)
        j = 0
        while j < state.shape[1]:
            kind = state[i, j]
            left = j * TILE_WIDTH
            while j < state.shape[1] and state[i, j] == kind:
                j += 1
            right = min(j * TILE_WIDTH, columns)
            for plane in range(a.shape[0]):
                for row in range(begin, end):
                    into = out[plane, row, left:right]
                    from_a, from_b = a[plane, row, left:right], b[plane, row, left:right]
                    if kind < 0:
                        _copy_row(from_a, into)
                        continue
                    if kind > 0:
                        _copy_row(from_b, into)
                        continue
                    weight_a = of_a[row - top, left:right]
                    weight_b = of_b[row - top, left:right]
                    if fill.shape[2] == 1:
                        _mix_row(from_a, from_b, weight_a, weight_b, fill[plane, 0, 0], into)
                    else:
                        line = fill[plane, row - top, left:right]
                        _mix_row_ramped(from_a, from_b, weight_a, weight_b, line, into)


def wipe_codes(a: Codes, b: Codes, now: Moment, top: int, bottom: int, out: Codes) -> None:
    """Wipe rows of one 8-bit picture to another.

    Parameters
    ----------
    a, b : (3, H, W) uint8, C-contiguous
    now : Moment
    top, bottom : int
        First row and the row after the last.
    out : (3, H, W) uint8, C-contiguous
    """
    if now.whole:
        source = b if now.whole > 0 else a
        out[:, top:bottom] = source[:, top:bottom]
        return
    of_a, of_b = np.empty((2, bottom - top, a.shape[2]), np.float32)
    state, ramp = band_weights(now, top, of_a, of_b)
    _lay(a, b, border_fill(now, ramp), of_a, of_b, state, top, out)
