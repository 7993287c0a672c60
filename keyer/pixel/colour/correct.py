"""Correction of a picture: black level, gain, gamma and balance, then saturation and hue.

Each of R', G' and B' first runs straight from the black level to the gain times
its balance, then by the power 1 / gamma; chroma is then scaled and turned on the
vectorscope, which leaves luma (all common practice of a control room's
processing amplifier). On coded values; what goes beyond 0..1 is kept.
"""

from __future__ import annotations

import math
from functools import lru_cache

import numpy as np

from keyer.kinds.arrays import Flat, Planes
from keyer.kinds.picture import Matrix
from keyer.kinds.settings import Correction
from keyer.pixel.colour.luma_chroma import rgb_to_ycc_matrix
from keyer.pixel.kernels.jit import kernel


@kernel
def _stretch(plane: Flat, black: np.float32, slope: np.float32, power: np.float32) -> None:
    if power == np.float32(1.0):
        for i in range(plane.size):
            plane[i] = black + slope * plane[i]
    else:
        for i in range(plane.size):
            value = black + slope * plane[i]
            plane[i] = value**power if value > np.float32(0.0) else value


@kernel
def _turn(red: Flat, green: Flat, blue: Flat, m: tuple[np.float32, ...]) -> None:
    for i in range(red.size):
        r, g, b = red[i], green[i], blue[i]
        red[i] = m[0] * r + m[1] * g + m[2] * b
        green[i] = m[3] * r + m[4] * g + m[5] * b
        blue[i] = m[6] * r + m[7] * g + m[8] * b


@lru_cache(maxsize=64)
def _chroma(saturation: float, hue_deg: float, matrix: Matrix) -> tuple[np.float32, ...]:
    """Work out the weights of R', G' and B' that scale chroma and turn it counter-clockwise."""
    to_ycc = rgb_to_ycc_matrix(matrix)
    turn = math.radians(hue_deg)
    cos, sin = saturation * math.cos(turn), saturation * math.sin(turn)
    change = np.array([[1.0, 0.0, 0.0], [0.0, cos, -sin], [0.0, sin, cos]])
    weights = np.linalg.inv(to_ycc) @ change @ to_ycc
    return tuple(np.float32(weight) for weight in weights.ravel())


def correct_band(band: Planes, correction: Correction, matrix: Matrix) -> None:
    """Correct a band of straight colour, in place.

    Parameters
    ----------
    band : (3, rows, W) float32, C-contiguous
    correction : Correction
    matrix : {"bt601", "bt709"}
    """
    black, power = correction.black_percent / 100, np.float32(1 / correction.gamma)
    for channel, balance in zip(band, correction.balance, strict=True):
        white = correction.gain_percent * balance / 1e4
        _stretch(channel.reshape(-1), np.float32(black), np.float32(white - black), power)
    if correction.saturation_percent != 100 or correction.hue_deg != 0:
        red, green, blue = band.reshape(3, -1)
        weights = _chroma(correction.saturation_percent / 100, correction.hue_deg, matrix)
        _turn(red, green, blue, weights)
