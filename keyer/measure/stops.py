"""Light in stops: a stop is twice the light, so the signal is decoded before a ratio is taken.

The signal's curve has an offset (ITU-R BT.709-6 item 1.2) [bt709], so one stop
is not one ratio of signals: a dark backing loses more of its signal to it than
a bright one.
"""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import NDArray

from keyer.kinds.arrays import Planes
from keyer.kinds.picture import Matrix
from keyer.pixel.colour.luma_chroma import rgb_to_ycc_matrix
from keyer.pixel.colour.transfer import decode_signal

FAINTEST = 2.0**-12
"""Share of white's light that counts as black: under one code of ten bits."""

SPREAD = (0.01, 0.99)
"""Quantiles between which light ranges, so that single pixels do not count."""

Light = NDArray[np.float32]


def light_on(planes: Planes, matrix: Matrix) -> Light:
    """Return the linear light of every pixel.

    Parameters
    ----------
    planes : (3, ...) float32
        R'G'B' nominal 0..1.
    matrix : {"bt601", "bt709"}
        The light of R, G and B is weighed as their luma is; for one colour,
        lit more or less, any weights give the same ratio.

    Returns
    -------
    (...) float32
        1 is the light of nominal white.
    """
    weights = rgb_to_ycc_matrix(matrix)[0]
    light: Light = np.tensordot(weights, decode_signal(planes), axes=1).astype(np.float32)
    return light


def stops_of(light: Light) -> Light:
    """Take the logarithm of light, in stops below or above white: log2 of it, `FAINTEST` at least.

    Parameters
    ----------
    light : array of float32

    Returns
    -------
    array of float32
        0 is white, -1 half of its light.
    """
    stops: Light = np.log2(np.maximum(light, np.float32(FAINTEST)))
    return stops


def span_in_stops(light: Light) -> float:
    """Count the stops from the darkest to the brightest light, single pixels left out.

    Parameters
    ----------
    light : array of float32
    """
    low, high = np.quantile(light, SPREAD)
    return math.log2(max(float(high), FAINTEST) / max(float(low), FAINTEST))
