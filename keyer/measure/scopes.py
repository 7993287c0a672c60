"""What a waveform monitor and a vectorscope show, as counts.

The waveform has luma over the place across the picture; the vectorscope has
Cb to the right and Cr up, for BT.709 or BT.601 as the picture is.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from keyer.kinds.arrays import Planes
from keyer.kinds.picture import Matrix
from keyer.pixel.colour.luma_chroma import rgb_to_ycc, rgb_to_ycc_matrix

LOWEST, HIGHEST = -10.0, 110.0
"""Levels at the foot and the head of a waveform, percent."""

SPAN = 0.6
"""Cb and Cr at the edge of a vectorscope; full chroma is 0.5."""

BARS = {
    "R": (1, 0, 0), "Yl": (1, 1, 0), "G": (0, 1, 0),
    "Cy": (0, 1, 1), "B": (0, 0, 1), "Mg": (1, 0, 1),
}  # fmt: skip
"""Colours of the bars."""


def waveform(
    planes: Planes, matrix: Matrix, columns: int = 480, rows: int = 240
) -> NDArray[np.float32]:
    """Count how often each level of luma stands in each part of the picture's width.

    Parameters
    ----------
    planes : (3, H, W) float32
        R'G'B', black at 0, white at 1; levels beyond are counted as well.
    matrix : {"bt601", "bt709"}
    columns, rows : int

    Returns
    -------
    (rows, columns) float32
        Share of the pixels of each column; the first row is the highest
        level, `HIGHEST`. Levels beyond the ends count there.
    """
    luma = np.tensordot(rgb_to_ycc_matrix(matrix)[0].astype(np.float32), planes, axes=1)
    columns = min(columns, luma.shape[1])
    share = (HIGHEST - 100 * luma) / np.float32(HIGHEST - LOWEST)
    row = np.clip((share * rows).astype(np.int32), 0, rows - 1)
    column = np.arange(luma.shape[1], dtype=np.int32) * columns // luma.shape[1]
    counts = np.bincount((row * columns + column).ravel(), minlength=rows * columns)
    pixels = np.bincount(column, minlength=columns) * luma.shape[0]
    return np.asarray(counts.reshape(rows, columns) / pixels, np.float32)


def vectorscope(planes: Planes, matrix: Matrix, size: int = 240) -> NDArray[np.float32]:
    """Count how often each hue and chroma stands in the picture.

    Parameters
    ----------
    planes : (3, H, W) float32
        R'G'B'.
    matrix : {"bt601", "bt709"}
    size : int

    Returns
    -------
    (size, size) float32
        Share of the picture's pixels; Cb from -`SPAN` to `SPAN` to the right,
        Cr upwards, so the first row has the largest Cr. Chroma beyond the ends
        counts there.
    """
    _, cb, cr = rgb_to_ycc(planes, matrix)
    column = np.clip(((cb / SPAN + 1) / 2 * size).astype(np.int32), 0, size - 1)
    row = np.clip(((1 - cr / SPAN) / 2 * size).astype(np.int32), 0, size - 1)
    counts = np.bincount((row * size + column).ravel(), minlength=size * size)
    return np.asarray(counts.reshape(size, size) / cb.size, np.float32)


def bar_points(matrix: Matrix) -> dict[str, tuple[float, float]]:
    """Find where the colours of bars of 75 percent lie on a vectorscope.

    Parameters
    ----------
    matrix : {"bt601", "bt709"}

    Returns
    -------
    dict
        Cb and Cr by the colour's short name.
    """
    weights = rgb_to_ycc_matrix(matrix)[1:] * 0.75
    points = {name: weights @ np.array(rgb, np.float64) for name, rgb in BARS.items()}
    return {name: (float(cb), float(cr)) for name, (cb, cr) in points.items()}
