"""Boards: numbered pictures in a grid under a heading, on as many pages as it takes."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass

from keyer.report.paper.cells import ACCENT, GREY, INK, PALE, Cell, caption_height, draw_cell
from keyer.report.paper.page import Block, Page, Words, line_of, style, width_of

MARGIN = 0.038
"""Of the paper's width, all round."""

MOST_COLUMNS = 6
SMALLEST = 0.142
"""Width of a picture that can still be judged, of the paper's width: 60 mm on A3; ours."""

_TITLE = style(25, INK, 300)
_KIND = style(8.5, ACCENT, 600, capitals=True, letter_spacing=12)
_FACTS = style(9, GREY)
_FOOT = style(7.5, GREY)
_GAP_X, _GAP_Y = 7.0, 5.0
_WIDEST_GAP, _LOOSE_GAP = 40.0, 14.0
_RULE = 0.15

Strip = Callable[[Page, tuple[float, float, float], range], float]
"""Draws a strip under the heading: given the page, left, top and width, and the numbers of
the page's pictures; returns its height in mm."""


@dataclass(frozen=True)
class Heading:
    """What stands above and below the pictures.

    Attributes
    ----------
    kind, title : str
    facts : tuple of str
        Lines under the title.
    foot : str
    strip : callable or None
    """

    kind: str
    title: str
    facts: tuple[str, ...]
    foot: str
    strip: Strip | None = None


@dataclass(frozen=True)
class Area:
    """A rectangle in mm."""

    x: float
    y: float
    width: float
    height: float


@dataclass(frozen=True)
class Grid:
    """How pictures stand on pages.

    Attributes
    ----------
    columns : int
    room : float
        Width of a column in mm.
    width : float
        Of a picture.
    pages : list of list of float
        Height of the captions of each row, page by page.
    """

    columns: int
    room: float
    width: float
    pages: list[list[float]]

    @property
    def step(self) -> float:
        """From one picture to the next: to both margins, unless the gaps would be too wide."""
        if self.columns == 1:
            return self.width
        whole = self.columns * self.room + (self.columns - 1) * _GAP_X
        gap = (whole - self.columns * self.width) / (self.columns - 1)
        return self.width + (gap if gap <= _WIDEST_GAP else _LOOSE_GAP)

    @property
    def caption_width(self) -> float:
        """Width that a caption may take."""
        return min(self.room, max(self.width, self.step - _GAP_X))


def lay_board(
    cells: Sequence[Cell],
    heading: Heading,
    size: tuple[float, float],
    aspect: float,
    groups: Sequence[int] = (),
) -> list[Page]:
    """Lay numbered pictures out on pages.

    Parameters
    ----------
    cells : sequence of Cell
        At least one.
    heading : Heading
    size : tuple of two floats
        Of the paper, in mm.
    aspect : float
        Width of a picture over its height, as displayed.
    groups : sequence of int
        How many pictures may make a row, where that matters.

    Returns
    -------
    list of Page
    """
    area = draw_heading(Page(*size), heading)
    grid = choose_grid(cells, area, aspect, SMALLEST * size[0], groups)
    pages = []
    rest = list(cells)
    for n, rows in enumerate(grid.pages, 1):
        part, rest = rest[: len(rows) * grid.columns], rest[len(rows) * grid.columns :]
        page = Page(*size)
        where = f"{n} of {len(grid.pages)}" if len(grid.pages) > 1 else ""
        draw_heading(page, heading, range(part[0].number, part[-1].number + 1), where)
        _fill(page, part, grid, rows, (area.x, area.y, aspect))
        pages.append(page)
    return pages


def _fill(
    page: Page,
    cells: Sequence[Cell],
    grid: Grid,
    rows: Sequence[float],
    start: tuple[float, float, float],
) -> None:
    left, y, aspect = start
    height = grid.width / aspect
    for row, caption in enumerate(rows):
        for column, cell in enumerate(cells[row * grid.columns : (row + 1) * grid.columns]):
            x = left + column * grid.step
            draw_cell(page, cell, (x, y, grid.width, height), grid.caption_width)
        y += height + caption + _GAP_Y


def choose_grid(
    cells: Sequence[Cell],
    area: Area,
    aspect: float,
    smallest: float,
    groups: Sequence[int] = (),
) -> Grid:
    """Choose how many pictures stand in a row, and how large.

    Parameters
    ----------
    cells : sequence of Cell
    area : Area
    aspect : float
    smallest : float
        Width in mm under which a picture can not be judged.
    groups : sequence of int
        How many pictures may make a row; none: any number.

    Returns
    -------
    Grid
        That with the largest pictures on a single page; where they would be
        too small, that with the fewest pages.
    """
    numbers = [n for n in groups if n <= MOST_COLUMNS] or range(1, MOST_COLUMNS + 1)
    grids = [_grid(cells, area, aspect, smallest, n) for n in numbers if n <= len(cells)]
    if not grids:
        grids = [_grid(cells, area, aspect, smallest, len(cells))]
    return max(grids, key=lambda grid: (grid.width >= smallest, -len(grid.pages), grid.width))


def _grid(cells: Sequence[Cell], area: Area, aspect: float, smallest: float, columns: int) -> Grid:
    room = (area.width - (columns - 1) * _GAP_X) / columns
    rows = [
        max(caption_height(cell, room) for cell in cells[start : start + columns])
        for start in range(0, len(cells), columns)
    ]
    spare = area.height - sum(rows) - (len(rows) - 1) * _GAP_Y
    width = min(room, spare / len(rows) * aspect)
    if width >= smallest:
        return Grid(columns, room, width, [rows])
    width = min(room, (area.height - max(rows)) * aspect)
    pages: list[list[float]] = []
    left = -math.inf
    for caption in rows:
        needed = width / aspect + caption
        if needed > left:
            pages.append([])
            left = area.height
        pages[-1].append(caption)
        left -= needed + _GAP_Y
    return Grid(columns, room, width, pages)


def draw_heading(page: Page, heading: Heading, numbers: range = range(0), where: str = "") -> Area:
    """Draw heading and foot.

    Parameters
    ----------
    page : Page
        Is drawn on.
    heading : Heading
    numbers : range
        Of the page's pictures, for the strip.
    where : str
        Which page it is.

    Returns
    -------
    Area
        What is left for the pictures.
    """
    margin = MARGIN * page.width
    width = page.width - 2 * margin
    items = page.items
    y = margin + 7.5
    kind = line_of(f"{heading.kind}  {where}" if where else heading.kind, _KIND)
    items.append(Words(margin + width - width_of(kind), y, kind))
    title = line_of(heading.title, _TITLE, width - width_of(kind) - 12)
    items.append(Words(margin - 0.4, y, title))
    y += 1.5
    for fact in heading.facts:
        y += 4.4
        items.append(Words(margin, y, line_of(fact, _FACTS, width)))
    y += 5
    if heading.strip:
        y += heading.strip(page, (margin, y, width), numbers) + 5
    else:
        items.append(Block(margin, y - 2, width, _RULE, PALE))
        y += 3
    foot = page.height - margin * 0.72
    items.append(Block(margin, foot - 4.4, width, _RULE, PALE))
    items.append(Words(margin, foot, line_of(heading.foot, _FOOT, width)))
    return Area(margin, y, width, foot - 7.5 - y)
