"""What a waveform and a vectorscope look like, for paper and for pages: ink and shade."""

from __future__ import annotations

from typing import Any

import cv2
import numpy as np
from numpy.typing import NDArray

from keyer.kinds.arrays import Planes
from keyer.kinds.picture import Matrix
from keyer.measure.scopes import SPAN, vectorscope, waveform
from keyer.pixel.colour.luma_chroma import rgb_to_ycc_matrix

Shade = NDArray[np.float32]

_FAINT_LEVELS, _FAINT_HUES = 0.35, 0.2
"""Exponents that let what is rare be seen beside what is frequent."""

_BETWEEN = 0.7
"""Rows of 240 over which a level is spread: codes of 8 bits lie a row or more apart."""

TOLERANCE = (-5.0, 105.0)
"""EBU R 103 v3.0: five percent beyond black and white."""

_LUMA, _BRIGHTEST = 0.42, 0.85
"""Of a hue's ink: dark enough to be seen on white paper."""


def waveform_shade(planes: Planes, matrix: Matrix, columns: int, rows: int) -> Shade:
    """Say how strongly each point of a waveform is drawn.

    Parameters
    ----------
    planes : (3, H, W) float32
    matrix : {"bt601", "bt709"}
    columns, rows : int

    Returns
    -------
    (rows, columns) float32 in [0, 1]
    """
    counts = waveform(planes, matrix, columns, rows)
    sigma = _BETWEEN * rows / 240
    return _shade(cv2.GaussianBlur(counts, (1, 0), 0.01, sigmaY=sigma), _FAINT_LEVELS)


def vectorscope_shade(planes: Planes, matrix: Matrix, size: int) -> Shade:
    """Say how strongly each point of a vectorscope is drawn.

    Parameters
    ----------
    planes : (3, H, W) float32
    matrix : {"bt601", "bt709"}
    size : int

    Returns
    -------
    (size, size) float32 in [0, 1]
    """
    return _shade(vectorscope(planes, matrix, size), _FAINT_HUES)


def _shade(counts: NDArray[Any], exponent: float) -> Shade:
    return np.asarray((counts / counts.max()) ** np.float32(exponent), np.float32)


def hue_inks(cb: NDArray[np.float64], cr: NDArray[np.float64], matrix: Matrix) -> Planes:
    """Colours in which hues are drawn on white paper.

    Parameters
    ----------
    cb, cr : (...) float64
    matrix : {"bt601", "bt709"}

    Returns
    -------
    (3, ...) float32
    """
    ycc = np.stack([np.full_like(cb, _LUMA), cb, cr])
    rgb = np.tensordot(np.linalg.inv(rgb_to_ycc_matrix(matrix)), ycc, axes=1)
    return np.ascontiguousarray(np.clip(rgb, 0, _BRIGHTEST), dtype=np.float32)


def scope_inks(matrix: Matrix, size: int) -> Planes:
    """Colour of each place on a vectorscope.

    Parameters
    ----------
    matrix : {"bt601", "bt709"}
    size : int

    Returns
    -------
    (3, size, size) float32
    """
    side = ((np.arange(size) + 0.5) / size * 2 - 1) * SPAN
    return hue_inks(*np.meshgrid(side, -side), matrix)
