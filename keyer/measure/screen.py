"""Light of a television screen, for what ITU-R BT.1702 says in candelas.

The screen is that of ITU-R BT.1886 with black at nothing: L = V^2.4 of white
[bt1886]. White is taken as 200 cd/m2, so that 20 and 160 cd/m2 are 0.1 and 0.8.
"""

from __future__ import annotations

import numpy as np

from keyer.measure.cells import Light
from keyer.pixel.kernels.jit import kernel

_STEPS = 1024


def _table() -> Light:
    """Screen light of relative light, at even steps of its square root."""
    light = np.linspace(0, 1, _STEPS + 1) ** 2
    signal = np.where(
        light <= 0.0031308, 12.92 * light, 1.055 * np.maximum(light, 1e-9) ** (1 / 2.4) - 0.055
    )
    return (signal**2.4).astype(np.float32)


_TABLE = _table()


@kernel
def _shown(red: Light, green: Light, blue: Light, table: Light, weights: Light, out: Light) -> None:
    steps = np.float32(_STEPS)
    for i in range(out.size):
        total = np.float32(0)
        for plane, weight in ((red, weights[0]), (green, weights[1]), (blue, weights[2])):
            place = np.sqrt(plane[i]) * steps
            at = min(int(place), _STEPS - 1)
            total += weight * (table[at] + (place - at) * (table[at + 1] - table[at]))
        out[i] = total


def screen_light(light: Light) -> Light:
    """Luminance on a screen, of the relative light of sRGB.

    Parameters
    ----------
    light : (3, rows, columns) float32 in [0, 1]
        Linear R, G, B as a `keyer.measure.cells.LightMeter` has it. A cell that holds
        several colours is taken as one of their mean light.

    Returns
    -------
    (rows, columns) float32 in [0, 1]
        1 is 200 cd/m2. The signal is recovered by the curve of sRGB and shown
        by that of BT.1886; R, G and B are weighed as BT.709-6 does.
    """
    red, green, blue = np.ascontiguousarray(light).reshape(3, -1)
    out = np.empty(light.shape[1:], np.float32)
    weights = np.array([0.2126, 0.7152, 0.0722], np.float32)
    _shown(red, green, blue, _TABLE, weights, out.reshape(-1))
    return out
