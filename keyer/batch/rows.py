"""Rows of data from CSV or XLSX, as texts by column, each with its number in the file."""

from __future__ import annotations

import csv
import io
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from pathlib import Path

from keyer.batch.grid import Doubt, Grid, column_name
from keyer.batch.workbook import read_workbook
from keyer.batch.worksheet import MOST_COLUMNS
from keyer.documents.faults import nearest
from keyer.errors import InputFileError, SettingError
from keyer.kinds.plain_file import open_plain
from keyer.kinds.ranges import one_of

MOST_ROWS = 1_000_000
MOST_BYTES = 1 << 29
_MOST_NAMED = 12
REMARK = "#"
"""A column whose name begins so is for people and sets nothing."""
_LONGEST_CELL = 10_000_000
_SEPARATORS = ",;\t"


@dataclass(frozen=True)
class Row:
    """One row of a table: its number and its cells by column.

    Attributes
    ----------
    number : int
        As a spreadsheet counts: the header is 1, the first row of data 2.
        In a CSV file a cell with line breaks counts as one row.
    cells : dict
        Column name to text.
    doubts : mapping
        Column name to why it cannot be told what a person sees in its cell.
    """

    number: int
    cells: dict[str, str]
    doubts: Mapping[str, Doubt] = field(default_factory=dict)


@dataclass(frozen=True)
class Rows:
    """A table as read: its columns and its rows.

    Attributes
    ----------
    name : str
        File name, and sheet of a workbook.
    columns : tuple of str
    rows : tuple of Row
        Without rows in which nothing stands.
    notices : tuple of str
        What was left out, and which sheet was read where there are several.
    """

    name: str
    columns: tuple[str, ...]
    rows: tuple[Row, ...]
    notices: tuple[str, ...] = ()


ENCODINGS = {"utf-8": "utf-8-sig", "utf-16": "utf-16", "latin-1": "cp1252"}
"""Encodings of CSV by the name that a person gives.

Latin-1 is read as the WHATWG Encoding Standard has it: with the quotes, dashes and the euro of
windows-1252 where ISO 8859-1 has control codes, which nobody means.
"""


def read_rows(path: str | Path, worksheet: str | None = None, encoding: str | None = None) -> Rows:
    """Read a table.

    Parameters
    ----------
    path : str or Path
        CSV in UTF-8, with or without a byte order mark, parted by commas,
        semicolons or tabs; or XLSX.
    worksheet : str, optional
        Name of the sheet in a workbook. Default: the first that is not hidden.
    encoding : {"utf-8", "utf-16", "latin-1"}, optional
        Of a CSV; default: UTF-8.

    Raises
    ------
    SettingError
        If there is no such sheet or encoding, or a workbook is given one.
    InputFileError
        If it cannot be read, has no header, or a row has more cells than the
        header.
    """
    file = Path(path)
    try:
        one_of("encoding", encoding or "utf-8", tuple(ENCODINGS))
        if file.suffix.lower() == ".xlsx":
            if encoding is not None:
                demand = f"is for CSV, got {file.name}, which says its own. Leave it out."
                raise SettingError(demand, "encoding")
            return _table(file, read_workbook(file, worksheet))
        if worksheet is not None:
            msg = f"worksheet is for XLSX workbooks, got {file.name}. Leave it out."
            raise SettingError(msg)
        if file.suffix.lower() == ".toml":
            msg = f"{file} is a sheet or a design, not a table of rows. Name a CSV or XLSX."
            raise InputFileError(msg)
        return _table(file, Grid(list(_csv(file, encoding or "utf-8"))))
    except OSError as error:
        if isinstance(error, InputFileError):
            raise
        why = (error.strerror or str(error)).lower()
        msg = f"{file} cannot be read as rows: {why}. Check its name and permissions."
        raise InputFileError(msg) from error


def unknown_columns(
    unknown: Sequence[str], known: Sequence[str], one: str, several: str
) -> Iterator[str]:
    """Tell of columns that lead nowhere, in one fault; `one` and `several` say why."""
    if len(unknown) == 1:
        yield (
            f"column {unknown[0]!r:.60} {one}.{nearest(unknown[0], known)} "
            f"Begin its name with {REMARK} if it is a remark."
        )
    elif unknown:
        names = ", ".join(f"{column!r:.60}" for column in unknown[:_MOST_NAMED])
        more = len(unknown) - _MOST_NAMED
        yield (
            f"columns {names}{f' and {more} more' if more > 0 else ''} {several}. "
            f"Known: {', '.join(known[:_MOST_NAMED])}. "
            f"Begin their names with {REMARK} if they are remarks."
        )


def _csv(file: Path, encoding: str) -> Iterator[tuple[int, list[str]]]:
    size = file.stat().st_size
    if size > MOST_BYTES:
        msg = f"{file} must have at most {MOST_BYTES >> 20} MiB, got {size >> 20}. Split it."
        raise InputFileError(msg)
    with open_plain(file) as stream:
        data = stream.read()
    try:
        text = _decoded(data, encoding)
    except UnicodeError as error:
        start = error.start if isinstance(error, UnicodeDecodeError) else 0
        line = data[:start].count(b"\n") + 1
        msg = (
            f"{file} must be CSV in {encoding.upper()}, but line {line} is not. Export it again as "
            '"CSV UTF-8", or as XLSX, or name its --encoding.'
        )
        raise InputFileError(msg) from None
    reader = csv.reader(io.StringIO(text, newline=""), delimiter=_separator(text), strict=True)
    number = 0
    try:
        csv.field_size_limit(_LONGEST_CELL)
        for number, cells in enumerate(reader, 1):
            yield number, cells
    except csv.Error as error:
        msg = f"{file} must be CSV, but row {number + 1} is not: {error}."
        raise InputFileError(msg) from None


def _decoded(data: bytes, encoding: str) -> str:
    """Decode a CSV; UTF-16 with its mark alone, for without it any bytes are letters somewhere."""
    if encoding == "utf-16" and data[:2] not in {b"\xff\xfe", b"\xfe\xff"}:
        raise UnicodeError
    return data.decode(ENCODINGS[encoding])


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


def _table(file: Path, grid: Grid) -> Rows:
    lines = [(n, cells) for n, cells in grid.lines if any(cell.strip() for cell in cells)]
    if not lines:
        where = f" in {grid.place}" if grid.place else ""
        msg = f"{file} must have a header row that names the columns, got an empty table{where}."
        raise InputFileError(msg)
    if len(lines) > MOST_ROWS:
        msg = f"{file} must have at most {MOST_ROWS:,} rows, got {len(lines):,}. Split it."
        raise InputFileError(msg)
    columns = [name.strip() for name in lines[0][1]]
    while columns and not columns[-1]:
        columns.pop()
    _check_columns(file, columns)
    _check_header(file, columns, lines[0][0], grid)
    doubts: dict[int, dict[str, Doubt]] = {}
    for (line, i), doubt in grid.doubts.items():
        if i < len(columns) and not columns[i].startswith(REMARK):
            doubts.setdefault(line, {})[columns[i]] = doubt
    rows = []
    for number, cells in lines[1:]:
        extra = [cell for cell in cells[len(columns) :] if cell.strip()]
        if extra:
            msg = (
                f"{file} row {number} has {len(cells)} cells and the header {len(columns)}. "
                f"{'Name each column' if grid.place else _QUOTE}."
            )
            raise InputFileError(msg)
        padded = [*cells[: len(columns)], *[""] * (len(columns) - len(cells))]
        named = dict(zip(columns, padded, strict=True))
        rows.append(Row(number, named, doubts.get(number, {})))
    name = f"{file.name} ({grid.place})" if grid.place else file.name
    return Rows(name, tuple(columns), tuple(rows), tuple(grid.notices))


_QUOTE = "Put a cell that holds a separator in double quotes"


def _check_header(file: Path, columns: Sequence[str], line: int, grid: Grid) -> None:
    """Refuse columns that a person does not see, and names of columns that are in doubt."""
    for i, name in enumerate(columns):
        doubt = grid.doubts.get((line, i))
        if doubt is not None:
            msg = f"{file}: {doubt.message}"
            raise InputFileError(msg)
        if i in grid.hidden and not name.startswith(REMARK):
            msg = (
                f"{file}: column {column_name(i)} ({name!r:.60}) of {grid.place} is hidden. Show "
                f"it, or begin its name with {REMARK} if it is a remark."
            )
            raise InputFileError(msg)


def _check_columns(file: Path, columns: Sequence[str]) -> None:
    if len(columns) > MOST_COLUMNS:
        msg = f"{file} must have at most {MOST_COLUMNS} columns, got {len(columns)}."
        raise InputFileError(msg)
    for i, name in enumerate(columns):
        if not name:
            msg = f"{file} must name every column in its first row, but column {i + 1} has no name."
            raise InputFileError(msg)
        if name in columns[:i]:
            msg = f"{file} must name each column once, got {name!r} twice."
            raise InputFileError(msg)
