"""Letters as coverage: drawn large, leaned, outlined, brought down to the pixel grid.

Everything is drawn in oversampled display pixels and reduced once by area, so
letters keep their place to a fraction of a pixel and their shape where pixels
are not square. Coverage is 0..1; colours stay apart from it, which keeps the
edges of a straight-alpha title clean.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise
from typing import Any

import cv2
import numpy as np
from numpy.typing import NDArray
from PIL import Image, ImageDraw

from keyer.titles.lines import OVERSAMPLE, Line, Piece
from keyer.titles.model import TextStyle

Coverage = NDArray[np.float32]
_HALF = 127
_TOGETHER = 6
"""Lines drawn in one go: a page that rolls is too tall to draw large as a whole."""


@dataclass(frozen=True)
class Canvas:
    """Size and pixel aspect of the picture that a title is drawn for.

    Attributes
    ----------
    width, height : int
        Pixels.
    pixel_aspect : float
        Width of a pixel as shown, over its height.
    """

    width: int
    height: int
    pixel_aspect: float = 1.0

    @property
    def unit(self) -> float:
        """Display pixels in one percent of the picture height."""
        return self.height / 100

    @property
    def shown_width(self) -> float:
        """Width in display pixels."""
        return self.width * self.pixel_aspect


@dataclass(frozen=True, eq=False)
class Mark:
    """A piece of coverage (0..1) with its place in the picture.

    Attributes
    ----------
    coverage : (h, w) float32, 0..1
    left, top : int
        Its place in the picture, in pixels; may lie outside.
    """

    coverage: Coverage
    left: int
    top: int


@dataclass(frozen=True, eq=False)
class Ink:
    """What one style leaves on the picture: the letters, and their outline if it has one."""

    style: TextStyle
    letters: Mark
    outline: Mark | None


@dataclass(frozen=True)
class Placed:
    """A line with its start, in display pixels from the picture's top left corner."""

    line: Line
    x: float
    baseline: float


def draw_ink(lines: Sequence[Placed], canvas: Canvas) -> list[Ink]:
    """Draw lines of text.

    Returns
    -------
    list of Ink
        One for each style and few lines, in the order in which they first appear.
    """
    styles: dict[tuple[TextStyle, int], list[tuple[Piece, float, float]]] = {}
    for i, placed in enumerate(lines):
        for piece in placed.line.pieces:
            if not piece.text.isspace():
                at = (piece, placed.x + piece.x, placed.baseline)
                styles.setdefault((piece.style, i // _TOGETHER), []).append(at)
    inks = (_ink(style, pieces, canvas) for (style, _), pieces in styles.items())
    return [ink for ink in inks if ink]


def ink_bounds(placed: Placed, canvas: Canvas) -> tuple[float, float, float, float]:
    """Tell where the letters of a line lie, with their outlines.

    Returns
    -------
    left, top, right, bottom : float
        Display pixels from the picture's top left corner; a point at the line's
        start for a line of blanks.
    """
    boxes = [
        _bounds([(piece, placed.x + piece.x, placed.baseline)], _outline(piece.style, canvas))
        for piece in placed.line.pieces
        if not piece.text.isspace()
    ]
    if not boxes:
        return placed.x, placed.baseline, placed.x, placed.baseline
    left, top, right, bottom = zip(*boxes, strict=True)
    return min(left), min(top), max(right), max(bottom)


def _outline(style: TextStyle, canvas: Canvas) -> float:
    """Width of a style's outline in display pixels."""
    return style.outline.width * canvas.unit if style.outline else 0.0


def _bounds(
    pieces: Sequence[tuple[Piece, float, float]], margin: float
) -> tuple[float, float, float, float]:
    """Display rectangle that holds the pieces, their lean and a margin."""
    left = top = math.inf
    right = bottom = -math.inf
    for piece, x, baseline in pieces:
        box = piece.font.box(piece.text, **piece.options)
        x0, y0, x1, y1 = (value / OVERSAMPLE for value in box)
        tangent = math.tan(math.radians(piece.slant))
        lean = sorted((-y0 * tangent, -y1 * tangent))
        left, right = min(left, x + x0 + lean[0]), max(right, x + x1 + lean[1])
        top, bottom = min(top, baseline + y0), max(bottom, baseline + y1)
    return left - margin, top - margin, right + margin, bottom + margin


def _ink(
    style: TextStyle, pieces: Sequence[tuple[Piece, float, float]], canvas: Canvas
) -> Ink | None:
    aspect = canvas.pixel_aspect
    line_width = _outline(style, canvas)
    left, top, right, bottom = _bounds(pieces, line_width + 1.5)
    if not (right > left and bottom > top):
        return None
    column, row = math.floor(left / aspect), math.floor(top)
    columns, rows = math.ceil(right / aspect) - column, math.ceil(bottom) - row
    large = np.zeros(
        (rows * OVERSAMPLE, max(1, round(columns * aspect * OVERSAMPLE))), dtype=np.uint8
    )
    slants = {piece.slant for piece, _, _ in pieces}
    for slant in slants:
        group = [item for item in pieces if item[0].slant == slant]
        _merge(large, group, slant, column * aspect, row)
    letters = Mark(_reduced(large, columns, rows), column, row)
    outline = None
    if line_width:
        grown = _grown(large, line_width * OVERSAMPLE)
        outline = Mark(_reduced(grown, columns, rows), column, row)
    return Ink(style, letters, outline)


def _merge(
    large: NDArray[np.uint8],
    pieces: Sequence[tuple[Piece, float, float]],
    slant: float,
    left: float,
    top: float,
) -> None:
    """Draw pieces of one lean into an oversampled plane."""
    picture = Image.new("L", (large.shape[1], large.shape[0]))
    draw = ImageDraw.Draw(picture)
    for piece, x, baseline in pieces:
        at = ((x - left) * OVERSAMPLE, (baseline - top) * OVERSAMPLE)
        piece.font.draw(draw, at, piece.text, **piece.options)
    drawn = np.asarray(picture)
    if slant:
        drawn = _leaned(drawn, pieces, slant, top)
    np.maximum(large, drawn, out=large)


def _leaned(
    drawn: NDArray[np.uint8],
    pieces: Sequence[tuple[Piece, float, float]],
    slant: float,
    top: float,
) -> NDArray[np.uint8]:
    """Shear each line about its own baseline."""
    tangent = math.tan(math.radians(slant))
    result = np.zeros_like(drawn)
    baselines = sorted({baseline for _, _, baseline in pieces})
    feet = [*((a + b) / 2 for a, b in pairwise(baselines)), math.inf]
    start = 0
    for baseline, foot in zip(baselines, feet, strict=True):
        zero = (baseline - top) * OVERSAMPLE
        end = drawn.shape[0] if foot == math.inf else round((foot - top) * OVERSAMPLE)
        shear = np.array([[1, -tangent, tangent * (zero - start)], [0, 1, 0]])
        band = np.ascontiguousarray(drawn[start:end])
        size = (band.shape[1], band.shape[0])
        result[start:end] = cv2.warpAffine(band, shear, size, flags=cv2.INTER_LINEAR)
        start = end
    return result


def _grown(large: NDArray[np.uint8], radius: float) -> Coverage:
    """Coverage of everything within `radius` pixels of the letters, round at corners."""
    away = cv2.distanceTransform(
        np.where(large > _HALF, np.uint8(0), np.uint8(1)), cv2.DIST_L2, cv2.DIST_MASK_PRECISE
    )
    # distances run from centre to centre; the letters end half a pixel before, pixels begin so
    grown: Coverage = np.clip(radius + 1 - away, 0, 1).astype(np.float32)
    return grown


def _reduced(large: NDArray[Any], columns: int, rows: int) -> Coverage:
    """Average oversampled coverage over each pixel."""
    small = np.asarray(cv2.resize(large, (columns, rows), interpolation=cv2.INTER_AREA))
    scale = np.float32(1 / 255 if large.dtype == np.uint8 else 1)
    return small.astype(np.float32) * scale


def shifted(mark: Mark, right: float, down: float, soft: float, aspect: float) -> Mark:
    """Move coverage and soften it: what a shadow covers.

    Parameters
    ----------
    mark : Mark
    right, down : float
        Display pixels.
    soft : float
        Width over which an edge fades, in display pixels: four standard
        deviations of a Gaussian.
    aspect : float
        Pixel aspect.
    """
    sigma = soft / 4
    x, y = mark.left + right / aspect, mark.top + down
    left, top = math.floor(x), math.floor(y)
    pad_x, pad_y = math.ceil(3 * sigma / aspect) + 1, math.ceil(3 * sigma) + 1
    plane = np.pad(mark.coverage, ((pad_y, pad_y), (pad_x, pad_x)))
    shift = np.array([[1, 0, x - left], [0, 1, y - top]])
    if x != left or y != top:
        plane = cv2.warpAffine(plane, shift, (plane.shape[1], plane.shape[0]))  # type: ignore[assignment]
    if sigma > 0:
        size = (2 * pad_x - 1, 2 * pad_y - 1)
        plane = cv2.GaussianBlur(plane, size, sigma / aspect, sigmaY=sigma)  # type: ignore[assignment]
    return Mark(plane.astype(np.float32, copy=False), left - pad_x, top - pad_y)
