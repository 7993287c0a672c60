"""An XLSX workbook: its sheets, of which hidden ones are passed over, its texts and its formats.

SpreadsheetML, ECMA-376 Part 1 [ecma376], read from the file itself.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from pathlib import Path

from keyer.batch.grid import Grid
from keyer.batch.number_formats import BUILT_IN
from keyer.batch.package import Package
from keyer.batch.worksheet import MOST_CHARACTERS, Look, SheetReader, unescaped
from keyer.errors import SettingError

_LONGEST_TEXT = 32_767
_LONGEST_CODE = 500
_MOST_NAMED = 10
_MOST_TEXTS = 5_000_000
_MOST_STYLES = 100_000
_UNKNOWN = "[$-F800]dddd"
"""Stands for the formats that each machine shows in its own way, such as number 14."""


def read_workbook(file: Path, sheet: str | None = None) -> Grid:
    """Read a sheet of a workbook.

    Parameters
    ----------
    file : Path
    sheet : str, optional
        Its name. Default: the first that is not hidden.

    Raises
    ------
    SettingError
        If there is no sheet of that name.
    InputFileError
        If the file is not a sound workbook.
    """
    with Package(file, _LONGEST_TEXT) as package, package.sound():
        return _Book(package).read(sheet)


class _Book:
    """A workbook: its sheets, its texts, its formats."""

    def __init__(self, package: Package) -> None:
        self._package = package
        kinds = dict(package.related("").values())
        self._part = kinds["officeDocument"]
        self._related = package.related(self._part)
        self._sheets: dict[str, str] = {}
        self._seen: list[str] = []
        self._from_1904 = False
        package.parse(self._part, self._workbook)

    def _workbook(self, element: str, attributes: Mapping[str, str]) -> None:
        if element == "workbookPr":
            self._from_1904 = attributes.get("date1904", "0") in {"1", "true"}
        elif element == "sheet":
            name = attributes["name"]
            key = next(value for key, value in attributes.items() if key.endswith(" id"))
            kind, part = self._related.get(key, ("", ""))
            if kind == "worksheet":
                self._sheets[name] = part
                if attributes.get("state", "visible") == "visible":
                    self._seen.append(name)

    def read(self, wanted: str | None) -> Grid:
        name, notices = self._choose(wanted)
        texts: list[str] = []
        formats: list[str] = []
        for kind, part in self._related.values():
            if kind == "sharedStrings" and self._package.has(part):
                texts = _Texts(self._package, part).found
            elif kind == "styles" and self._package.has(part):
                formats = _Formats(self._package, part).found
        reader = SheetReader(self._package, Look(texts, formats, self._from_1904), name)
        self._package.parse(self._sheets[name], reader.begin, reader.finish)
        grid = reader.grid()
        grid.notices = [*notices, *grid.notices]
        return grid

    def _choose(self, wanted: str | None) -> tuple[str, list[str]]:
        file = self._package.file.name
        if wanted is not None:
            if wanted not in self._sheets:
                names = _listed(list(self._sheets))
                msg = f"worksheet must be one of {names}, as {file} has them, got {wanted!r:.60}."
                raise SettingError(msg)
            return wanted, []
        if not self._seen:
            self._package.refuse("must have a sheet that is not hidden, found none")
        first = self._seen[0]
        if len(self._seen) == 1:
            return first, []
        others = _listed(self._seen[1:])
        return first, [f"rows are those of sheet {first!r} of {file}; others: {others}."]


def _listed(names: Sequence[str]) -> str:
    more = f" and {len(names) - _MOST_NAMED} more" if len(names) > _MOST_NAMED else ""
    return ", ".join(f"{name!r:.40}" for name in names[:_MOST_NAMED]) + more


class _Texts:
    """Texts that cells share, without what helps to read them aloud (18.4)."""

    def __init__(self, package: Package, part: str) -> None:
        self.found: list[str] = []
        self._package = package
        self._pieces: list[str] = []
        self._aloud = False
        self._length = 0
        package.parse(part, self._begin, self._finish)

    def _begin(self, element: str, _: Mapping[str, str]) -> None:
        if element == "rPh":
            self._aloud = True

    def _finish(self, element: str, text: str) -> None:
        if element == "rPh":
            self._aloud = False
        elif element == "t" and not self._aloud:
            self._pieces.append(unescaped(text))
            self._length += len(text)
        elif element == "si":
            self.found.append("".join(self._pieces))
            self._pieces.clear()
        if self._length > MOST_CHARACTERS or len(self.found) > _MOST_TEXTS:
            self._package.refuse("holds more text than any table of names. Split it")


class _Formats:
    """The number format of each cell style (18.8)."""

    def __init__(self, package: Package, part: str) -> None:
        self.found: list[str] = []
        self._own: dict[int, str] = {}
        self._numbers: list[int] = []
        self._cells = False
        package.parse(part, self._begin, self._finish)
        self.found = [self._own.get(n, BUILT_IN.get(n, _UNKNOWN)) for n in self._numbers]

    def _begin(self, element: str, attributes: Mapping[str, str]) -> None:
        if element == "numFmt":
            code = attributes["formatCode"]
            readable = len(code) <= _LONGEST_CODE and len(self._own) < _MOST_STYLES
            self._own[int(attributes["numFmtId"])] = code if readable else _UNKNOWN
        elif element == "cellXfs":
            self._cells = True
        elif element == "xf" and self._cells and len(self._numbers) < _MOST_STYLES:
            self._numbers.append(int(attributes.get("numFmtId", 0)))

    def _finish(self, element: str, _: str) -> None:
        if element == "cellXfs":
            self._cells = False
