"""Luma, colour difference and hue, by ITU-R BT.601-7 and BT.709-6.

Hue is an angle on the vectorscope: Cb to the right, Cr up, counter-clockwise.
Chroma is given as a share of full chroma, the largest |Cb| or |Cr| that the
standard allows (0.5).
"""

from __future__ import annotations

import math
from functools import lru_cache
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from keyer.kinds.arrays import Planes
from keyer.kinds.picture import Matrix

FULL_CHROMA = 0.5
"""Cb and Cr run from -0.5 to 0.5 (BT.709-6 item 3.4, BT.601-7 item 2.5.3)."""

LUMA: dict[Matrix, tuple[float, float, float]] = {
    "bt601": (0.299, 0.587, 0.114),
    "bt709": (0.2126, 0.7152, 0.0722),
}
"""Luma coefficients Kr, Kg, Kb (BT.601-7 item 2.5.1, BT.709-6 item 3.2)."""

Vector3 = tuple[float, float, float]


class HueAxes(NamedTuple):
    """The chroma plane turned so that one axis points along a hue.

    Attributes
    ----------
    along, across : (3,) float32
        Weights of R', G', B' whose sum is the component along the hue, and at
        right angles to it (counter-clockwise).
    unit : (3,) float32
        R'G'B' change that moves chroma by 1 along the hue and leaves luma.
    """

    along: NDArray[np.float32]
    across: NDArray[np.float32]
    unit: NDArray[np.float32]


def rgb_to_ycc_matrix(matrix: Matrix) -> NDArray[np.float64]:
    """Return the 3 x 3 matrix from R'G'B' to Y'CbCr.

    Parameters
    ----------
    matrix : {"bt601", "bt709"}

    Returns
    -------
    (3, 3) float64
        Rows Y', Cb = (B' - Y') / (2 - 2 Kb), Cr = (R' - Y') / (2 - 2 Kr);
        BT.601-7 item 2.5, BT.709-6 items 3.2 and 3.3.
    """
    luma = np.array(LUMA[matrix])
    blue = (np.array([0.0, 0.0, 1.0]) - luma) / (2 - 2 * luma[2])
    red = (np.array([1.0, 0.0, 0.0]) - luma) / (2 - 2 * luma[0])
    return np.stack([luma, blue, red])


def rgb_to_ycc(rgb: Planes, matrix: Matrix) -> Planes:
    """Convert R'G'B' to Y'CbCr.

    Parameters
    ----------
    rgb : (3, ...) float32
    matrix : {"bt601", "bt709"}

    Returns
    -------
    (3, ...) float32
        Y' 0..1, Cb and Cr -0.5..0.5 for colours inside 0..1.
    """
    return np.tensordot(rgb_to_ycc_matrix(matrix).astype(np.float32), rgb, axes=1)


def hue_of(rgb: Vector3, matrix: Matrix) -> float:
    """Return the hue of one colour: its angle on the vectorscope, in degrees.

    Parameters
    ----------
    rgb : three floats
    matrix : {"bt601", "bt709"}

    Returns
    -------
    float
        Degrees, 0..360; 0 for a colour without chroma.
    """
    _, cb, cr = rgb_to_ycc_matrix(matrix) @ np.array(rgb)
    if math.hypot(cb, cr) < 1e-9:
        return 0.0
    return math.degrees(math.atan2(cr, cb)) % 360.0


@lru_cache(maxsize=64)
def hue_axes(hue_deg: float, matrix: Matrix) -> HueAxes:
    """Turn the chroma plane so that its first axis points along a hue.

    Parameters
    ----------
    hue_deg : float
        Degrees on the vectorscope.
    matrix : {"bt601", "bt709"}

    Returns
    -------
    HueAxes
        X = Cb cos(hue) + Cr sin(hue), Z = Cr cos(hue) - Cb sin(hue), written as
        weights of R'G'B' so that no Y'CbCr picture need be made.
    """
    to_ycc = rgb_to_ycc_matrix(matrix)
    cos, sin = math.cos(math.radians(hue_deg)), math.sin(math.radians(hue_deg))
    along = cos * to_ycc[1] + sin * to_ycc[2]
    across = cos * to_ycc[2] - sin * to_ycc[1]
    unit = np.linalg.inv(to_ycc) @ np.array([0.0, cos, sin])
    return HueAxes(*(part.astype(np.float32) for part in (along, across, unit)))
