"""What a waveform and a vectorscope look like, on paper and on the page: trace, ink, graticule."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Any, Literal

import cv2
import numpy as np
from numpy.typing import NDArray

from keyer.kinds.arrays import Planes
from keyer.kinds.picture import Matrix
from keyer.measure.scopes import HIGHEST, LOWEST, SPAN, bar_points, vectorscope, waveform
from keyer.pixel.colour.luma_chroma import FULL_CHROMA, rgb_to_ycc_matrix

Shade = NDArray[np.float32]

_FAINT_LEVELS, _FAINT_HUES = 0.35, 0.2
"""Exponents that let what is rare be seen beside what is frequent."""

_BETWEEN = 0.7
"""Rows of 240 over which a level is spread: codes of 8 bits lie a row or more apart."""

TOLERANCE = (-5.0, 105.0)
"""EBU R 103 v3.0: five percent beyond black and white."""

_LUMA, _BRIGHTEST = 0.42, 0.85
"""Of a hue's ink: dark enough to be seen on white paper."""

EDGE = 0.97
"""How far axes and sectors reach, as a share of the way from the middle of a vectorscope."""

_SQUARE = 0.035
_NAME_BEYOND = 0.1


@dataclass(frozen=True)
class Level:
    """A level that is drawn across a waveform.

    Attributes
    ----------
    percent : float
    down : float
        From the top, as a share of the waveform's height.
    kind : {"rule", "strong", "tolerance"}
        A rule with its number, that of black or white, or the end of the tolerance.
    """

    percent: float
    down: float
    kind: Literal["rule", "strong", "tolerance"]


_KINDS: dict[float, Literal["rule", "strong", "tolerance"]] = {
    TOLERANCE[0]: "tolerance", TOLERANCE[1]: "tolerance",
    0: "strong", 25: "rule", 50: "rule", 75: "rule", 100: "strong",
}  # fmt: skip

LEVELS = tuple(
    Level(percent, (HIGHEST - percent) / (HIGHEST - LOWEST), kind)
    for percent, kind in _KINDS.items()
)
"""Levels across a waveform, as they are drawn over each other."""

Point = tuple[float, float]


@dataclass(frozen=True)
class Graticule:
    """Lines and names on a vectorscope; its middle is (0, 0), its sides lie 1 to the right and up.

    Attributes
    ----------
    circles : tuple of float
        Radii: full chroma and half of it.
    axes : tuple of (point, point)
    squares : tuple of (left, bottom, right, top)
        About the colour bars of 75 percent.
    bars : tuple of (name, point)
        Where the middle of a bar's name stands.
    """

    circles: tuple[float, ...]
    axes: tuple[tuple[Point, Point], ...]
    squares: tuple[tuple[float, float, float, float], ...]
    bars: tuple[tuple[str, Point], ...]


def graticule(matrix: Matrix) -> Graticule:
    """Lay out the lines and names on a vectorscope."""
    full, r = FULL_CHROMA / SPAN, _SQUARE
    points = {name: (cb / SPAN, cr / SPAN) for name, (cb, cr) in bar_points(matrix).items()}
    return Graticule(
        (full, full / 2),
        (((-EDGE, 0.0), (EDGE, 0.0)), ((0.0, -EDGE), (0.0, EDGE))),
        tuple((x - r, y - r, x + r, y + r) for x, y in points.values()),
        tuple((name, _beyond(x, y)) for name, (x, y) in points.items()),
    )


def _beyond(x: float, y: float) -> Point:
    """Place where the name of a bar stands: farther from the middle."""
    out = 1 + _NAME_BEYOND / math.hypot(x, y)
    return out * x, out * y


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
