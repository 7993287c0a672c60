"""Signal levels: R, G, B and luma against the tolerance of EBU R 103.

R 103 version 3.0 [r103] allows each of R, G, B and Y five percent of the
expected range beyond both of its ends, counted in codes: 5 to 246 of eight
bits, 20 to 984 of ten. Small excursions are filtered out before measuring, and
what is left may cover one percent of the picture. (EBU QC item 0051B gives the
tolerance; the filter is quoted second-hand.)
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from keyer.kinds.arrays import Planes
from keyer.kinds.limits import LIMITS
from keyer.kinds.picture import Matrix
from keyer.kinds.verdicts import Verdict
from keyer.measure.cells import WHOLE, Place, place_of
from keyer.pixel.colour.luma_chroma import rgb_to_ycc_matrix
from keyer.pixel.kernels.bands import run_bands
from keyer.pixel.kernels.jit import kernel

BLACK, WHITE = 64, 940
"""Ten-bit codes of black and nominal white (ITU-R BT.709-6 item 4.6)."""

LOWEST, HIGHEST = 20, 984
"""Ten-bit codes that R 103 prefers; five percent of 877 codes, 44, beyond black and white."""

MAX_AREA_PERCENT = LIMITS["levels.range"].fails
"""Percent of the picture that may lie outside (R 103)."""

COMPONENTS = ("R", "G", "B", "Y")

Row = NDArray[np.float32]
Rows = NDArray[np.float32]
Weights = tuple[np.float32, np.float32, np.float32]
Span = tuple[int, int]
Four = tuple[float, float, float, float]


@dataclass(frozen=True)
class Allowed:
    """Levels that R, G, B and luma may have, and the area that may lie outside.

    Attributes
    ----------
    lowest, highest : float
        Of R, G, B and Y, in percent: 0 is black, 100 is white.
    area_percent : float
        Percent of the picture that may lie outside, filtered.
    """

    lowest: float = 100 * (LOWEST - BLACK) / (WHITE - BLACK)
    highest: float = 100 * (HIGHEST - BLACK) / (WHITE - BLACK)
    area_percent: float = MAX_AREA_PERCENT

    @property
    def signals(self) -> tuple[np.float32, np.float32]:
        """Signals beyond which a level rounds to a code of ten bits outside."""
        whole, half = WHITE - BLACK, 0.5
        low, high = (round(share * whole / 100) for share in (self.lowest, self.highest))
        return np.float32((low - half) / whole), np.float32((high + half) / whole)


R103 = Allowed()
"""What EBU R 103 prefers."""


@dataclass(frozen=True)
class Levels:
    """Lowest and highest levels of a picture, and how much of it lies outside what is allowed.

    Attributes
    ----------
    lowest, highest : tuple of four floats
        Of any pixel's R, G, B and Y, in percent: 0 is black, 100 is white.
        Unfiltered.
    outside_percent : float
        Percent of the picture in which any of the four lies outside, filtered.
    parts_percent : tuple of four floats
        The same for each of them.
    place : Place
        Where they do.
    """

    lowest: Four
    highest: Four
    outside_percent: float = 0.0
    parts_percent: Four = (0.0, 0.0, 0.0, 0.0)
    place: Place = WHOLE

    @property
    def worst(self) -> tuple[str, float]:
        """Component that goes farthest out, and its level in percent."""
        below = min(range(4), key=self.lowest.__getitem__)
        above = max(range(4), key=self.highest.__getitem__)
        if -self.lowest[below] > self.highest[above] - 100:
            return COMPONENTS[below], self.lowest[below]
        return COMPONENTS[above], self.highest[above]


def code(percent: float, bits: int = 10) -> int:
    """Return the ten-bit code of a level in percent (narrow range).

    Parameters
    ----------
    percent : float
        0 is black, 100 is white.
    bits : int

    Examples
    --------
    >>> code(100), code(0, 8), code(105, 8)
    (940, 16, 246)
    """
    return round((16 + 219 * percent / 100) * (1 << (bits - 8)))


@kernel
def _stretch(first: Row, second: Row, third: Row, fourth: Row, low: Row, high: Row) -> None:
    """Let the limits of each column take four rows in: they are loaded and stored once for all."""
    for x in range(low.size):
        least, most = low[x], high[x]
        a, b, c, d = first[x], second[x], third[x], fourth[x]
        least = a if a < least else least
        most = a if a > most else most
        least = b if b < least else least
        most = b if b > most else most
        least = c if c < least else least
        most = c if c > most else most
        least = d if d < least else least
        most = d if d > most else most
        low[x], high[x] = least, most


@kernel
def _weigh(red: Row, green: Row, blue: Row, weights: Weights, out: Row) -> None:
    for x in range(out.size):
        out[x] = weights[0] * red[x] + weights[1] * green[x] + weights[2] * blue[x]


@kernel
def _limits(
    planes: Planes, weights: Weights, rows: Span, columns: Span, low: Rows, high: Rows
) -> None:
    """Lowest and highest of R, G, B and Y in some columns of a strip."""
    left, right = columns
    size = right - left
    last = rows[1] - 1
    low[:, left:right] = np.inf
    high[:, left:right] = -np.inf
    one, two = np.empty(size, np.float32), np.empty(size, np.float32)
    three, four = np.empty(size, np.float32), np.empty(size, np.float32)
    for y in range(rows[0], rows[1], 4):
        a, b, c, d = y, min(y + 1, last), min(y + 2, last), min(y + 3, last)
        for n in range(3):
            plane = planes[n]
            _stretch(
                plane[a, left:right], plane[b, left:right], plane[c, left:right],
                plane[d, left:right], low[n, left:right], high[n, left:right],
            )  # fmt: skip
        red, green, blue = planes[0], planes[1], planes[2]
        _weigh(red[a, left:right], green[a, left:right], blue[a, left:right], weights, one)
        _weigh(red[b, left:right], green[b, left:right], blue[b, left:right], weights, two)
        _weigh(red[c, left:right], green[c, left:right], blue[c, left:right], weights, three)
        _weigh(red[d, left:right], green[d, left:right], blue[d, left:right], weights, four)
        _stretch(one, two, three, four, low[3, left:right], high[3, left:right])


@kernel
def _soften(above: Row, row: Row, below: Row, wide: Row, out: Row) -> None:
    """Filter a row: 1 2 3 4 3 2 1 along it and 1 2 1 across, over 64 (R 103, second-hand).

    The picture's edge stands for what is beyond it. `wide` has three samples more at each end.
    """
    last = row.size + 2
    for x in range(row.size):
        wide[x + 3] = above[x] + np.float32(2) * row[x] + below[x]
    for k in range(3):
        wide[k] = wide[3]
        wide[last + 1 + k] = wide[last]
    for x in range(row.size):
        near = wide[x + 2] + wide[x + 4]
        far = wide[x + 1] + wide[x + 5]
        ends = wide[x] + wide[x + 6]
        whole = np.float32(4) * wide[x + 3] + np.float32(3) * near + np.float32(2) * far + ends
        out[x] = whole * np.float32(1 / 64)


@kernel
def _mark(
    row: Row, part: np.uint8, low: np.float32, high: np.float32, out: NDArray[np.uint8]
) -> None:
    for x in range(row.size):
        out[x] |= part if row[x] < low or row[x] > high else np.uint8(0)


@kernel
def _outside(
    planes: Planes,
    weights: Weights,
    allowed: tuple[np.float32, np.float32],
    top: int,
    counts: NDArray[np.int64],
    out: NDArray[np.uint8],
) -> None:
    """Mark and count what lies outside: bits 0 to 2 for R, G and B, bit 3 for Y."""
    height, width = planes.shape[1:]
    wide = np.empty(width + 6, np.float32)
    soft = np.empty((4, width), np.float32)
    low, high = allowed
    for row in range(out.shape[0]):
        y = top + row
        out[row] = 0
        for c in range(3):
            plane = planes[c]
            _soften(plane[max(y - 1, 0)], plane[y], plane[min(y + 1, height - 1)], wide, soft[c])
            _mark(soft[c], np.uint8(1 << c), low, high, out[row])
        _weigh(soft[0], soft[1], soft[2], weights, soft[3])
        _mark(soft[3], np.uint8(8), low, high, out[row])
        for x in range(width):
            counts[out[row, x]] += 1


def _weights(matrix: Matrix) -> Weights:
    red, green, blue = rgb_to_ycc_matrix(matrix)[0]
    return np.float32(red), np.float32(green), np.float32(blue)


class LevelsMeter:
    """Measures a picture of which parts change: what has not changed is not looked at again.

    Parameters
    ----------
    planes : (3, H, W) float32
        R'G'B', nominal 0..1; looked at as they are when a part is taken.
    matrix : {"bt601", "bt709"}
        Which luma.
    edges : sequence of int
        Rows on which strips begin, and H: each strip is looked at as one.
    allowed : Allowed
        Beyond which they lie outside.
    """

    def __init__(
        self, planes: Planes, matrix: Matrix, edges: Sequence[int], allowed: Allowed = R103
    ) -> None:
        self._allowed = allowed.signals
        self._planes, self._weights = planes, _weights(matrix)
        self._strips = {top: number for number, top in enumerate(edges[:-1])}
        self._low, self._high = np.empty((2, len(self._strips), 4, planes.shape[2]), np.float32)

    def take(self, top: int, bottom: int, left: int, right: int) -> None:
        """Look at a part; each part has to be taken once before anything is read.

        Parameters
        ----------
        top, bottom : int
            Of a strip.
        left, right : int
            Columns, `right` excluded.
        """
        strip = self._strips[top]
        low, high = self._low[strip], self._high[strip]
        _limits(self._planes, self._weights, (top, bottom), (left, right), low, high)

    def read(self, *, threads: int | None = None) -> Levels:
        """Give the levels of the picture as it stands."""
        lowest, highest = self._low.min(axis=(0, 2)), self._high.max(axis=(0, 2))
        low, high = _percent(lowest), _percent(highest)
        # the filter takes a mean, so that it cannot lead outside where nothing was
        if lowest.min() >= self._allowed[0] and highest.max() <= self._allowed[1]:
            return Levels(low, high)
        return self._outside(low, high, threads)

    def _outside(self, low: Four, high: Four, threads: int | None) -> Levels:
        height, width = self._planes.shape[1:]
        counts: list[NDArray[np.int64]] = []
        marks = np.empty((height, width), np.uint8)

        def work(top: int, bottom: int) -> None:
            count = np.zeros(16, np.int64)
            _outside(self._planes, self._weights, self._allowed, top, count, marks[top:bottom])
            counts.append(count)

        run_bands(height, width, work, threads=threads)
        shares = 100.0 * np.sum(counts, axis=0) / marks.size
        red, green, blue, luma = (
            float(sum(shares[n] for n in range(16) if n & 1 << bit)) for bit in range(4)
        )
        parts = (red, green, blue, luma)
        return Levels(low, high, float(shares[1:].sum()), parts, _place(marks > 0))


def _percent(values: NDArray[np.float32]) -> Four:
    red, green, blue, luma = (100.0 * float(value) for value in values)
    return red, green, blue, luma


def _place(mask: NDArray[np.bool_]) -> Place:
    rows, columns = np.flatnonzero(mask.any(axis=1)), np.flatnonzero(mask.any(axis=0))
    if not rows.size:
        return WHOLE
    height, width = mask.shape
    left, right = int(columns[0]) / width, (int(columns[-1]) + 1) / width
    return place_of(left, int(rows[0]) / height, right, (int(rows[-1]) + 1) / height)


def judge_levels(levels: Levels, allowed: Allowed = R103) -> Verdict:
    """Judge levels by the area that lies outside.

    Parameters
    ----------
    levels : Levels
    allowed : Allowed
        As they were measured with.

    Returns
    -------
    Verdict
        Fails above one percent of the picture, or what is allowed instead.
    """
    value = levels.outside_percent
    if levels.outside_percent <= allowed.area_percent:
        return Verdict("levels.range", value, "% of picture", "holds")
    name, level = levels.worst
    remedy = (
        f"{name} goes to {level:.0f} % (code {code(level)} of ten bits): bring the source back to "
        "0 to 100 %, by its gain and its colour, before the effect."
    )
    return Verdict("levels.range", value, "% of picture", "fails", remedy)
