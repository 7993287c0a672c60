"""Luminance and linear keys: the matte from how bright a picture is, or from its alpha.

A luminance key keeps what is bright above the clip, as steep as the gain says;
a linear key takes a key signal as it is (clip 0, gain 1). Both are the
(signal - clip) x gain of common practice, over a signal that may come from the
fill itself or from another picture.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from keyer.kinds.arrays import Flat, Planes
from keyer.kinds.picture import Matrix
from keyer.pixel.colour.luma_chroma import LUMA
from keyer.pixel.kernels.jit import kernel
from keyer.pixel.keys.fast import clip_and_gain


@kernel
def _luma(
    red: Flat, green: Flat, blue: Flat, kr: np.float32, kg: np.float32, kb: np.float32, out: Flat
) -> None:
    for i in range(out.size):
        out[i] = kr * red[i] + kg * green[i] + kb * blue[i]


@kernel
def _turn_over(matte: Flat) -> None:
    for i in range(matte.size):
        matte[i] = np.float32(1.0) - matte[i]


def luma_band(band: Planes, matrix: Matrix, out: NDArray[np.float32]) -> None:
    """Luma of a band (BT.601-7 item 2.5.1, BT.709-6 item 3.2).

    Parameters
    ----------
    band : (3, rows, W) float32, C-contiguous
    matrix : {"bt601", "bt709"}
    out : (rows, W) float32
    """
    red, green, blue = band.reshape(3, -1)
    kr, kg, kb = LUMA[matrix]
    _luma(red, green, blue, np.float32(kr), np.float32(kg), np.float32(kb), out.reshape(-1))


def level_matte(
    signal: NDArray[np.float32], clip_percent: float, gain: float, *, invert: bool
) -> None:
    """Turn a key signal into a matte, in place.

    Parameters
    ----------
    signal : (rows, W) float32
        Luma or alpha, 0..1. Becomes the matte: 1 = seen.
    clip_percent : float
        Signal at and below which the matte is clear.
    gain : float
        Slope above the clip.
    invert : bool
        Keep what is dark instead.
    """
    clip_and_gain(signal, clip_percent, gain)
    if invert:
        _turn_over(signal.reshape(-1))
