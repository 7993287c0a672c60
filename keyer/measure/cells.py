"""A picture reduced to cells of light: what flashes and stripes are looked for in.

The picture is taken to be as wide as WCAG's screen of 1024 pixels, on which a
field of 10 degrees is 341 pixels wide ("general flash and red flash
thresholds", note 3; technique G176) [wcag]. Coarse cells are 150 to the width,
0.2 degree each: a balanced pattern of squares under 0.1 degree, which WCAG
excepts, evens out within one. Fine cells are three by three to a coarse one.
"""

from __future__ import annotations

from dataclasses import dataclass

import cv2
import numpy as np
from numpy.typing import NDArray

from keyer.kinds.arrays import Planes
from keyer.pixel.kernels.jit import kernel

COLUMNS = 150
"""Coarse cells to the picture's width."""

FINE = 3
"""Fine cells to the side of a coarse one."""

FIELD_WIDTH = 341 / 1024
"""Width of a 10-degree field, as a share of the picture's width (WCAG)."""

FIELD_HEIGHT = 256 / 1024
"""Its height, in picture widths as well (WCAG: 256 of 1024 pixels)."""

STRIP = 64
"""Rows of pixels that are looked at together, about."""

_STEP = 64
"""Columns at a multiple of which a loop over a row begins and ends."""

Light = NDArray[np.float32]


@dataclass(frozen=True)
class Grid:
    """Division of a picture into the cells in which flashes and stripes are counted.

    Attributes
    ----------
    width, height : int
        Of the picture in pixels.
    columns, rows : int
        Coarse cells.
    field_columns, field_rows : float
        Coarse cells of a 10-degree field, exact.
    """

    width: int
    height: int
    columns: int
    rows: int
    field_columns: float
    field_rows: float


@dataclass(frozen=True)
class Place:
    """A part of the picture, in percent of its width and height from left and top."""

    left: float
    top: float
    width: float
    height: float


WHOLE = Place(0.0, 0.0, 100.0, 100.0)


def place_of(left: float, top: float, right: float, bottom: float) -> Place:
    """Make a place of shares 0..1 of the picture's sides."""
    return Place(*(round(100 * part, 1) for part in (left, top, right - left, bottom - top)))


def make_grid(width: int, height: int, pixel_aspect: float = 1.0) -> Grid:
    """Divide a picture into cells that are square on the screen.

    Parameters
    ----------
    width, height : int
        In pixels.
    pixel_aspect : float
        Width of a pixel over its height.

    Returns
    -------
    Grid
        Small pictures have fewer cells, so that a fine one holds a pixel at least.
    """
    columns = max(1, min(COLUMNS, width // FINE))
    shape = height / (width * pixel_aspect)
    rows = max(1, min(round(columns * shape), max(1, height // FINE)))
    return Grid(
        width,
        height,
        columns,
        rows,
        min(FIELD_WIDTH, 1.0) * columns,
        min(FIELD_HEIGHT / shape, 1.0) * rows,
    )


def light_of(signal: NDArray[np.floating]) -> NDArray[np.float64]:
    """Light of a coded component, 0..1, by the curve of sRGB (WCAG, "relative luminance").

    Parameters
    ----------
    signal : array of float
        R', G' or B', nominal 0..1; clamped.

    Returns
    -------
    array of float64
    """
    coded = np.clip(np.asarray(signal, np.float64), 0.0, 1.0)
    return np.where(coded <= 0.04045, coded / 12.92, ((coded + 0.055) / 1.055) ** 2.4)


@kernel
def _add_light(row: Light, total: Light) -> None:
    """Add the light of a row of signals, by the curve of `light_of`.

    The power 2.4 of t is its square times t^0.4, which a polynomial of the
    square root of t meets to 7e-7; so the loop needs no table.
    """
    for x in range(row.size):
        value = row[x] if row[x] > np.float32(0) else np.float32(0)
        value = value if value < np.float32(1) else np.float32(1)
        t = (value + np.float32(0.055)) * np.float32(1 / 1.055)
        s = np.sqrt(t)
        part = np.float32(0.05916687) * s - np.float32(0.27242959)
        part = part * s + np.float32(0.54334832)
        part = part * s - np.float32(0.66539099)
        part = part * s + np.float32(1.29469737)
        part = part * s + np.float32(0.04060852)
        curve = t * t * part
        total[x] += curve if value > np.float32(0.04045) else value * np.float32(1 / 12.92)


@kernel
def _reduce(plane: Light, top: int, bottom: int, begin: int, end: int, out: Light) -> None:
    """Mean light of some rows and columns of cells."""
    height, width = plane.shape
    rows, columns = out.shape
    # a loop that begins elsewhere may round the odd ones at its end in another way
    start = begin * width // columns // _STEP * _STEP
    stop = max(end * width // columns, (end - 1) * width // columns + 1)
    stop = min(-(-stop // _STEP) * _STEP, width)
    total = np.empty(stop - start, np.float32)
    for row in range(top, bottom):
        first = row * height // rows
        last = max((row + 1) * height // rows, first + 1)
        total[:] = 0
        for y in range(first, last):
            _add_light(plane[y, start:stop], total)
        for column in range(begin, end):
            left = column * width // columns
            right = max((column + 1) * width // columns, left + 1)
            part = np.float32(0)
            for x in range(left, right):
                part += total[x - start]
            out[row, column] = part / np.float32((last - first) * (right - left))


class LightMeter:
    """Mean light of the fine cells of a picture of which parts change.

    Parameters
    ----------
    planes : (3, H, W) float32
        R'G'B', nominal 0..1; looked at as they are when a part is taken.
    grid : Grid

    Attributes
    ----------
    light : (3, 3 rows, 3 columns) float32 in [0, 1]
        Linear R, G, B; every part has to be taken once before they are read.
    """

    def __init__(self, planes: Planes, grid: Grid) -> None:
        self._planes, self._grid = planes, grid
        self._rows, self._columns = FINE * grid.rows, FINE * grid.columns
        self.light: Light = np.empty((3, self._rows, self._columns), np.float32)

    def edges(self, strip: int) -> list[int]:
        """Find rows of pixels on which rows of cells begin, about a strip apart; 0 and H as well.

        Parameters
        ----------
        strip : int
            Rows of pixels.
        """
        height, rows = self._grid.height, self._rows
        count = max(1, height // strip)
        found = {rows * one // count * height // rows for one in range(count)}
        return sorted({*found, height})

    def take(self, top: int, bottom: int, left: int, right: int) -> None:
        """Look at the cells that lie in a part, or reach into it from its sides.

        Parameters
        ----------
        top, bottom : int
            From `edges`, so that no cell lies across them.
        left, right : int
            Columns of pixels, `right` excluded.
        """
        grid = self._grid
        first, last = (-(-edge * self._rows // grid.height) for edge in (top, bottom))
        begin, end = left * self._columns // grid.width, -(-right * self._columns // grid.width)
        for channel in range(3):
            _reduce(self._planes[channel], first, last, begin, end, self.light[channel])


def coarse_light(light: Light) -> Light:
    """Return the mean light of each coarse cell, three by three fine ones.

    Parameters
    ----------
    light : (C, 3 rows, 3 columns) float32

    Returns
    -------
    (C, rows, columns) float32
    """
    size = (light.shape[2] // FINE, light.shape[1] // FINE)
    return np.stack([cv2.resize(plane, size, interpolation=cv2.INTER_AREA) for plane in light])


def luminance(light: Light) -> Light:
    """Relative luminance of linear R, G, B (WCAG; ITU-R BT.709-6 primaries).

    Parameters
    ----------
    light : (3, rows, columns) float32

    Returns
    -------
    (rows, columns) float32
    """
    red, green, blue = light
    total: Light = np.float32(0.2126) * red
    total += np.float32(0.7152) * green
    total += np.float32(0.0722) * blue
    return total
