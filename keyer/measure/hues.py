"""Names and distances of hues on the vectorscope."""

from __future__ import annotations

from typing import TypeVar

import numpy as np
from numpy.typing import NDArray

from keyer.kinds.picture import Matrix
from keyer.pixel.colour.luma_chroma import hue_of

Angle = TypeVar("Angle", float, NDArray[np.float32])

BARS = {
    "red": (1.0, 0.0, 0.0),
    "magenta": (1.0, 0.0, 1.0),
    "blue": (0.0, 0.0, 1.0),
    "cyan": (0.0, 1.0, 1.0),
    "green": (0.0, 1.0, 0.0),
    "yellow": (1.0, 1.0, 0.0),
}
"""The six colour bars, whose hues give the others their names."""


def bar_hue(name: str, matrix: Matrix) -> float:
    """Return the vectorscope angle of a colour bar, in degrees.

    Parameters
    ----------
    name : str
        A key of `BARS`.
    matrix : {"bt601", "bt709"}

    Returns
    -------
    float
        Degrees, 0..360.
    """
    return hue_of(BARS[name], matrix)


def hue_distance(hue_deg: Angle, other_deg: float) -> Angle:
    """Return the angle between two hues, the shorter way round, in degrees.

    Parameters
    ----------
    hue_deg : float or array
    other_deg : float

    Returns
    -------
    float or array
        Degrees, 0..180.
    """
    return abs((hue_deg - other_deg + 180.0) % 360.0 - 180.0)


def hue_name(hue_deg: float, matrix: Matrix) -> str:
    """Name of the colour bar nearest to a hue.

    Parameters
    ----------
    hue_deg : float
    matrix : {"bt601", "bt709"}
    """
    return min(BARS, key=lambda name: hue_distance(hue_deg, bar_hue(name, matrix)))
