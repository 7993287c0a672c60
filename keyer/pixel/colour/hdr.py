"""From high dynamic range and wide colours to standard range and BT.709.

HLG and PQ signals are ITU-R BT.2100-2 [bt2100]. Their display light, for a
screen of 1000 cd/m2, is brought to standard range by method C of Report ITU-R
BT.2446-1 [bt2446]: luminance up to skin tones is scaled, what is brighter is
compressed by a logarithm, and chromaticity stays. (Its crosstalk is left at 0,
which the method allows, and its chroma correction above white, which is optional,
is left out.) Reference white, 203 cd/m2 by Report ITU-R BT.2408 [bt2408], comes to
91 cd/m2 of a screen whose nominal white has 100. Colours go from BT.2020 to BT.709 by
the linear way of Report ITU-R BT.2407 [bt2407], hard-clipped where BT.709 ends.
The constants of BT.2446 are from memory; that its two parts meet is tested.
"""

from __future__ import annotations

from typing import Literal

import numpy as np
from numpy.typing import NDArray

from keyer.kinds.arrays import Planes
from keyer.pixel.kernels.bands import run_bands

Transfer = Literal["hlg", "pq", "sdr"]
"""How signals stand for light: BT.2100 HLG, BT.2100 PQ, or BT.1886 (standard range)."""

PEAK = 1000.0
"""Light of the screen that HLG is shown on, cd/m2: its system gamma is then 1.2 (BT.2100-2)."""

WHITE = 100.0
"""Light of nominal white in standard range, cd/m2 (BT.1886; BT.2446-1)."""

SUPER_WHITE = 1.09
"""Highest signal of standard range (BT.709-6 item 4.6: code 254 of 8 bits)."""

LUMINANCE_2020 = np.array([0.2627, 0.6780, 0.0593], np.float32)
"""Share of R, G and B of BT.2020 in luminance (BT.2020-2 table 4)."""

TO_709 = np.array(
    [[1.6605, -0.5876, -0.0728], [-0.1246, 1.1329, -0.0083], [-0.0182, -0.1006, 1.1187]],
    np.float32,
)
"""Linear R, G, B of BT.2020 to those of BT.709 (Report BT.2407, section 2)."""

_A, _B, _C = 0.17883277, 0.28466892, 0.55991073
_M1, _M2 = 2610 / 16384, 2523 / 4096 * 128
_C1, _C2, _C3 = 3424 / 4096, 2413 / 4096 * 32, 2392 / 4096 * 32
_K1, _K2, _K3, _K4, _SKIN = 0.83802, 15.09968, 0.74204, 78.99439, 58.5
_GAMMA = 2.4

Values = NDArray[np.float32]


def hlg_light(signal: Values) -> Values:
    """Light on the screen of an HLG signal (BT.2100-2 table 5: inverse OETF, then OOTF).

    Parameters
    ----------
    signal : (3, ...) float32
        R'G'B' of BT.2020, 0..1.

    Returns
    -------
    (3, ...) float32
        cd/m2, up to `PEAK` for a signal of 1.
    """
    coded = np.clip(signal, 0, 1.09).astype(np.float32)
    bright = (np.exp((coded - np.float32(_C)) / np.float32(_A)) + np.float32(_B)) / 12
    scene = np.where(coded <= 0.5, coded * coded / 3, bright)
    luminance = np.tensordot(LUMINANCE_2020, scene, axes=1)
    gain = np.float32(PEAK) * np.power(np.maximum(luminance, 1e-12), np.float32(0.2))
    return np.asarray(gain * scene, np.float32)


def pq_light(signal: Values) -> Values:
    """Light on the screen of a PQ signal (BT.2100-2 table 4: EOTF).

    Parameters
    ----------
    signal : array of float32
        0..1.

    Returns
    -------
    array of float32
        cd/m2, up to 10000.
    """
    root = np.power(np.clip(signal, 0, 1).astype(np.float32), np.float32(1 / _M2))
    ratio = np.maximum(root - np.float32(_C1), 0) / (np.float32(_C2) - np.float32(_C3) * root)
    return np.asarray(10000 * np.power(ratio, np.float32(1 / _M1)), np.float32)


def tone_map(luminance: Values) -> Values:
    """Luminance of standard range for one of high range (BT.2446-1, method C, step 4).

    Parameters
    ----------
    luminance : array of float32
        cd/m2.

    Returns
    -------
    array of float32
        cd/m2; 118 for 1000, which is a signal of 107 %.
    """
    above = np.maximum(luminance / np.float32(_SKIN / _K1), 1) - np.float32(_K3)
    bright = np.float32(_K2) * np.log(above) + np.float32(_K4)
    return np.asarray(np.where(luminance < _SKIN / _K1, np.float32(_K1) * luminance, bright))


def to_standard(planes: Planes, transfer: Transfer, *, wide: bool) -> Planes:
    """Bring a picture to standard range and the colours of BT.709.

    Parameters
    ----------
    planes : (3, H, W) float32
        R'G'B', nominal 0..1.
    transfer : {"hlg", "pq", "sdr"}
    wide : bool
        Whether its colours are BT.2020's.

    Returns
    -------
    (3, H, W) float32
        R'G'B', 0..1.09, meant for a screen of BT.1886.
    """
    out = np.empty_like(planes)

    def work(top: int, bottom: int) -> None:
        out[:, top:bottom] = _converted(planes[:, top:bottom], transfer, wide=wide)

    run_bands(planes.shape[1], planes.shape[2], work)
    return out


def _converted(signal: Planes, transfer: Transfer, *, wide: bool) -> Planes:
    if transfer == "sdr":
        light = np.power(np.maximum(signal, 0), np.float32(_GAMMA))
    else:
        screen = hlg_light(signal) if transfer == "hlg" else pq_light(signal)
        luminance = np.tensordot(LUMINANCE_2020, screen, axes=1)
        gain = tone_map(luminance) / np.maximum(luminance, np.float32(1e-6))
        light = screen * (gain / np.float32(WHITE))
    if wide:
        light = np.tensordot(TO_709, light, axes=1)
    coded = np.power(np.maximum(light, 0), np.float32(1 / _GAMMA))
    return np.asarray(np.minimum(coded, np.float32(SUPER_WHITE)), np.float32)


def matrix_of_2020(planes: Planes) -> Planes:
    """Take R'G'B' that was decoded by BT.709's matrix for what BT.2020's makes of it.

    Parameters
    ----------
    planes : (3, ...) float32
        R'G'B' from Y'CbCr by the matrix of BT.709.

    Returns
    -------
    (3, ...) float32
        R'G'B' from the same Y'CbCr by that of BT.2020 (non-constant luminance; BT.2020-2
        table 4, BT.2100-2 table 6).
    """
    swap = np.linalg.inv(_ycc(np.asarray(LUMINANCE_2020, np.float64))) @ _ycc(_LUMA_709)
    return np.asarray(np.tensordot(swap.astype(np.float32), planes, axes=1), np.float32)


_LUMA_709 = np.array([0.2126, 0.7152, 0.0722])


def _ycc(luma: NDArray[np.float64]) -> NDArray[np.float64]:
    """R'G'B' to Y'CbCr: Cb = (B' - Y') / (2 - 2 Kb), Cr = (R' - Y') / (2 - 2 Kr)."""
    blue = (np.array([0.0, 0.0, 1.0]) - luma) / (2 - 2 * luma[2])
    red = (np.array([1.0, 0.0, 0.0]) - luma) / (2 - 2 * luma[0])
    return np.stack([luma, blue, red])
