"""One numbered picture of a board with what stands under it."""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray

from keyer.paper.page import Block, Page, Photo, Words, line_of, lines_of, style, width_of
from keyer.titles.lines import Line

INK, GREY, PALE, ACCENT = "#15191D", "#5B656E", "#CBD2D8", "#0B6B75"
"""Colours of letters, of what is beside the point, of rules, and of what matters."""

_NUMBER = style(12.5, ACCENT, 700)
_TIME = style(10.5, INK, 600)
_STRONG = style(9.5, INK, 600)
_PLAIN = style(8.5, GREY)
_MARK = style(8.5, GREY)
_TOLD = style(8.5, ACCENT, 600)
_UNDER, _PITCH, _LEAD, _AFTER = 5.0, 3.75, 0.6, 1.2
_SWATCH, _HAIR = 4.4, 0.12
_MOST_LINES = 6
_MOST_BROKEN = 2


@dataclass(frozen=True)
class Caption:
    """A text under a picture; `swatch` shows a colour before it."""

    text: str
    strong: bool = False
    swatch: str = ""


@dataclass(frozen=True, eq=False)
class Cell:
    """One picture of a board, with its number and captions.

    Attributes
    ----------
    number : int
    pixels : (H, W, 3) uint8
    captions : tuple of Caption
    time : str
        Beside the number.
    mark : str
        At the right of the number's line.
    told : bool
        Whether the mark is to be noticed.
    """

    number: int
    pixels: NDArray[np.uint8]
    captions: tuple[Caption, ...]
    time: str = ""
    mark: str = ""
    told: bool = False


@lru_cache(maxsize=4096)
def _set(captions: tuple[Caption, ...], width: float) -> list[tuple[Line, Caption, bool]]:
    """Break captions into lines; True marks the first line of one."""
    lines: list[tuple[Line, Caption, bool]] = []
    for caption in captions:
        room = width - (_SWATCH if caption.swatch else 0)
        how = _STRONG if caption.strong else _PLAIN
        broken = lines_of(caption.text, how, room, _MOST_BROKEN)
        lines += [(line, caption, n == 0) for n, line in enumerate(broken)]
    return lines[:_MOST_LINES]


def caption_height(cell: Cell, width: float) -> float:
    """Height of what stands under a picture, in mm.

    Parameters
    ----------
    cell : Cell
    width : float
        In mm.
    """
    return _UNDER + _LEAD + len(_set(cell.captions, width)) * _PITCH + _AFTER


def draw_cell(
    page: Page, cell: Cell, place: tuple[float, float, float, float], room: float
) -> None:
    """Draw a picture and its captions.

    Parameters
    ----------
    page : Page
        Is drawn on.
    cell : Cell
    place : tuple of four floats
        Left, top, width and height of the picture in mm.
    room : float
        Width for the captions.
    """
    x, y, width, height = place
    items = page.items
    items.append(Block(x - _HAIR, y - _HAIR, width + 2 * _HAIR, height + 2 * _HAIR, PALE))
    items.append(Photo(x, y, width, height, cell.pixels))
    baseline = y + height + _UNDER
    number = line_of(str(cell.number), _NUMBER)
    items.append(Words(x, baseline, number))
    time = line_of(cell.time, _TIME)
    items.append(Words(x + width_of(number) + 2.6, baseline, time))
    if cell.mark:
        left = width - width_of(number) - width_of(time) - 6
        mark = line_of(cell.mark, _TOLD if cell.told else _MARK, left)
        items.append(Words(x + width - width_of(mark), baseline, mark))
    baseline += _LEAD
    for line, caption, first in _set(cell.captions, room):
        baseline += _PITCH
        indent = _SWATCH if caption.swatch else 0.0
        if caption.swatch and first:
            items.append(Block(x, baseline - 2.5, 3.2, 2.8, PALE))
            inner = (x + _HAIR, baseline - 2.5 + _HAIR, 3.2 - 2 * _HAIR, 2.8 - 2 * _HAIR)
            items.append(Block(*inner, caption.swatch))
        items.append(Words(x + indent, baseline, line))
