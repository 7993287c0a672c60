"""Black, white and chroma of a picture, and the correction that gives one picture those of another.

What is measured of a picture: the luma below and above which a hundredth of it lies, its mean
colour, and how far its chroma lies from its mean (the hundredth and the limits of a correction
are ours). On coded values, as the correction itself (`keyer.pixel.colour.correct`).
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from keyer.kinds.arrays import Planes
from keyer.kinds.picture import Matrix
from keyer.kinds.settings import Correction
from keyer.pixel.colour.luma_chroma import rgb_to_ycc_matrix

ENDS = 1.0
"""Percent of a picture that may be darker than its black, and brighter than its white."""

LEAST_RANGE = 0.05
"""Range of luma below which a picture is flat, so that its levels are left alone."""

LEAST_CHROMA = 0.01
"""Spread of chroma below which a picture is grey, so that saturation is left alone."""

_LINES = 270
"""Rows, about, of which samples are taken."""

BLACK, GAIN, SATURATION, BALANCE = (-20, 20), (60, 160), (50, 200), (80, 125)
"""Percent within which a correction is chosen: beyond them it is another picture."""


@dataclass(frozen=True)
class Tone:
    """Black, white, mean colour and spread of chroma of a picture, to match another to it.

    Attributes
    ----------
    black, white : float
        Luma, 1 is white.
    mean : tuple of three floats
        R', G' and B'.
    spread : float
        Root mean square distance of its chroma (Cb, Cr) from the mean one.
    """

    black: float
    white: float
    mean: tuple[float, float, float]
    spread: float


def measure_tone(
    planes: Planes, matrix: Matrix, where: NDArray[np.bool_] | None = None
) -> Tone | None:
    """Return black, white, mean colour and spread of chroma of a picture.

    Parameters
    ----------
    planes : (3, H, W) float32
        R'G'B', straight.
    matrix : {"bt601", "bt709"}
    where : (H, W) bool, optional
        What is looked at; default: all of it.

    Returns
    -------
    Tone or None
        None where there is nothing to look at.
    """
    step = max(1, planes.shape[1] // _LINES)
    some = planes[:, ::step, ::step]
    pixels = some.reshape(3, -1) if where is None else some[:, where[::step, ::step]]
    if pixels.size == 0:
        return None
    luma, *chroma = rgb_to_ycc_matrix(matrix) @ pixels.astype(np.float64)
    black, white = np.percentile(luma, (ENDS, 100 - ENDS))
    red, green, blue = pixels.mean(axis=1, dtype=np.float64)
    spread = float(np.sqrt(sum(np.var(part) for part in chroma)))
    return Tone(float(black), float(white), (float(red), float(green), float(blue)), spread)


def correction_to(other: Tone, own: Tone, matrix: Matrix) -> Correction:
    """Choose a correction that gives a picture the black, white and chroma of another.

    Parameters
    ----------
    other : Tone
    own : Tone
    matrix : {"bt601", "bt709"}
        Of the picture that is corrected.

    Returns
    -------
    Correction
        To a tenth of a percent.
    """
    black, gain = 0.0, 1.0
    if min(own.white - own.black, other.white - other.black) >= LEAST_RANGE:
        slope = (other.white - other.black) / (own.white - own.black)
        black = _within(other.black - slope * own.black, BLACK)
        gain = _within(black + slope, GAIN)
    slope = gain - black
    saturation = 1.0
    if min(slope * own.spread, other.spread) >= LEAST_CHROMA:
        saturation = _within(other.spread / (slope * own.spread), SATURATION)
    weights = rgb_to_ycc_matrix(matrix)[0]
    luma = black + slope * float(weights @ own.mean)
    balance = []
    for mine, wanted in zip(own.mean, other.mean, strict=True):
        apart = wanted - float(weights @ other.mean)  # colour less luma, as it shall be
        full = luma + apart / saturation  # before saturation is changed
        share = ((full - black) / mine + black) / gain if mine > LEAST_CHROMA else 1.0
        balance.append(round(100 * _within(share, BALANCE), 1))
    red, green, blue = balance
    return Correction(
        black_percent=round(100 * black, 1),
        gain_percent=round(100 * gain, 1),
        saturation_percent=round(100 * saturation, 1),
        balance=(red, green, blue),
    )


def _within(value: float, limits: tuple[int, int]) -> float:
    return min(max(value, limits[0] / 100), limits[1] / 100)
