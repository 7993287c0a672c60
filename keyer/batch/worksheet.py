"""The cells of one sheet of a workbook as a person sees them: ECMA-376 Part 1, 18.3 [ecma376].

Not what a program would calculate: a formula without the value that was last seen, an error, a
merged cell, or a number whose look the file does not tell is a doubt about that cell. Hidden
rows are passed over, and told.
"""

from __future__ import annotations

import datetime as dt
import re
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass

from keyer.batch.grid import Doubt, Grid, column_name, spans
from keyer.batch.number_formats import Shown, show_number, show_text
from keyer.batch.package import Package

MOST_LINES = 1_048_576
"""Rows that a sheet can have (Excel's limit, which other programs share)."""
MOST_COLUMNS = 1000
MOST_CHARACTERS = 100_000_000
_MOST_CELLS = 5_000_000
_MOST_MERGED = 1_000_000
_CELL = re.compile(r"\$?([A-Z]{1,3})\$?([0-9]{1,7})")
_ESCAPED = re.compile(r"_x([0-9A-Fa-f]{4})_")
_IN_DOUBT = "?"
"""Stands in a cell of which nothing is known."""


@dataclass(frozen=True)
class Look:
    """Shared strings and cell formats of a workbook, which all its sheets use.

    Attributes
    ----------
    texts : sequence of str
    formats : sequence of str
        The number format of each cell style.
    from_1904 : bool
        Days count from 1904 rather than 1900.
    """

    texts: Sequence[str]
    formats: Sequence[str]
    from_1904: bool


def _place_of(reference: str) -> tuple[int, int]:
    """Line, from 1, and column, from 0, of a cell's name."""
    match = _CELL.fullmatch(reference)
    if match is None:
        msg = f"{reference!r:.40} is not the name of a cell"
        raise ValueError(msg)
    column = 0
    for letter in match[1]:
        column = column * 26 + ord(letter) - ord("A") + 1
    return int(match[2]), column - 1


class SheetReader:
    """Reads the cells of one sheet (18.3).

    Parameters
    ----------
    package : Package
    look : Look
    name : str
        Of the sheet.
    """

    def __init__(self, package: Package, look: Look, name: str) -> None:
        self._package, self._look, self._name = package, look, name
        self._lines: list[tuple[int, list[str]]] = []
        self._doubts: dict[tuple[int, int], Doubt] = {}
        self._left_out: list[int] = []
        self._hidden: set[int] = set()
        self._merged: list[str] = []
        self._count = self._length = 0
        self._line, self._column = 0, -1
        self._line_hidden = False
        self._cells: list[str] = []
        self._kind, self._style = "n", 0
        self._value: str | None = None
        self._formula = self._aloud = False
        self._pieces: list[str] = []

    def begin(self, element: str, attributes: Mapping[str, str]) -> None:
        """Take note of the beginning of an XML element."""
        if element == "c":
            self._begin_cell(attributes)
        elif element == "row":
            self._begin_line(attributes)
        elif element == "f":
            self._formula = True
        elif element == "rPh":
            self._aloud = True
        elif element == "col" and attributes.get("hidden", "0") in {"1", "true"}:
            first, last = int(attributes["min"]), int(attributes["max"])
            self._hidden |= set(range(first - 1, min(last, MOST_COLUMNS)))
        elif element == "mergeCell":
            if len(self._merged) >= _MOST_MERGED:
                self._package.refuse("has too many merged cells. Split them")
            self._merged.append(attributes["ref"])

    def _begin_line(self, attributes: Mapping[str, str]) -> None:
        number = int(attributes.get("r", self._line + 1))
        if number <= self._line:
            msg = f"row {number} comes after row {self._line}"
            raise ValueError(msg)
        if number > MOST_LINES:
            self._package.refuse(
                f"has more than {MOST_LINES:,} rows in sheet {self._name!r}. Delete the empty ones"
            )
        hidden = attributes.get("hidden", "0") in {"1", "true"}
        self._line, self._column, self._cells = number, -1, []
        self._line_hidden = hidden or attributes.get("ht") == "0"

    def _begin_cell(self, attributes: Mapping[str, str]) -> None:
        self._count += 1
        if self._count > _MOST_CELLS:
            self._package.refuse(f"has more than {_MOST_CELLS:,} cells. Split it")
        reference = attributes.get("r")
        line, column = _place_of(reference) if reference else (self._line, self._column + 1)
        if line != self._line or column <= self._column:
            msg = f"cell {reference} is not in its place"
            raise ValueError(msg)
        self._column = column
        self._kind, self._style = attributes.get("t", "n"), int(attributes.get("s", 0))
        self._value, self._formula = None, False
        self._pieces.clear()

    def finish(self, element: str, text: str) -> None:
        """Take the end of an element, and its text."""
        if element == "v":
            self._value = text
        elif element == "t" and not self._aloud:
            self._pieces.append(unescaped(text))
        elif element == "rPh":
            self._aloud = False
        elif element == "c" and not self._line_hidden:
            self._finish_cell()
        elif element == "row" and self._line_hidden:
            self._left_out.append(self._line)
        elif element == "row" and any(cell.strip() for cell in self._cells):
            self._lines.append((self._line, self._cells))

    def _finish_cell(self) -> None:
        text, doubt = self._shown()
        if not text and not doubt:
            return
        if self._column >= MOST_COLUMNS:
            self._package.refuse(
                f"must have at most {MOST_COLUMNS} columns in sheet {self._name!r}, got something "
                f"in column {column_name(self._column)}"
            )
        self._length += len(text)
        if self._length > MOST_CHARACTERS:
            self._package.refuse("holds more text than any table of names. Split it")
        self._cells += [""] * (self._column + 1 - len(self._cells))
        # a cell in doubt is no empty one, or its row would be passed over
        self._cells[self._column] = text or (_IN_DOUBT if doubt else "")
        if doubt:
            self._doubts[self._line, self._column] = doubt

    def _cell(self, line: int, column: int) -> str:
        return f"cell {column_name(column)}{line} of sheet {self._name!r}"

    def _shown(self) -> tuple[str, Doubt | None]:
        """Return what is seen in the cell, and why that cannot be told."""
        value, kind = self._value, self._kind
        if kind == "e":
            return "", self._doubt(f"shows the error {value!r:.20}. Correct it")
        if self._formula and not value and kind != "str":
            return "", self._doubt(
                "holds a formula whose value is not in the file. Open the workbook in a "
                "spreadsheet program and save it"
            )
        text = self._written()
        if text is None:
            return self._number(value) if value else ("", None)
        shown = show_text(text, self._code()) if text else Shown("")
        return shown.text, self._unsure(shown)

    def _written(self) -> str | None:
        """Return the text of a cell; None for a number."""
        value = self._value or ""
        if self._kind == "s" and value:
            return self._look.texts[_index(value, self._look.texts)]
        return {"inlineStr": "".join(self._pieces), "str": unescaped(value), "s": ""}.get(
            self._kind
        )

    def _number(self, value: str) -> tuple[str, Doubt | None]:
        if self._kind == "b":
            switch = "true" if value in {"1", "true"} else "false"
            why = "is shown in the machine's language. Make it a text"
            return switch, self._doubt(why, value_known=True)
        start = self._look.from_1904
        number = _serial(value, from_1904=start) if self._kind == "d" else float(value)
        shown = show_number(number, self._code(), from_1904=start)
        return shown.text, self._unsure(shown)

    def _code(self) -> str:
        formats = self._look.formats
        return formats[_index(self._style, formats)] if formats else "General"

    def _unsure(self, shown: Shown) -> Doubt | None:
        if not shown.doubt:
            return None
        return self._doubt(
            f"holds {shown.text:.40}, which {shown.doubt}. Format it as Text and type what is "
            "to be shown",
            value_known=True,
        )

    def _doubt(self, what: str, *, value_known: bool = False) -> Doubt:
        return Doubt(f"{self._cell(self._line, self._column)} {what}.", value_known)

    def grid(self) -> Grid:
        """Return the lines, with what is merged in doubt and what is hidden told."""
        width = max((len(cells) for _, cells in self._lines), default=0)
        for line, column, area in self._merged_cells(width):
            message = f"{self._cell(line, column)} is merged ({area}). Split it and fill each cell."
            self._doubts[line, column] = Doubt(message)
        notices = []
        if self._left_out:
            rows = spans(self._left_out)
            notices.append(
                f"sheet {self._name!r}: hidden, and left out: row"
                f"{'s' if len(self._left_out) > 1 else ''} {rows}."
            )
        place = f"sheet {self._name!r}"
        return Grid(self._lines, self._doubts, frozenset(self._hidden), place, notices)

    def _merged_cells(self, width: int) -> Iterator[tuple[int, int, str]]:
        known = {line for line, _ in self._lines}
        last = max(known, default=0)
        work = 0
        for area in self._merged:
            start, _, end = area.partition(":")
            (top, left), (bottom, right) = _place_of(start), _place_of(end or start)
            bottom, right = min(bottom, last), min(right, width - 1)
            work += 1 + max(bottom - top + 1, 0) * max(right - left + 1, 0)
            if work > _MOST_MERGED:
                self._package.refuse("has too many merged cells. Split them")
            for line in range(top, bottom + 1):
                if line in known:
                    yield from ((line, column, area) for column in range(left, right + 1))


def unescaped(text: str) -> str:
    """Read `_x000D_` as the character that it stands for (22.9.2.19)."""
    return _ESCAPED.sub(lambda match: chr(int(match[1], 16)), text) if "_x" in text else text


def _index(text: str | int, among: Sequence[str]) -> int:
    number = int(text)
    if not 0 <= number < len(among):
        msg = f"there is no item {number}"
        raise ValueError(msg)
    return number


def _serial(text: str, *, from_1904: bool) -> float:
    """Count the days of a date written as ISO 8601."""
    moment = dt.datetime.fromisoformat(text).replace(tzinfo=None)
    first = dt.datetime(1904, 1, 1) if from_1904 else dt.datetime(1899, 12, 30)  # noqa: DTZ001
    return (moment - first) / dt.timedelta(days=1)
