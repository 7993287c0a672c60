"""From the coded signal to light and back, by the curve of ITU-R BT.709-6 item 1.2.

BT.601-7 item 2.6 has the same curve, so one table serves both. The curve is
read from a table of 4096 steps with straight lines between; beyond 0..1 it
goes on as the formula does, so that out-of-range signals survive. As printed,
the two parts of the curve miss each other by 0.00025 at the knee; signals in
that gap (0.0810 to 0.0812) do not return to themselves exactly.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from keyer.kinds.arrays import Planes
from keyer.pixel.kernels.jit import kernel_beside

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


_KNEE_LIGHT = np.float32(0.018)
_KNEE_SIGNAL = np.float32(4.5 * 0.018)
_GRID = np.linspace(0.0, 1.0, STEPS + 1)
# The tables hold the power law alone, below the knee as well, so that no step
# straddles the knee; the root spacing follows the steep start of the encoding.
_DECODE = (((_GRID + 0.099) / 1.099) ** (1 / 0.45)).astype(np.float32)
_ENCODE = (1.099 * (_GRID**2) ** 0.45 - 0.099).astype(np.float32)


def _to_light_plainly(flat: NDArray[np.float32], table: NDArray[np.float32]) -> None:  # noqa: ARG001
    flat[:] = decode_signal(flat)


def _to_signal_plainly(flat: NDArray[np.float32], table: NDArray[np.float32]) -> None:  # noqa: ARG001
    flat[:] = encode_light(flat)


@kernel_beside(_to_light_plainly)
def _to_light(flat: NDArray[np.float32], table: NDArray[np.float32]) -> None:
    steps = np.float32(table.size - 1)
    for i in range(flat.size):
        value = flat[i]
        if value < _KNEE_SIGNAL:
            flat[i] = value / np.float32(4.5)
        elif value <= 1.0:
            place = value * steps
            index = min(int(place), table.size - 2)
            share = place - np.float32(index)
            flat[i] = table[index] + share * (table[index + 1] - table[index])
        else:
            flat[i] = ((value + np.float32(0.099)) / np.float32(1.099)) ** np.float32(1 / 0.45)


@kernel_beside(_to_signal_plainly)
def _to_signal(flat: NDArray[np.float32], table: NDArray[np.float32]) -> None:
    steps = np.float32(table.size - 1)
    for i in range(flat.size):
        value = flat[i]
        if value < _KNEE_LIGHT:
            flat[i] = value * np.float32(4.5)
        elif value <= 1.0:
            place = np.sqrt(value) * steps
            index = min(int(place), table.size - 2)
            share = place - np.float32(index)
            flat[i] = table[index] + share * (table[index + 1] - table[index])
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
