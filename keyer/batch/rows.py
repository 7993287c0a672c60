"""Rows of data from CSV or XLSX, as texts by column, each with its number in the file."""

from __future__ import annotations

import csv
import io
import zipfile
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from keyer.errors import InputFileError

MOST_ROWS = 1_000_000
_MOST_COLUMNS = 1000
_SEPARATORS = ",;\t"


@dataclass(frozen=True)
class Row:
    """One row.

    Attributes
    ----------
    number : int
        As a spreadsheet counts: the header is 1, the first row of data 2.
        In a CSV file a cell with line breaks counts as one row.
    cells : dict
        Column name to text.
    """

    number: int
    cells: dict[str, str]


@dataclass(frozen=True)
class Rows:
    """A table read.

    Attributes
    ----------
    name : str
        File name, for messages.
    columns : tuple of str
    rows : tuple of Row
        Without rows in which nothing stands.
    """

    name: str
    columns: tuple[str, ...]
    rows: tuple[Row, ...]


def read_rows(path: str | Path) -> Rows:
    """Read a table.

    Parameters
    ----------
    path : str or Path
        CSV in UTF-8, with or without a byte order mark, parted by commas,
        semicolons or tabs; or XLSX, of which the first sheet is read.

    Returns
    -------
    Rows

    Raises
    ------
    InputFileError
        If it cannot be read, has no header, or a row has more cells than the
        header.
    """
    file = Path(path)
    try:
        if file.suffix.lower() == ".xlsx":
            return _table(file, list(_xlsx(file)))
        return _table(file, list(_csv(file)))
    except OSError as error:
        if isinstance(error, InputFileError):
            raise
        msg = f"{file} cannot be read as rows: {(error.strerror or str(error)).lower()}."
        raise InputFileError(msg) from error


def _csv(file: Path) -> Iterator[tuple[int, list[str]]]:
    data = file.read_bytes()
    try:
        text = data.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        line = data[: error.start].count(b"\n") + 1
        msg = (
            f"{file} must be CSV in UTF-8, but line {line} is not. Export it again as "
            '"CSV UTF-8", or as XLSX.'
        )
        raise InputFileError(msg) from None
    reader = csv.reader(io.StringIO(text, newline=""), delimiter=_separator(text), strict=True)
    number = 0
    try:
        csv.field_size_limit(10_000_000)
        for number, cells in enumerate(reader, 1):
            yield number, cells
    except csv.Error as error:
        msg = f"{file} must be CSV, but row {number + 1} is not: {error}."
        raise InputFileError(msg) from None


def _separator(text: str) -> str:
    """Find what parts the cells of the header, outside quotes."""
    quoted = False
    counts = dict.fromkeys(_SEPARATORS, 0)
    for char in text:
        if char == '"':
            quoted = not quoted
        elif char in "\r\n" and not quoted:
            break
        elif char in counts and not quoted:
            counts[char] += 1
    return max(_SEPARATORS, key=lambda sign: counts[sign])


def _xlsx(file: Path) -> Iterator[tuple[int, list[str]]]:
    from openpyxl import load_workbook

    try:
        book = load_workbook(file, read_only=True, data_only=True)
        try:
            sheet = book.worksheets[0]
            for number, cells in enumerate(sheet.iter_rows(values_only=True), 1):
                yield number, [_as_text(cell) for cell in cells]
        finally:
            book.close()
    except (zipfile.BadZipFile, KeyError, ValueError, IndexError, TypeError, EOFError) as error:
        msg = f"{file} must be an XLSX workbook, but cannot be read as one: {error}."
        raise InputFileError(msg) from error


def _as_text(cell: Any) -> str:
    """Write a cell of a workbook as it would be typed; whole numbers without a fraction."""
    if cell is None:
        return ""
    if isinstance(cell, bool):
        return "true" if cell else "false"
    if isinstance(cell, float) and cell.is_integer() and abs(cell) < 1e15:
        return str(int(cell))
    return str(cell)


def _table(file: Path, lines: Sequence[tuple[int, list[str]]]) -> Rows:
    filled = [(n, cells) for n, cells in lines if any(cell.strip() for cell in cells)]
    if not filled:
        msg = f"{file} must have a header row that names the columns, got an empty table."
        raise InputFileError(msg)
    if len(filled) > MOST_ROWS:
        msg = f"{file} must have at most {MOST_ROWS:,} rows, got {len(filled):,}. Split it."
        raise InputFileError(msg)
    columns = [name.strip() for name in filled[0][1]]
    while columns and not columns[-1]:
        columns.pop()
    _check_columns(file, columns)
    rows = []
    for number, cells in filled[1:]:
        extra = [cell for cell in cells[len(columns) :] if cell.strip()]
        if extra:
            msg = (
                f"{file} row {number} has {len(cells)} cells and the header {len(columns)}. Put a "
                "cell that holds a separator in double quotes."
            )
            raise InputFileError(msg)
        padded = [*cells[: len(columns)], *[""] * (len(columns) - len(cells))]
        rows.append(Row(number, dict(zip(columns, padded, strict=True))))
    return Rows(file.name, tuple(columns), tuple(rows))


def _check_columns(file: Path, columns: Sequence[str]) -> None:
    if len(columns) > _MOST_COLUMNS:
        msg = f"{file} must have at most {_MOST_COLUMNS} columns, got {len(columns)}."
        raise InputFileError(msg)
    for i, name in enumerate(columns):
        if not name:
            msg = f"{file} must name every column in its first row, but column {i + 1} has no name."
            raise InputFileError(msg)
        if name in columns[:i]:
            msg = f"{file} must name each column once, got {name!r} twice."
            raise InputFileError(msg)
