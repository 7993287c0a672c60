"""A table into a store of pages, a row a page; and pages into a table that goes back in."""

from __future__ import annotations

import csv
import io
from collections.abc import Callable, Sequence
from dataclasses import dataclass, field
from pathlib import Path

from keyer.batch.page_store import keep, place_pages
from keyer.batch.preflight import RowFault, told_once
from keyer.batch.rows import REMARK, Row, Rows, read_rows, unknown_columns
from keyer.documents.csv_cells import own_text, plain_cell
from keyer.documents.faults import sentences
from keyer.errors import KeyerError, SettingError
from keyer.media.files import Files
from keyer.media.write import write_bytes
from keyer.titles.design import Design
from keyer.titles.foresee import Foresight
from keyer.titles.page_list import Listed, listed_page, page_name, page_numbers
from keyer.titles.pages import NOMINAL, Page, check_number, page_file, page_files
from keyer.titles.read import load_design

NUMBER, NOTE = "page", "note"
"""Columns that are no field of a design."""


@dataclass(frozen=True)
class RowsOrder:
    """Options of `keyer pages add`: the table, and where its pages go.

    Attributes
    ----------
    table, design, store : Path
    first : int or None
        Number of the first page, where no column gives the numbers.
    worksheet, encoding : str or None
        As for `read_rows`.
    force : bool
        Replace pages that have these numbers.
    """

    table: Path
    design: Path
    store: Path
    first: int | None = None
    worksheet: str | None = None
    encoding: str | None = None
    force: bool = False


@dataclass(frozen=True)
class Added:
    """What became of the rows: the pages' files, or all faults and nothing written."""

    rows: int
    pages: tuple[Path, ...] = ()
    faults: tuple[RowFault, ...] = ()
    notices: tuple[str, ...] = field(default=())


def add_pages(
    order: RowsOrder, told: Callable[[int, int], None] = lambda _done, _all: None
) -> Added:
    """Keep a page for each row of a table, or none if a row has a fault.

    Parameters
    ----------
    order : RowsOrder
    told : callable, optional
        Called with rows done and rows in all.

    Raises
    ------
    KeyerError
        If table or design cannot be read, or a column sets nothing.
    """
    design = load_design(order.design)
    table = read_rows(order.table, order.worksheet, order.encoding)
    _check_columns(table, design.design, order.first)
    numbers, faults = _numbers(table, order)
    files = Files((order.table, *design.files()), force=order.force)
    files.folder(order.store)
    foresight = Foresight(design.design, NOMINAL, design.folder)
    made: dict[int, dict[str, bytes]] = {}
    for done, row in enumerate(table.rows):
        told(done, len(table.rows))
        fields = _fields(row, design.design)
        found = [doubt.message for doubt in row.doubts.values()] or foresight.faults(fields)
        faults += [(row.number, message) for message in found]
        if found or row.number not in numbers:
            continue
        number = numbers[row.number]
        try:
            files.write(page_file(order.store, number))
            note = "" if NOTE in fields else own_text(row.cells.get(NOTE, ""))
            page = Page(number, design, fields, note)
            made[number] = page_files(page)
        except KeyerError as error:
            faults.append((row.number, str(error)))
    told(len(table.rows), len(table.rows))
    if faults:
        return Added(len(table.rows), (), told_once(faults, len(table.rows)), table.notices)
    return Added(len(table.rows), _write(order, made, files), (), table.notices)


def _write(order: RowsOrder, made: dict[int, dict[str, bytes]], files: Files) -> tuple[Path, ...]:
    files.make_folder(order.store)
    parts = Files((order.table,), force=True)
    for inside, data in {k: v for one in made.values() for k, v in list(one.items())[1:]}.items():
        keep(order.store / inside, data, parts)
    pages = {number: one[page_name(number)] for number, one in made.items()}
    return tuple(place_pages(order.store, pages, files))


def _check_columns(table: Rows, design: Design, first: int | None) -> None:
    known = [*design.fields, *(name for name in (NUMBER, NOTE) if name not in design.fields)]
    unknown = [one for one in table.columns if one not in known and not one.startswith(REMARK)]
    faults = [
        *unknown_columns(unknown, known, "is no field of the design", "are no fields of the design")
    ]
    if (NUMBER in table.columns and NUMBER not in design.fields) == (first is not None):
        faults.append(
            f"the pages' numbers must come from a column {NUMBER!r} or count on from one number "
            "(--to), one of them."
        )
    if not table.rows:
        faults.append(f"{table.name} must have a row below its header.")
    if faults:
        raise SettingError(sentences(faults))


def _numbers(table: Rows, order: RowsOrder) -> tuple[dict[int, int], list[tuple[int, str]]]:
    """Give each row its page's number; and tell what is wrong with them."""
    found: dict[int, int] = {}
    faults: list[tuple[int, str]] = []
    taken = {} if order.force else dict.fromkeys(page_numbers(order.store), 0)
    for place, row in enumerate(table.rows):
        try:
            number = _number(row) if order.first is None else check_number(order.first + place)
        except SettingError as error:
            faults.append((row.number, str(error)))
            continue
        if number in taken:
            other = taken[number]
            where = f"row {other} has" if other else f"{order.store} has"
            cure = "" if other else ", or replace it (--force)"
            faults.append((row.number, f"{where} page {number} already. Take another{cure}."))
            continue
        taken[number] = row.number
        found[row.number] = number
    return found, faults


def _number(row: Row) -> int:
    """Read the number of a row's page."""
    cell = row.cells.get(NUMBER, "").strip()
    if not (cell.isascii() and cell.isdigit() and len(cell) < 10):
        demand = f"must be the number of a page, got {cell!r:.40}."
        raise SettingError(demand, NUMBER)
    return check_number(int(cell))


def _fields(row: Row, design: Design) -> dict[str, str]:
    """Find the texts of a row; an empty cell empties a text and leaves a colour as it is."""
    return {
        name: own_text(row.cells[name])
        for name, rule in design.fields.items()
        if name in row.cells and (row.cells[name] or rule.kind != "colour")
    }


def pages_table(store: Path, numbers: Sequence[int], output: Path, *, force: bool = False) -> None:
    """Write pages as a table, which can be corrected and goes back in.

    Parameters
    ----------
    store : Path
    numbers : sequence of int
    output : Path
        CSV (RFC 4180) in UTF-8, with the mark by which spreadsheets know it; no
        cell is taken for a formula.
    force : bool
        Replace the output.

    Raises
    ------
    KeyerError
        If a page is damaged, or the output cannot be written.
    """
    files = Files((page_file(store, number) for number in numbers), force=force)
    files.write(output)
    write_bytes(output, _csv(store, numbers).encode("utf-8-sig"), files)


def _csv(store: Path, numbers: Sequence[int]) -> str:
    pages: list[Listed] = [listed_page(store, number) for number in numbers]
    names = list(dict.fromkeys(name for page in pages for name in page.fields))
    text = io.StringIO()
    writer = csv.writer(text)
    # where a design has a field of the same name, the column is the field's
    number, note = (f"{REMARK}{own}" if own in names else own for own in (NUMBER, NOTE))
    writer.writerow([number, f"{REMARK}design", *map(plain_cell, names), note])
    for page in pages:
        cells = [page.design_name, *(page.fields.get(name, "") for name in names), page.note]
        writer.writerow([str(page.number), *map(plain_cell, cells)])
    return text.getvalue()
