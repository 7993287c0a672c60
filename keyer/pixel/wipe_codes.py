"""The wipe at playback speed: 8-bit codes in, 8-bit codes out.

What `keyer.pixel.wipe` does, for the frame that is asked for most: where a tile
is wholly A or B its codes are copied as they are, and only the tiles near the
boundary are worked out.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from keyer.pixel.blocks import INSIDE, TILE, Index, Plane
from keyer.pixel.jit import kernel
from keyer.pixel.moment import Moment
from keyer.pixel.wipe import border_fill
from keyer.pixel.wipe_weights import PIXELS, band_weights

Codes = NDArray[np.uint8]

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
def _copy(
    a: Codes, b: Codes, number: Index, top: int, bottom: int, columns: int, out: Codes
) -> None:
    """Copy the tiles that are wholly A or B; the planes are (3, H * W)."""
    for i in range(number.shape[0]):
        begin = max((top // TILE + i) * TILE, top)
        end = min((top // TILE + i + 1) * TILE, bottom)
        j = 0
        while j < number.shape[1]:
            kind, left = number[i, j], j * TILE
            while j < number.shape[1] and number[i, j] == kind:
                j += 1
            if kind >= 0:
                continue
            size = min(j * TILE, columns) - left
            for plane in range(out.shape[0]):
                for row in range(begin, end):
                    start = np.uint64(row * columns + left)
                    for c in range(size):
                        k = start + np.uint64(c)
                        out[plane, k] = b[plane, k] if kind == INSIDE else a[plane, k]


@kernel
def _mix(
    a: Codes,
    b: Codes,
    fill: Plane,
    of_a: Plane,
    of_b: Plane,
    places: Index,
    across: int,
    top: int,
    bottom: int,
    columns: int,
    out: Codes,
) -> None:
    """Lay A, B and the border together in the tiles near the boundary.

    The planes are (3, H * W), the weights flat. Indices are unsigned: rows of a
    tile are short, and to check each for its sign takes longer than to mix. So
    does a loop that is not known to have the width of a tile.
    """
    for n in range(places.size):
        row, left = top // TILE + places[n] // across, places[n] % across * TILE
        begin, end = max(row * TILE, top), min((row + 1) * TILE, bottom)
        wide = min(TILE, columns - left)
        for plane in range(out.shape[0]):
            for r in range(end - begin):
                start = np.uint64((begin + r) * columns + left)
                weight = np.uint64(n * PIXELS + r * TILE)
                if wide == TILE and fill.shape[1] == 1:
                    for c in range(TILE):
                        k, w = start + np.uint64(c), weight + np.uint64(c)
                        code_a, code_b = a[plane, k], b[plane, k]
                        out[plane, k] = _mixed(code_a, code_b, of_a[w], of_b[w], fill[plane, 0])
                else:
                    for c in range(wide):
                        k, w = start + np.uint64(c), weight + np.uint64(c)
                        edge = fill[plane, w] if fill.shape[1] > 1 else fill[plane, 0]
                        code_a, code_b = a[plane, k], b[plane, k]
                        out[plane, k] = _mixed(code_a, code_b, of_a[w], of_b[w], edge)


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
    found = band_weights(now, top, bottom)
    fill = border_fill(now, found.ramp).reshape(3, -1)
    flat_a, flat_b, flat_out = a.reshape(3, -1), b.reshape(3, -1), out.reshape(3, -1)
    _copy(flat_a, flat_b, found.number, top, bottom, width, flat_out)
    weights = found.of_a.reshape(-1), found.of_b.reshape(-1)
    across = found.number.shape[1]
    _mix(flat_a, flat_b, fill, *weights, found.places, across, top, bottom, width, flat_out)
