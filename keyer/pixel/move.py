"""Transitions that move pictures: push and slide.

Pictures move by whole pixels: nothing is resampled, so that at 0 and at 1 every
code is that of A or of B.
"""

from __future__ import annotations

from typing import Any, Literal, get_args

import numpy as np
from numpy.typing import NDArray

from keyer.errors import FrameShapeError
from keyer.kinds.settings import in_range, one_of

Side = Literal["left", "top", "right", "bottom"]
Array = NDArray[Any]


def _turned(array: Array, side: str) -> Array:
    """View in which the new picture enters from the left."""
    if side in {"top", "bottom"}:
        array = np.swapaxes(array, -1, -2)
    return array[..., ::-1] if side in {"right", "bottom"} else array


def _checked(a: Array, b: Array, progress: float, side: str) -> int:
    one_of("side", side, get_args(Side))
    in_range("progress", progress, 0, 1)
    if a.shape != b.shape or a.dtype != b.dtype or a.ndim < 2:
        msg = (
            f"b must have the shape and depth of a, {a.shape} {a.dtype}, "
            f"got {b.shape} {b.dtype}. Fit it first."
        )
        raise FrameShapeError(msg)
    length = int(a.shape[-1 if side in {"left", "right"} else -2])
    return round(progress * length)


def push(a: Array, b: Array, progress: float, side: str) -> Array:
    """Let B push A out of the picture.

    Parameters
    ----------
    a, b : (..., H, W) of any dtype
        Planes of one shape and dtype.
    progress : float
        0 is exactly A, 1 exactly B.
    side : {"left", "top", "right", "bottom"}
        Where B comes in.

    Returns
    -------
    array of the shape and dtype of `a`

    Raises
    ------
    FrameShapeError, SettingError
    """
    moved = _checked(a, b, progress, side)
    out = np.empty_like(a)
    into, old, new = (_turned(array, side) for array in (out, a, b))
    length = into.shape[-1]
    into[..., :moved] = new[..., length - moved :]
    into[..., moved:] = old[..., : length - moved]
    return out


def slide(a: Array, b: Array, progress: float, side: str) -> Array:
    """Let B slide in over A, which stays.

    Parameters
    ----------
    a, b : (..., H, W) of any dtype
        Planes of one shape and dtype.
    progress : float
        0 is exactly A, 1 exactly B.
    side : {"left", "top", "right", "bottom"}
        Where B comes in.

    Returns
    -------
    array of the shape and dtype of `a`

    Raises
    ------
    FrameShapeError, SettingError
    """
    moved = _checked(a, b, progress, side)
    out = a.copy()
    into, new = _turned(out, side), _turned(b, side)
    into[..., :moved] = new[..., into.shape[-1] - moved :]
    return out
