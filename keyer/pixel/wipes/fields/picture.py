"""Levels read from a grey picture: black turns first, white last."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from keyer.kinds.arrays import Reals
from keyer.pixel.kernels.jit import kernel

Grey = NDArray[np.float32]


@kernel
def _read(grey: Grey, across: Grey, down: Grey, out: Grey) -> None:
    """Read between four samples; outside, the rim goes on."""
    rows, columns = grey.shape
    for i in range(out.size):
        x = min(max(across[i], np.float32(0.0)), np.float32(columns - 1))
        y = min(max(down[i], np.float32(0.0)), np.float32(rows - 1))
        column, row = int(x), int(y)
        right, below = min(column + 1, columns - 1), min(row + 1, rows - 1)
        u, v = x - np.float32(column), y - np.float32(row)
        upper = grey[row, column] + u * (grey[row, right] - grey[row, column])
        lower = grey[below, column] + u * (grey[below, right] - grey[below, column])
        out[i] = upper + v * (lower - upper)


def sampled(x: Reals, y: Reals, half_width: float, half_height: float, *, grey: Grey) -> Reals:
    """Read a picture that is stretched to the frame, with straight lines between its samples.

    `grey` is (H, W) float32, 0..1; outside the frame its rim goes on.
    """
    rows, columns = grey.shape
    across = x * np.float32(columns / (2 * half_width)) + np.float32(columns / 2 - 0.5)
    down = y * np.float32(rows / (2 * half_height)) + np.float32(rows / 2 - 0.5)
    u, v = np.broadcast_arrays(across, down)
    out = np.empty(u.shape, np.float32)
    _read(
        grey,
        np.ascontiguousarray(u, np.float32).reshape(-1),
        np.ascontiguousarray(v, np.float32).reshape(-1),
        out.reshape(-1),
    )
    return out
