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
from keyer.pixel.wipe import border_fill
from keyer.pixel.wipe_weights import band_weights

Codes = NDArray[np.uint8]
Plane = NDArray[np.float32]
State = NDArray[np.int8]

_WHITE = np.float32(255.0)


@kernel
def _mixed(
    a: np.uint8, b: np.uint8, of_a: np.float32, of_b: np.float32, fill: np.float32
) -> np.int32:
    """Mix two codes, and the colour of the border in what they leave."""
    rest = (np.float32(1.0) - of_a - of_b) * fill * _WHITE
    code = of_a * np.float32(a) + of_b * np.float32(b) + rest + np.float32(0.5)
    code = code if code > np.float32(0.0) else np.float32(0.0)
    code = code if code < _WHITE else _WHITE
    return np.int32(code)


@kernel
def _mix_run(
    a: Codes,
    b: Codes,
    of_a: Plane,
    of_b: Plane,
    fill: np.float32,
    start: np.uint64,
    weight: np.uint64,
    size: int,
    out: Codes,
) -> None:
    """Lay a run of one plane's pixels together over a border of one colour.

    `start` is where it begins in the pictures, `weight` in the weights. They
    are unsigned, and the arrays are flat, since runs are short: to check an
    index for its sign, or to cut a slice, takes longer than to mix. So does a
    loop that is not known to have the width of a tile.
    """
    i, k = start, weight
    for _ in range(size // TILE_WIDTH):
        for c in range(TILE_WIDTH):
            n, m = i + np.uint64(c), k + np.uint64(c)
            out[n] = _mixed(a[n], b[n], of_a[m], of_b[m], fill)
        i, k = i + np.uint64(TILE_WIDTH), k + np.uint64(TILE_WIDTH)
    for c in range(size % TILE_WIDTH):
        n, m = i + np.uint64(c), k + np.uint64(c)
        out[n] = _mixed(a[n], b[n], of_a[m], of_b[m], fill)


@kernel
def _mix_run_ramped(
    a: Codes,
    b: Codes,
    of_a: Plane,
    of_b: Plane,
    fill: Plane,
    start: np.uint64,
    weight: np.uint64,
    size: int,
    out: Codes,
) -> None:
    """Lay a run of one plane's pixels together over a border that changes colour."""
    for c in range(size):
        n, m = start + np.uint64(c), weight + np.uint64(c)
        out[n] = _mixed(a[n], b[n], of_a[m], of_b[m], fill[m])


@kernel
def _copy_run(source: Codes, start: np.uint64, size: int, out: Codes) -> None:
    for c in range(size):
        out[start + np.uint64(c)] = source[start + np.uint64(c)]


@kernel
def _lay(
    a: Codes,
    b: Codes,
    fill: NDArray[np.float32],
    of_a: Plane,
    of_b: Plane,
    state: State,
    top: int,
    bottom: int,
    columns: int,
    out: Codes,
) -> None:
    """Lay a band together; the pictures are (3, H * W), the weights and the fill flat."""
    first = top // TILE_HEIGHT
    for i in range(state.shape[0]):
        begin = max((first + i) * TILE_HEIGHT, top)
        end = min((first + i + 1) * TILE_HEIGHT, bottom)
        j = 0
        while j < state.shape[1]:
            kind = state[i, j]
            left = j * TILE_WIDTH
            while j < state.shape[1] and state[i, j] == kind:
                j += 1
            size = min(j * TILE_WIDTH, columns) - left
            for plane in range(a.shape[0]):
                from_a, from_b, border, into = a[plane], b[plane], fill[plane], out[plane]
                for row in range(begin, end):
                    start = np.uint64(row * columns + left)
                    weight = np.uint64((row - top) * columns + left)
                    if kind < 0:
                        _copy_run(from_a, start, size, into)
                    elif kind > 0:
                        _copy_run(from_b, start, size, into)
                    elif border.size == 1:
                        _mix_run(from_a, from_b, of_a, of_b, border[0], start, weight, size, into)
                    else:
                        _mix_run_ramped(
                            from_a, from_b, of_a, of_b, border, start, weight, size, into
                        )


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
    width = a.shape[2]
    of_a, of_b = np.empty((2, bottom - top, width), np.float32)
    state, ramp = band_weights(now, top, of_a, of_b)
    fill = border_fill(now, ramp).reshape(3, -1)
    flat_a, flat_b, flat_out = a.reshape(3, -1), b.reshape(3, -1), out.reshape(3, -1)
    weights = of_a.reshape(-1), of_b.reshape(-1)
    _lay(flat_a, flat_b, fill, *weights, state, top, bottom, width, flat_out)
