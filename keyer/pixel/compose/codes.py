"""Codes to codes in one pass: what is asked for most, for 8-bit pictures.

The same steps as `keyer.pixel.compose.mix`, `keyer.pixel.keys.fast`, `keyer.pixel.compose.over` and
`keyer.pixel.wipes.wipe`, between the conversions of `keyer.pixel.colour.load`; a pixel goes
through all of them while it is in the processor's registers, and no float plane
is ever stored. A wipe copies the tiles that are wholly A or B.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from keyer.kinds.arrays import Plane
from keyer.kinds.picture import Matrix
from keyer.kinds.settings import KeySettings
from keyer.pixel.kernels.jit import kernel, kernel_beside
from keyer.pixel.keys.fast import Constants, constants, matte_at, signal_at, subject_at
from keyer.pixel.wipes.blocks import INSIDE, TILE, Index
from keyer.pixel.wipes.wipe import border_fill
from keyer.pixel.wipes.wipe_state import WipeState
from keyer.pixel.wipes.wipe_weights import PIXELS, band_weights

Codes = NDArray[np.uint8]

_WHITE = np.float32(255.0)


@kernel
def _code(value: np.float32) -> np.int32:
    """Round half up and clamp a value in codes; NaN becomes 0."""
    code = value + np.float32(0.5)
    code = code if code > np.float32(0.0) else np.float32(0.0)
    return np.int32(code if code < _WHITE else _WHITE)


def _mix_plainly(a: Codes, b: Codes, share: np.float32, out: Codes) -> None:
    mixed = (1 - share) * a
    mixed += share * b
    mixed += np.float32(0.5)
    np.copyto(out, mixed, casting="unsafe")


@kernel_beside(_mix_plainly)
def _mix_all(a: Codes, b: Codes, share: np.float32, out: Codes) -> None:
    keep = np.float32(1.0) - share
    for i in range(out.size):
        out[i] = np.int32(keep * np.float32(a[i]) + share * np.float32(b[i]) + np.float32(0.5))


def mix_codes(a: Codes, b: Codes, progress: float, top: int, bottom: int, out: Codes) -> None:
    """Mix rows of two 8-bit pictures: (1 - p) A + p B.

    Parameters
    ----------
    a, b : (3, H, W) uint8, C-contiguous
    progress : float
        0..1.
    top, bottom : int
        First row and the row after the last.
    out : (3, H, W) uint8, C-contiguous
    """
    for first, second, into in zip(a, b, out, strict=True):
        one, other = first[top:bottom].reshape(-1), second[top:bottom].reshape(-1)
        _mix_all(one, other, np.float32(progress), into[top:bottom].reshape(-1))


@kernel
def _key_all(
    red: Codes,
    green: Codes,
    blue: Codes,
    under_red: Codes,
    under_green: Codes,
    under_blue: Codes,
    use: Constants,
    share: np.float32,
    out_red: Codes,
    out_green: Codes,
    out_blue: Codes,
) -> None:
    scale = np.float32(1.0) / _WHITE
    lift = share * _WHITE
    for i in range(out_red.size):
        r, g, b = np.float32(red[i]), np.float32(green[i]), np.float32(blue[i])
        r, g, b = r * scale, g * scale, b * scale
        signal = signal_at(r, g, b, use.along, use.across, use.slope, use.scale)
        matte = matte_at(signal, use.clip, use.gain)
        r, g, b = subject_at(
            r, g, b, matte, use.backing, use.along, use.across, use.change, use.spill_slope
        )
        gap = np.float32(1.0) - share * matte
        out_red[i] = _code(lift * r + gap * np.float32(under_red[i]))
        out_green[i] = _code(lift * g + gap * np.float32(under_green[i]))
        out_blue[i] = _code(lift * b + gap * np.float32(under_blue[i]))


def key_codes(
    recorded: Codes,
    under: Codes,
    settings: KeySettings,
    matrix: Matrix,
    opacity: float,
    top: int,
    bottom: int,
    out: Codes,
) -> None:
    """Key rows of an 8-bit picture over another.

    Parameters
    ----------
    recorded, under : (3, H, W) uint8, C-contiguous
    settings : KeySettings
    matrix : {"bt601", "bt709"}
    opacity : float
        0..1; multiplies the matte.
    top, bottom : int
        First row and the row after the last.
    out : (3, H, W) uint8, C-contiguous
    """
    red, green, blue, under_red, under_green, under_blue, out_red, out_green, out_blue = (
        plane[top:bottom].reshape(-1) for planes in (recorded, under, out) for plane in planes
    )
    _key_all(
        red, green, blue, under_red, under_green, under_blue,
        constants(settings, matrix), np.float32(opacity), out_red, out_green, out_blue,
    )  # fmt: skip


@kernel
def _weighed(
    a: np.uint8, b: np.uint8, of_a: np.float32, of_b: np.float32, fill: np.float32
) -> np.int32:
    """Mix two codes, and the colour of the border in what they leave."""
    rest = (np.float32(1.0) - of_a - of_b) * fill * _WHITE
    return _code(of_a * np.float32(a) + of_b * np.float32(b) + rest)


@kernel
def _copy_tiles(
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
def _blend_tiles(
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
                        out[plane, k] = _weighed(code_a, code_b, of_a[w], of_b[w], fill[plane, 0])
                else:
                    for c in range(wide):
                        k, w = start + np.uint64(c), weight + np.uint64(c)
                        edge = fill[plane, w] if fill.shape[1] > 1 else fill[plane, 0]
                        code_a, code_b = a[plane, k], b[plane, k]
                        out[plane, k] = _weighed(code_a, code_b, of_a[w], of_b[w], edge)


def wipe_codes(a: Codes, b: Codes, now: WipeState, top: int, bottom: int, out: Codes) -> None:
    """Wipe rows of one 8-bit picture to another.

    Parameters
    ----------
    a, b : (3, H, W) uint8, C-contiguous
    now : WipeState
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
    _copy_tiles(flat_a, flat_b, found.number, top, bottom, width, flat_out)
    weights = found.of_a.reshape(-1), found.of_b.reshape(-1)
    across = found.number.shape[1]
    _blend_tiles(flat_a, flat_b, fill, *weights, found.places, across, top, bottom, width, flat_out)
