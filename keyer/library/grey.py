"""A grey picture as a pattern: black turns first, white last."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray

from keyer.errors import InputFileError
from keyer.media.decode_still import decode_still

PICTURES = (".png", ".tif", ".tiff", ".jpg", ".jpeg")
"""Endings of files that are read as grey pictures."""

LARGEST = 4096
"""Most columns or rows."""

ROUNDS = 24


def smooth_steps(grey: NDArray[np.float32], step: float) -> NDArray[np.float32]:
    """Turn the steps of a coarse scale back into slopes.

    Each sample was rounded to a whole step; within half a step to either side
    it may have been anything, and what is smoothest is likeliest. Edges higher
    than a step stay as they are.

    Parameters
    ----------
    grey : (H, W) float32
    step : float
        Between one code and the next.

    Returns
    -------
    (H, W) float32
        Nowhere more than half a step from `grey`.
    """
    import cv2

    found = grey
    reach = min(24, min(grey.shape) - 1)
    inner = slice(reach, -reach if reach else None)
    low, high = grey - np.float32(step / 2), grey + np.float32(step / 2)
    for round_ in range(ROUNDS):
        sigma = 8.0 if round_ < ROUNDS // 2 else 1.5
        # slopes go on beyond the rim, so that it does not flatten them
        wide = np.pad(found, reach, mode="reflect", reflect_type="odd")
        blurred = cv2.GaussianBlur(wide, (0, 0), sigma)[inner, inner]
        found = np.clip(blurred, low, high)
    return np.ascontiguousarray(found, np.float32)


def _codes(path: Path) -> NDArray[Any]:
    """Read the samples of a grey picture."""
    codes = decode_still(path)
    height, width = codes.shape[:2]
    if max(width, height) > LARGEST:
        most = f"{LARGEST} x {LARGEST}"
        msg = f"{path} must be at most {most}, got {width} x {height}. Make it smaller."
        raise InputFileError(msg)
    if codes.ndim == 3 and codes.shape[2] == 3 and (codes == codes[..., :1]).all():
        codes = codes[..., 0]
    if codes.ndim == 3:
        found = "colours" if codes.shape[2] == 3 else "alpha"
        msg = (
            f"{path} must be a grey picture of 8 or 16 bits, got one with {found}. Turn it into "
            "grey first."
        )
        raise InputFileError(msg)
    return codes


def read_grey(path: Path) -> NDArray[np.float32]:
    """Read a grey picture as a field.

    Parameters
    ----------
    path : Path
        8 or 16 bits, without alpha.

    Returns
    -------
    (H, W) float32
        Darkest 0, brightest 1.

    Raises
    ------
    InputFileError
        If it cannot be read, is coloured or has only one grey.
    """
    codes = _codes(path)
    white = np.iinfo(codes.dtype).max
    grey = codes.astype(np.float32) / np.float32(white)
    darkest, brightest = float(grey.min()), float(grey.max())
    if not brightest > darkest:
        msg = f"{path} must have a darkest and a brightest place, got one grey all over."
        raise InputFileError(msg)
    if white == 255:
        grey = smooth_steps(grey, 1 / 255)
        darkest, brightest = float(grey.min()), float(grey.max())
    return (grey - np.float32(darkest)) / np.float32(brightest - darkest)
