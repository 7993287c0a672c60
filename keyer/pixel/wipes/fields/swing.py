"""How far a field changes when its edge is displaced by a given way along its normal."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from keyer.kinds.arrays import Plane
from keyer.kinds.field import NO_JUMP, Jumps
from keyer.pixel.kernels.jit import kernel
from keyer.pixel.wipes.fields.jumps import jump_planes

Marks = NDArray[np.uint8]

HUB = 0.12
"""Greatest change about the pivot of a hand, where the field is steep beyond all measure."""

_NONE = np.empty((0, 0), np.uint8)


@kernel
def _steepest(
    before: np.float32, after: np.float32, mark_before: int, mark_after: int
) -> np.float32:
    """Step to one side or the other, whichever tells the slope; never over a jump."""
    if mark_before != NO_JUMP:
        return np.float32(0.0) if mark_after != NO_JUMP else after
    if mark_after != NO_JUMP or abs(before) > abs(after):
        return before
    return after


@kernel
def _swing(
    values: Plane,
    across: Marks,
    down: Marks,
    amplitude: np.float32,
    aspect: np.float32,
    most: np.float32,
    out: Plane,
) -> None:
    rows, columns = values.shape
    for r in range(rows):
        for c in range(columns):
            left = values[r, c] - values[r, c - 1] if c > 0 else np.float32(0.0)
            right = values[r, c + 1] - values[r, c] if c < columns - 1 else np.float32(0.0)
            above = values[r, c] - values[r - 1, c] if r > 0 else np.float32(0.0)
            below = values[r + 1, c] - values[r, c] if r < rows - 1 else np.float32(0.0)
            if across.size > 0:
                before = int(across[r, c - 1]) if c > 0 else NO_JUMP
                x = _steepest(left, right, before, int(across[r, c]))
                before = int(down[r - 1, c]) if r > 0 else NO_JUMP
                y = _steepest(above, below, before, int(down[r, c]))
            else:
                x = left if abs(left) > abs(right) else right
                y = above if abs(above) > abs(below) else below
            x = x / aspect
            slope = amplitude * np.sqrt(x * x + y * y)
            out[r, c] = slope if slope < most else most


def swing_of(
    values: Plane,
    jumps: Jumps | None,
    amplitude: float,
    aspect: float,
    *,
    turns: bool,
) -> Plane:
    """Change of the field that displaces its edge by an amplitude.

    Parameters
    ----------
    values : (rows, columns) float32
    jumps : Jumps or None
    amplitude : float
        In rows.
    aspect : float
        Width of a pixel over its height.
    turns : bool
        Whether the edge turns about a point, where the change is held back.

    Returns
    -------
    (rows, columns) float32
        Amplitude times slope.
    """
    out = np.empty_like(values)
    most = HUB if turns else 4.0
    across, down = jump_planes(jumps, values.shape) if jumps else (_NONE, _NONE)
    _swing(
        values,
        np.ascontiguousarray(across),
        np.ascontiguousarray(down),
        np.float32(amplitude),
        np.float32(aspect),
        np.float32(most),
        out,
    )
    return out
