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
_APART = 3
"""How many times wider the gap between groups is than that within them."""

_TRIES, _HAIR = 40, 0.01
_RULE = 0.15

Strip = Callable[[Page, tuple[float, float, float], range], float]
"""Draws a strip under the heading: given the page, left, top and width, and the numbers of
the page's pictures; returns its height in mm."""


@dataclass(frozen=True)
class Heading:
    """Title, facts and foot of a board's pages.

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
    """Rows, columns and picture size that fill the pages of a board.

    Attributes
    ----------
    columns : int
    width : float
        Of a picture, in mm.
    lefts : tuple of float
        From the left margin to each picture of a row.
    caption_width : float
        Width that a caption may take.
    pages : list of list of float
        Height of the captions of each row, page by page.
    """

    columns: int
    width: float
    lefts: tuple[float, ...]
    caption_width: float
    pages: list[list[float]]


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
            place = (left + grid.lefts[column], y, grid.width, height)
            draw_cell(page, cell, place, grid.caption_width)
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
    grids = [grid for n in numbers for grid in _grids(cells, area, aspect, n, together)]
    return max(grids, key=lambda grid: (grid.width >= smallest, -len(grid.pages), grid.width))


def _grids(
    cells: Sequence[Cell], area: Area, aspect: float, columns: int, together: int
) -> Iterator[Grid]:
    """Yield the grids of so many columns, from one row on a page to all rows on one."""
    room = (area.width - (columns - 1) * _GAP_X) / columns
    count = -(-len(cells) // columns)
    for most in range(1, count + 1):
        captions = room
        for _ in range(_TRIES):  # narrower captions are higher and leave less for pictures
            rows = _caption_heights(cells, columns, captions)
            pages = [rows[start : start + most] for start in range(0, count, most)]
            heights = (
                (area.height - sum(page) - (len(page) - 1) * _GAP_Y) / len(page) for page in pages
            )
            width = min(room, min(heights) * aspect)
            gap, wider = _gaps(area.width, columns, width, together)
            fits = room if columns == 1 else width + max(gap - _GAP_X, 0)
            if fits >= captions - _HAIR or width <= 0:
                break
            captions = fits
        if width > 0:
            lefts = _lefts(columns, width, (gap, wider), together)
            yield Grid(columns, width, lefts, min(captions, fits), pages)


def _caption_heights(cells: Sequence[Cell], columns: int, width: float) -> list[float]:
    return [
        max(caption_height(cell, width) for cell in cells[start : start + columns])
        for start in range(0, len(cells), columns)
    ]


def _gaps(whole: float, columns: int, width: float, together: int) -> tuple[float, float]:
    """Gaps within groups and between them: to both margins, unless they would be too wide."""
    between = columns // together - 1 if 1 < together < columns else 0
    shares = columns - 1 - between + _APART * between
    gap = (whole - columns * width) / shares if shares else 0.0
    gap = gap if gap <= _WIDEST_GAP else _LOOSE_GAP
    return gap, _APART * gap


def _lefts(
    columns: int, width: float, gaps: tuple[float, float], together: int
) -> tuple[float, ...]:
    gap, wider = gaps
    lefts = [0.0]
    for column in range(1, columns):
        new_group = 1 < together < columns and column % together == 0
        lefts.append(lefts[-1] + width + (wider if new_group else gap))
    return tuple(lefts)


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
