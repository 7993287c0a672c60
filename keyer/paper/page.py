"""A page and what stands on it, in millimetres from its top left corner.

Lettering is laid out by `keyer.titles`, so that a page may hold any script that
a title may, at the resolution of the pixel form; the PDF form takes the same
lines and places.
"""

from __future__ import annotations

import re
from dataclasses import dataclass, field
from typing import Any

import numpy as np
from numpy.typing import NDArray

from keyer.errors import KeyerError, SettingError
from keyer.kinds.ranges import one_of
from keyer.titles.lines import Line, clean, lay_line
from keyer.titles.model import TextStyle
from keyer.titles.paragraphs import Fit, lay_paragraph

DPI = 200
"""Resolution of the pixel form, dpi: A3 becomes 3307 x 2339."""

MM_PER_INCH = 25.4
DOTS_PER_MM = DPI / MM_PER_INCH
POINT = DPI / 72
"""Dots of a typographic point; a style's size on paper is in points."""

PAPERS = {"A3": (420.0, 297.0), "A4": (297.0, 210.0)}
"""Width and height of landscape sheets in mm (ISO 216)."""

_BEFORE_A_SIGN = re.compile(r"(?<=\d) (?=[%°])")
"""The blank between a number and its sign, at which no line ends."""

_MISSING = "\N{WHITE VERTICAL RECTANGLE}"
_LEAST = 4


@dataclass(frozen=True)
class Block:
    """A plain rectangle."""

    x: float
    y: float
    width: float
    height: float
    colour: str


@dataclass(frozen=True)
class Words:
    """A line of text; `x` and `baseline` are where it starts."""

    x: float
    baseline: float
    line: Line


@dataclass(frozen=True, eq=False)
class Photo:
    """A picture, stretched to its rectangle.

    Attributes
    ----------
    x, y, width, height : float
    pixels : (H, W, 3) uint8
    """

    x: float
    y: float
    width: float
    height: float
    pixels: NDArray[np.uint8]


@dataclass(frozen=True)
class Stroke:
    """A line through points, each a place in mm."""

    points: tuple[tuple[float, float], ...]
    thickness: float
    colour: str


@dataclass(frozen=True)
class Page:
    """One side of a sheet of paper; later items lie on top."""

    width: float
    height: float
    items: list[Block | Words | Photo | Stroke] = field(default_factory=list)


def paper_size(paper: str) -> tuple[float, float]:
    """Width and height of a landscape sheet in mm.

    Raises
    ------
    SettingError
        If its name is unknown.
    """
    return PAPERS[one_of("paper", paper, tuple(PAPERS))]


def style(size: float, colour: str, weight: int = 400, **more: Any) -> TextStyle:
    """Make a text style for paper.

    Parameters
    ----------
    size : float
        In points.
    colour : str
        `#RRGGBB`.
    weight : int
    more : Any
        Other settings of a `TextStyle`.
    """
    return TextStyle(size=size, colour=colour, weight=weight, **more)


def width_of(line: Line) -> float:
    """Width of a line in mm."""
    return line.width / DOTS_PER_MM


def line_of(text: str, how: TextStyle, width: float | None = None) -> Line:
    """Lay out one line, cut with an ellipsis where it is too wide.

    Parameters
    ----------
    text : str
    how : TextStyle
        Its size in points.
    width : float, optional
        In mm.

    Returns
    -------
    Line
        A character that is in no font at hand shows as an empty box.
    """
    said = clean(" ".join(text.split()), how)
    line = _laid(said, how)
    while width is not None and width_of(line) > width and len(said) > _LEAST:
        share = width / width_of(line)
        said = said[: min(len(said) - 2, int(len(said) * share))].rstrip(" ,;:") + "…"
        line = _laid(said, how)
    return line


def _laid(text: str, how: TextStyle) -> Line:
    try:
        return lay_line([(text, how)], POINT)
    except SettingError:
        return lay_line([(_drawable(text, how), how)], POINT)


def _drawable(text: str, how: TextStyle) -> str:
    """Replace characters that no font can draw."""
    return "".join(char if _can_draw(char, how) else _MISSING for char in text)


def _can_draw(char: str, how: TextStyle) -> bool:
    try:
        lay_line([(char, how)], POINT)
    except KeyerError:
        return False
    return True


def lines_of(text: str, how: TextStyle, width: float, most: int) -> list[Line]:
    """Break a text into lines of a width.

    Parameters
    ----------
    text : str
    how : TextStyle
    width : float
        In mm.
    most : int
        Lines; what is beyond is cut with an ellipsis.
    """
    said = _BEFORE_A_SIGN.sub("\N{NO-BREAK SPACE}", " ".join(text.split()))
    fit = Fit("wrap", width * DOTS_PER_MM, 1.0, most)
    try:
        lines = lay_paragraph([(said, how)], POINT, fit)[0].lines
    except SettingError:
        said = _drawable(clean(said, how), how)
        lines = lay_paragraph([(said, how)], POINT, fit)[0].lines
    if len(lines) <= most and all(width_of(line) <= width + 0.01 for line in lines):
        return list(lines)
    if most == 1:
        return [line_of(said, how, width)]
    first = lines[0].text.strip()
    if not said.startswith(first):  # not in reading order
        return [line_of(said, how, width)]
    rest = said[len(first) :].strip()
    return [line_of(first, how, width), *lines_of(rest, how, width, most - 1)]
