"""Results tables: many rows of data set in one title design, on as many pages as it takes.

Each page becomes a design of its own: a box for every cell, placed from the table's box, so that
cells are drawn and checked like any other texts of a title. All cells of a row stand on one
baseline.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Literal

from keyer.documents.faults import nearest
from keyer.errors import SettingError
from keyer.titles.design import Box, Design, FieldRule, Text
from keyer.titles.ink import Canvas
from keyer.titles.lines import clean, lay_line
from keyer.titles.model import Panel, Rule, TextStyle
from keyer.titles.read import DesignFile
from keyer.titles.table_model import Table, TableColumn

MOST_ROWS = 1000
"""Of one table: more pages than anybody shows."""

_FIGURES = re.compile(
    r"[+\-\u2212\u00b1]?\s?[\d.,:'\u2019\u2009\u202f]*\d\s?[%\u00b0]?|[-\u2013\u2014]?"
)
"""Numbers, times, percent, and a dash where there is none."""

_HAIR = 0.02
"""Percent of the picture height that a text may round beyond its column."""

Align = Literal["start", "left", "centre", "right"]
Cells = Sequence[Sequence[str]]


@dataclass(frozen=True)
class _Column:
    """A column fitted: its place and width in percent of the picture height, and its letters."""

    width: float
    align: Align
    style: TextStyle
    heading: TextStyle | None
    title: str


@dataclass(frozen=True)
class _Measure:
    """What texts are measured with."""

    canvas: Canvas
    folder: Path | None

    def width(self, text: str, style: TextStyle) -> float:
        """Width of a text on one line."""
        runs = [(clean(text, style), style)] if text else []
        return lay_line(runs, self.canvas.unit, folder=self.folder).width / self.canvas.unit

    def capitals(self, style: TextStyle) -> float:
        """Height of the capitals."""
        line = lay_line([("H", style)], self.canvas.unit, folder=self.folder)
        return line.capitals / self.canvas.unit


def table_pages(
    file: DesignFile, columns: Sequence[str], rows: Cells, given: Mapping[str, str], canvas: Canvas
) -> list[tuple[DesignFile, dict[str, str]]]:
    """Set rows of data in a design.

    Parameters
    ----------
    file : DesignFile
        With a `[table]`.
    columns : sequence of str
        Names of the data's columns.
    rows : sequence of sequence of str
        Cells, in the order of `columns`.
    given : mapping
        Values of the design's own fields. `page`, where the design has this field, is filled in
        if there are several: "1 / 3".
    canvas : Canvas

    Returns
    -------
    list of (DesignFile, dict)
        A design without a table for each page, and the values of its fields.

    Raises
    ------
    SettingError
        If a column is missing, or the rows do not fit.
    """
    design, table = file.design, file.design.table
    if table is None:
        msg = f"the design {design.name!r} must have a [table] to set rows in, and has none."
        raise SettingError(msg)
    if not rows:
        msg = "a table must have a row to show, got none."
        raise SettingError(msg)
    if len(rows) > MOST_ROWS:
        msg = (
            f"a table must have at most {MOST_ROWS} rows, got {len(rows):,}. Choose some (--rows)."
        )
        raise SettingError(msg)
    for one in table.columns:
        if one.column not in columns:
            msg = f"the rows have no column {one.column!r}.{nearest(one.column, columns)}"
            raise SettingError(msg)
    picked = [[row[columns.index(one.column)].strip() for one in table.columns] for row in rows]
    box = next(box for box in design.boxes if box.id == table.box)
    width, height = _inside(box)
    measure = _Measure(canvas, file.folder)
    fitted = _fitted(table, design.styles, picked, width, measure)
    most = int((height + 1e-6) / table.row_height) - (table.heading is not None)
    most = min(most, table.rows or most)
    if most < 1:
        msg = (
            f"box {box.id!r} must have room for a row of {table.row_height:g} %, got {height:g} % "
            "in all. Make it higher."
        )
        raise SettingError(msg)
    count = -(-len(picked) // most)
    pages = []
    for n, part in enumerate(_shared(picked, count), 1):
        numbered = {"page": f"{n} / {count}"} if count > 1 and "page" in design.fields else {}
        values = {**numbered, **given}
        pages.append(_page(file, table, box, fitted, part, values, measure))
    return pages


def _inside(box: Box) -> tuple[float, float]:
    """Width and height of a box within its padding."""
    down, across = box.padding
    width, height = (float(side) for side in (box.width or 0, box.height or 0))
    return width - 2 * across, height - 2 * down


def _shared(rows: Cells, count: int) -> Iterator[Cells]:
    """Share rows out over pages as evenly as it goes."""
    each, more = divmod(len(rows), count)
    start = 0
    for n in range(count):
        stop = start + each + (n < more)
        yield rows[start:stop]
        start = stop


def _fitted(
    table: Table, styles: Mapping[str, TextStyle], rows: Cells, room: float, measure: _Measure
) -> list[_Column]:
    """Choose how wide columns are, and how large their letters."""
    heading = styles[table.heading] if table.heading else None
    columns, flexible = [], []
    for n, one in enumerate(table.columns):
        cells = [row[n] for row in rows]
        figures = any(cells) and all(_FIGURES.fullmatch(cell) for cell in cells)
        style = styles[one.style or table.style]
        if figures:
            style = style.model_copy(update={"figures": "tabular"})
        title = one.title if one.title is not None else one.column
        width = one.width
        if width is None:
            widest = max(measure.width(cell, style) for cell in set(cells))
            named = measure.width(title, heading) if heading else 0.0
            width = max(widest, named) + _HAIR
            if not figures:
                flexible.append(n)
        align: Align = one.align or ("right" if figures else "start")
        columns.append(_Column(width, align, style, heading, title))
    spare = room - sum(one.width for one in columns) - table.gap * (len(columns) - 1)
    if spare < 0:
        columns = _squeezed(columns, flexible, table, -spare)
    elif flexible:
        for n in flexible:
            columns[n] = replace(columns[n], width=columns[n].width + spare / len(flexible))
    return [
        _shrunk(column, one, [row[n] for row in rows], table, measure)
        for n, (column, one) in enumerate(zip(columns, table.columns, strict=True))
    ]


def _squeezed(
    columns: list[_Column], flexible: Sequence[int], table: Table, over: float
) -> list[_Column]:
    """Make columns of texts narrower, alike, as far as their letters may be made smaller."""
    whole = sum(columns[n].width for n in flexible)
    scale = (whole - over) / whole if whole else 0.0
    least = max((_least(table, columns[n].style) for n in flexible), default=1.0)
    if scale < least:
        msg = (
            f"the columns are {over:.1f} % of the picture height too wide for box {table.box!r}. "
            "Make it wider, its letters smaller (smallest), or leave a column out."
        )
        raise SettingError(msg)
    return [
        replace(one, width=one.width * scale) if n in flexible else one
        for n, one in enumerate(columns)
    ]


def _least(table: Table, style: TextStyle) -> float:
    return 1.0 if table.smallest is None else min(1.0, table.smallest / style.size)


def _shrunk(
    column: _Column, one: TableColumn, cells: Sequence[str], table: Table, measure: _Measure
) -> _Column:
    """Make the letters of a column smaller until its widest text fits."""
    style, heading = column.style, column.heading
    widest = max(set(cells), key=lambda cell: measure.width(cell, style))
    wide = measure.width(widest, style)
    room = column.width + _HAIR
    if wide > room:
        if room / wide < _least(table, style):
            msg = (
                f"column {one.column!r}: {widest:.60} is {(wide / room - 1) * 100:.0f} % too wide. "
                "Shorten it, give the column more width, or let its letters be smaller (smallest)."
            )
            raise SettingError(msg)
        style = style.model_copy(update={"size": style.size * room / wide * 0.999})
    if heading is not None:
        wide = measure.width(column.title, heading)
        if wide > room:
            heading = heading.model_copy(update={"size": heading.size * room / wide * 0.999})
    return replace(column, style=style, heading=heading)


def _page(
    file: DesignFile,
    table: Table,
    box: Box,
    columns: Sequence[_Column],
    rows: Cells,
    given: Mapping[str, str],
    measure: _Measure,
) -> tuple[DesignFile, dict[str, str]]:
    """Make the design of one page."""
    styles = dict(file.design.styles)
    values: dict[str, str] = {}
    boxes: list[Box] = []
    lines: list[tuple[Sequence[str], bool]] = [(row, False) for row in rows]
    if table.heading is not None:
        lines.insert(0, ([one.title for one in columns], True))
    head = int(table.heading is not None)
    for r, (cells, titled) in enumerate(lines):
        own = [one.heading if titled and one.heading else one.style for one in columns]
        whole = file.design.styles[table.heading if titled and table.heading else table.style]
        baseline = (table.row_height + measure.capitals(whole)) / 2
        boxes += _behind(table, box, r, head, last=r == len(lines) - 1)
        for c, (one, text, style) in enumerate(zip(columns, cells, own, strict=True)):
            name = f"{table.box}-{r}-{c}"
            styles[name] = style
            values[name] = text
            padding = (max(baseline - measure.capitals(style), 0.0), 0.0)
            cell = _box(
                **_place(table, box, r, c),
                id=name,
                width=one.width,
                height=table.row_height,
                padding=padding,
                align=one.align,
                texts=(Text(text=f"${{{name}}}", style=name),) if text else (),
            )
            boxes.append(cell)
    fields = {**file.design.fields, **{name: FieldRule(default="") for name in values}}
    at = next(n for n, one in enumerate(file.design.boxes) if one.id == table.box) + 1
    every = (*file.design.boxes[:at], *boxes, *file.design.boxes[at:])
    update = {"fields": fields, "styles": styles, "boxes": every, "table": None}
    made: Design = file.design.model_copy(update=update)
    return replace(file, design=made), {**given, **values}


_PLAIN = {name: field.get_default() for name, field in Box.model_fields.items() if name != "id"}


def _box(**keys: object) -> Box:
    """Make a box without checking it: wide tables stand further from a box than one may write."""
    return Box.model_construct(**{**_PLAIN, **keys})


def _place(table: Table, box: Box, row: int, column: int) -> dict[str, object]:
    """Say where a cell stands: the first of a row from the table's box, others beside it."""
    down, across = box.padding
    if column:
        return {"right_of": f"{table.box}-{row}-{column - 1}", "gap": table.gap}
    top = down + row * table.row_height
    return {"below": table.box, "x": across, "y": top - float(box.height or 0)}


def _behind(table: Table, box: Box, row: int, head: int, *, last: bool) -> Iterator[Box]:
    """Make the stripe behind a row and the line below it."""
    place = _place(table, box, row, 0)
    if table.stripe and row >= head and (row - head) % 2 == 0:
        panel = Panel(colour=table.stripe.colour, opacity=table.stripe.opacity)
        yield _box(
            **{**place, "x": 0.0},
            id=f"{table.box}-{row}-stripe", width=box.width, height=table.row_height, panel=panel,
        )  # fmt: skip
    if table.line and not last:
        rule = Rule(
            start="bottom left", end="bottom right", thickness=table.line.thickness,
            colour=table.line.colour, opacity=table.line.opacity,
        )  # fmt: skip
        width, _ = _inside(box)
        yield _box(
            **place,
            id=f"{table.box}-{row}-line", width=width, height=table.row_height, rules=(rule,),
        )  # fmt: skip
