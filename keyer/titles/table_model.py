"""The table of a title design: how rows of data stand in a box."""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import Field

from keyer.titles.model import Colour, Part, Percent, Share


class Stripe(Part):
    """What lies behind every second row."""

    colour: Colour
    opacity: Share = 1.0


class Line(Part):
    """What parts two rows."""

    thickness: Annotated[float, Field(gt=0, le=5)] = 0.15
    colour: Colour = "#FFFFFF"
    opacity: Share = 0.3


class TableColumn(Part):
    """A column of the data.

    Without `align`, figures stand at the right and texts where one begins to read. Without
    `width`, it is as wide as its widest text, and columns of texts share what is left. `title`
    is what its heading says, where that is not its name.
    """

    column: Annotated[str, Field(min_length=1, max_length=200)]
    title: str | None = None
    width: Annotated[float, Field(gt=0, le=400)] | None = None
    align: Literal["start", "left", "centre", "right"] | None = None
    style: str | None = None


class Table(Part):
    """Rows of data in a box of the design, which has a width and a height.

    Rows are `row_height` high, and so is the heading, which is there if it has a style. Texts
    may be made smaller, down to `smallest` (a font size), a column at a time. `rows` limits how
    many stand on a page.
    """

    box: str
    style: str
    heading: str | None = None
    row_height: Annotated[float, Field(gt=0, le=100)] = 7.0
    gap: Percent = 3.0
    smallest: Annotated[float, Field(ge=0.5, le=100)] | None = None
    rows: Annotated[int, Field(ge=1, le=100)] | None = None
    stripe: Stripe | None = None
    line: Line | None = None
    columns: Annotated[tuple[TableColumn, ...], Field(min_length=1, max_length=40)]
