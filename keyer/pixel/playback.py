"""The fast key at playback speed: 8-bit codes in, 8-bit codes out, in one compiled pass.

The same steps as `keyer.pixel.key`, `keyer.pixel.over` and the conversions of
`keyer.pixel.load` in the same order, for the frame that is asked for most: a
keyed 8-bit picture over another. A stretch of a row goes through all of them
while it is in the processor's first cache, and no float plane is ever stored.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from keyer.kinds.picture import Matrix
from keyer.kinds.settings import KeySettings
from keyer.pixel.jit import kernel
from keyer.pixel.key import Triple, constants, matte_of, take_from

Codes = NDArray[np.uint8]

STRETCH = 1024
"""Pixels that go through all the steps together: their planes fill 24 kB."""

_WHITE = np.float32(255.0)


@kernel
def _load(codes: Codes, out: NDArray[np.float32]) -> None:
    scale = np.float32(1.0) / _WHITE
    for i in range(codes.size):
        out[i] = np.float32(codes[i]) * scale


@kernel
def _over_and_store(
    fill: NDArray[np.float32],
    matte: NDArray[np.float32],
    under: NDArray[np.float32],
    share: np.float32,
    out: Codes,
) -> None:
    for i in range(out.size):
        gap = np.float32(1.0) - share * matte[i]
        code = (share * fill[i] + gap * under[i]) * _WHITE + np.float32(0.5)
        code = code if code > np.float32(0.0) else np.float32(0.0)
        code = code if code < _WHITE else _WHITE
        out[i] = np.int32(code)


@kernel
def _rows(
    recorded: Codes,
    under: Codes,
    along: Triple,
    across: Triple,
    slope: np.float32,
    scale: np.float32,
    clip: np.float32,
    gain: np.float32,
    backing: Triple,
    change: Triple,
    spill_slope: np.float32,
    share: np.float32,
    first: int,
    last: int,
    out: Codes,
) -> None:
    planes = np.empty((5, STRETCH), np.float32)
    for begin in range(first, last, STRETCH):
        end = min(begin + STRETCH, last)
        size = end - begin
        red, green, blue = planes[0, :size], planes[1, :size], planes[2, :size]
        matte, below = planes[3, :size], planes[4, :size]
        _load(recorded[0, begin:end], red)
        _load(recorded[1, begin:end], green)
        _load(recorded[2, begin:end], blue)
        matte_of(red, green, blue, along, across, slope, scale, clip, gain, matte)
        take_from(red, green, blue, matte, backing, along, across, change, spill_slope)
        _load(under[0, begin:end], below)
        _over_and_store(red, matte, below, share, out[0, begin:end])
        _load(under[1, begin:end], below)
        _over_and_store(green, matte, below, share, out[1, begin:end])
        _load(under[2, begin:end], below)
        _over_and_store(blue, matte, below, share, out[2, begin:end])


def key_over_codes(
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
    use = constants(settings, matrix)
    width = recorded.shape[2]
    _rows(
        recorded.reshape(3, -1),
        under.reshape(3, -1),
        use.along,
        use.across,
        use.slope,
        use.scale,
        use.clip,
        use.gain,
        use.backing,
        use.change,
        use.spill_slope,
        np.float32(opacity),
        top * width,
        bottom * width,
        out.reshape(3, -1),
    )
