"""Boards: numbered pictures in a grid under a heading, on as many pages as it takes."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass

from keyer.paper.cells import ACCENT, GREY, INK, PALE, Cell, caption_height, draw_cell
from keyer.paper.page import Block, Page, Words, line_of, style, width_of

MARGIN = 0.038
"""Of the paper's width, all round."""

MOST_COLUMNS = 6
SMALLEST = 0.142
"""Width of a picture that can still be judged, of the paper's width: 60 mm on A3; ours."""
_WIDE = 16 / 9
"""Shape for which that holds; a taller picture may be narrower, as large in area."""

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


def board_grid(
    cells: Sequence[Cell],
    heading: Heading,
    size: tuple[float, float],
    aspect: float,
    together: int = 1,
    smallest: float = SMALLEST,
) -> Grid:
    """Choose how `lay_board` lays pictures out, without drawing them.

    Parameters
    ----------
    cells, heading, size, aspect, together, smallest
        As for `lay_board`.

    Returns
    -------
    Grid
    """
    area = draw_heading(Page(*size), heading)
    least = smallest * size[0] * min(math.sqrt(aspect / _WIDE), 1)  # of the same area
    return choose_grid(cells, area, aspect, least, together)


def lay_board(
    cells: Sequence[Cell],
    heading: Heading,
    size: tuple[float, float],
    aspect: float,
    together: int = 1,
    smallest: float = SMALLEST,
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
    together : int
        So many pictures, one after the other, stand in one row.
    smallest : float
        Width of a picture that can still be judged, of the paper's width; 0: all on one page.

    Returns
    -------
    list of Page
    """
    grid = board_grid(cells, heading, size, aspect, together, smallest)
    pages = []
    rest = list(cells)
    for n, rows in enumerate(grid.pages, 1):
        part, rest = rest[: len(rows) * grid.columns], rest[len(rows) * grid.columns :]
        page = Page(*size)
        where = f"{n} of {len(grid.pages)}" if len(grid.pages) > 1 else ""
        area = draw_heading(page, heading, range(part[0].number, part[-1].number + 1), where)
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
    cells: Sequence[Cell], area: Area, aspect: float, smallest: float, together: int = 1
) -> Grid:
    """Choose how many pictures stand in a row and on a page, and how large.

    Parameters
    ----------
    cells : sequence of Cell
    area : Area
    aspect : float
    smallest : float
        Width in mm under which a picture can not be judged.
    together : int
        So many pictures stand in one row, if a row takes as many.

    Returns
    -------
    Grid
        That with the fewest pages; of these, that with the largest pictures.
    """
    most = min(MOST_COLUMNS, len(cells))
    numbers = range(together, most + 1, together) or range(1, most + 1)
    grids = [grid for n in numbers for grid in _grids(cells, area, aspect, n)]
    return max(grids, key=lambda grid: (grid.width >= smallest, -len(grid.pages), grid.width))


def _grids(cells: Sequence[Cell], area: Area, aspect: float, columns: int) -> Iterator[Grid]:
    """Yield the grids of so many columns, from one row on a page to all rows on one."""
    room = (area.width - (columns - 1) * _GAP_X) / columns
    rows = [
        max(caption_height(cell, room) for cell in cells[start : start + columns])
        for start in range(0, len(cells), columns)
    ]
    for most in range(1, len(rows) + 1):
        pages = [rows[start : start + most] for start in range(0, len(rows), most)]
        heights = (
            (area.height - sum(page) - (len(page) - 1) * _GAP_Y) / len(page) for page in pages
        )
        yield Grid(columns, room, min(room, min(heights) * aspect), pages)


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
