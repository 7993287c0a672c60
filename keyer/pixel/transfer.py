"""From the coded signal to light and back, by the curve of ITU-R BT.709-6 item 1.2.

BT.601-7 item 2.6 has the same curve, so one table serves both. The curve is
read from a table of 4096 steps with straight lines between (within 2e-6 of
the formula); beyond 0..1 it goes on as the formula does: a straight line below
black and the power law above white, so that out-of-range signals survive.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from keyer.kinds.picture import Planes
from keyer.pixel.jit import kernel

STEPS = 4096


def encode_light(light: NDArray[np.floating]) -> NDArray[np.float64]:
    """Signal of a light level: V = 4.5 L below 0.018, 1.099 L^0.45 - 0.099 above.

    Parameters
    ----------
    light : array of float
        1 is the light of nominal white.

    Returns
    -------
    array of float64
    """
    level = np.asarray(light, np.float64)
    power = 1.099 * np.power(np.maximum(level, 0.018), 0.45) - 0.099
    return np.where(level < 0.018, 4.5 * level, power)


def decode_signal(signal: NDArray[np.floating]) -> NDArray[np.float64]:
    """Light of a signal, the inverse of `encode_light`.

    Parameters
    ----------
    signal : array of float
        R'G'B' nominal 0..1.

    Returns
    -------
    array of float64
    """
    level = np.asarray(signal, np.float64)
    knee = 4.5 * 0.018
    power = np.power((np.maximum(level, knee) + 0.099) / 1.099, 1 / 0.45)
    return np.where(level < knee, level / 4.5, power)


_GRID = np.linspace(0.0, 1.0, STEPS + 1)
_DECODE = decode_signal(_GRID).astype(np.float32)
# the encoding curve is steep near black: a root-spaced table follows it there
_ENCODE = encode_light(_GRID**2).astype(np.float32)


@kernel
def _to_light(flat: NDArray[np.float32], table: NDArray[np.float32]) -> None:
    steps = np.float32(table.size - 1)
    for i in range(flat.size):
        value = flat[i]
        if 0.0 <= value <= 1.0:
            place = value * steps
            index = min(int(place), table.size - 2)
            share = place - np.float32(index)
            flat[i] = table[index] + share * (table[index + 1] - table[index])
        elif value < 0.0:
            flat[i] = value / np.float32(4.5)
        else:
            flat[i] = ((value + np.float32(0.099)) / np.float32(1.099)) ** np.float32(1 / 0.45)


@kernel
def _to_signal(flat: NDArray[np.float32], table: NDArray[np.float32]) -> None:
    steps = np.float32(table.size - 1)
    for i in range(flat.size):
        value = flat[i]
        if 0.0 <= value <= 1.0:
            place = np.sqrt(value) * steps
            index = min(int(place), table.size - 2)
            share = place - np.float32(index)
            flat[i] = table[index] + share * (table[index + 1] - table[index])
        elif value < 0.0:
            flat[i] = value * np.float32(4.5)
        else:
            flat[i] = np.float32(1.099) * value ** np.float32(0.45) - np.float32(0.099)


def to_light(band: Planes) -> None:
    """Turn a band from signal to light, in place.

    Parameters
    ----------
    band : (C, rows, W) float32, C-contiguous
    """
    _to_light(band.reshape(-1), _DECODE)


def to_signal(band: Planes) -> None:
    """Turn a band from light to signal, in place.

    Parameters
    ----------
    band : (C, rows, W) float32, C-contiguous
    """
    _to_signal(band.reshape(-1), _ENCODE)
