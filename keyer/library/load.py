"""Read the pattern library, and folders of patterns that a user adds."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from functools import cache
from pathlib import Path

from pydantic import ValidationError

from keyer.documents.faults import Place, Places, sheet_error
from keyer.documents.locate import line_map
from keyer.documents.read import parse_toml, read_text
from keyer.documents.refusals import refusal
from keyer.errors import Fault, InputFileError, SettingError
from keyer.kinds.field import Pattern
from keyer.library.grey import PICTURES, read_grey
from keyer.library.model import WORD, PatternEntry, PatternFile
from keyer.library.patterns import Patterns

FAMILIES = ("edge", "iris", "clock", "matrix", "move")
"""Files of the library, in the order of the SMIL taxonomy."""

OWN = "own"
"""Type of the patterns that are only a picture in a user's folder."""


def library_folder() -> Path:
    """Return the folder of the library: in the wheel, or beside the package in a checkout."""
    package = Path(__file__).resolve().parents[1]
    for folder in (package / "_patterns", package.parent / "patterns"):
        if folder.is_dir():
            return folder
    msg = f"the pattern library must lie in {package / '_patterns'}. Install keyer again."
    raise InputFileError(msg)


class _File:
    """A pattern file, read and checked against the model."""

    def __init__(self, path: Path) -> None:
        self.path = path
        text = read_text(path, "a pattern file")
        values = parse_toml(text, path.name)
        lines = {key: Place(path.name, line) for key, line in line_map(text).items()}
        self.places = Places(path.name, lines)
        try:
            self.entries = PatternFile.model_validate(values).pattern
        except ValidationError as error:
            faults = [
                self.places.fault(detail["loc"], refusal(detail, detail["loc"], PatternFile))
                for detail in error.errors()
            ]
            raise sheet_error(path.name, faults) from None

    def fault(self, number: int, key: str, message: str, param: str = "") -> Fault:
        """Make a fault of one pattern's key."""
        path: tuple[str | int, ...] = ("pattern", number)
        if key:
            path = (*path, key)
        return self.places.fault((*path, param) if param else path, message)


def _pattern(entry: PatternEntry, family: str) -> Pattern:
    return Pattern(
        entry.type,
        entry.subtype,
        entry.code,
        family,
        entry.summary,
        entry.function,
        entry.params,
        entry.default,
        entry.effect,
    )


@cache
def _shipped() -> tuple[Pattern, ...]:
    folder = library_folder()
    files = [_File(folder / f"{family}.toml") for family in FAMILIES]
    return tuple(_pattern(entry, file.path.stem) for file in files for entry in file.entries)


def _entry_faults(
    file: _File, number: int, entry: PatternEntry, taken: set[str]
) -> Iterator[Fault]:
    """Find what is wrong with a pattern of the user's, beyond its form."""
    from keyer.pixel.fields.functions import check_function

    name = f"{entry.type}/{entry.subtype}"
    if name.casefold() in taken:
        yield file.fault(number, "subtype", f"{name} exists already. Choose another name.")
    if entry.code is not None:
        yield file.fault(number, "code", "codes belong to the standard. Leave it out.")
    if entry.effect != "wipe":
        yield file.fault(number, "effect", f"must be 'wipe', got {entry.effect!r}.")
    if bool(entry.picture) == bool(entry.function):
        yield file.fault(number, "", "must have either a function or a picture.")
    elif entry.function:
        try:
            wrong = check_function(entry.function, entry.params)
        except SettingError as error:
            yield file.fault(number, "function", str(error))
            return
        for param, message in wrong.items():
            yield file.fault(number, "params", message, param)


def _picture_of(file: _File, number: int, entry: PatternEntry) -> Pattern:
    path = file.path.parent / entry.picture
    inside = path.resolve().is_relative_to(file.path.parent.resolve())
    if not inside or not path.is_file():
        message = f"must be a picture in the same folder, found no {entry.picture!r}."
        raise sheet_error(file.path.name, [file.fault(number, "picture", message)])
    return _grey(entry.type, entry.subtype, file.path.stem, entry.summary, path)


def _grey(kind: str, subtype: str, family: str, summary: str, path: Path) -> Pattern:
    grey = read_grey(path)
    return Pattern(kind, subtype, None, family, summary, "picture", picture=grey)


def _own_file(path: Path, taken: set[str]) -> Iterator[Pattern]:
    """Read a user's file of patterns."""
    file = _File(path)
    faults: list[Fault] = []
    for number, entry in enumerate(file.entries):
        faults += _entry_faults(file, number, entry, taken)
        taken.add(f"{entry.type}/{entry.subtype}".casefold())
    if faults:
        raise sheet_error(path.name, faults)
    for number, entry in enumerate(file.entries):
        if entry.picture:
            yield _picture_of(file, number, entry)
        else:
            yield _pattern(entry, path.stem)


def _own_picture(path: Path, taken: set[str]) -> Pattern:
    """Read a picture that stands in a user's folder by itself."""
    name = f"{OWN}/{path.stem}"
    if not WORD.fullmatch(path.stem):
        msg = (
            f"{path} must be named with letters, digits, - and _ to be a pattern. Rename it, "
            "or name it in a TOML file."
        )
        raise InputFileError(msg)
    if name.casefold() in taken:
        msg = f"{path} would be the pattern {name}, which exists already. Rename it."
        raise InputFileError(msg)
    taken.add(name.casefold())
    return _grey(OWN, path.stem, OWN, f"The picture {path.name}: dark first, bright last", path)


def _own(folder: Path, taken: set[str]) -> Iterator[Pattern]:
    """Read a user's folder: its TOML files, then the pictures that none of them names."""
    if not folder.is_dir():
        msg = f"{folder} must be a folder of patterns, found none. Check the path."
        raise InputFileError(msg)
    paths = sorted(path for path in folder.iterdir() if path.is_file())
    named = set()
    for path in paths:
        if path.suffix.casefold() == ".toml":
            named |= {entry.picture for entry in _File(path).entries}
            yield from _own_file(path, taken)
    for path in paths:
        if path.suffix.casefold() in PICTURES and path.name not in named:
            yield _own_picture(path, taken)


@cache
def _library() -> Patterns:
    return Patterns(_shipped())


def load_patterns(folders: Sequence[Path] | Iterable[Path] = ()) -> Patterns:
    """Read the library, and the user's own patterns.

    Parameters
    ----------
    folders : sequence of Path
        Each TOML file in them is a family; each grey picture that no file
        names is a pattern `own/NAME`.

    Returns
    -------
    Patterns

    Raises
    ------
    InputFileError
        If a file cannot be read.
    SheetError
        If a file is wrong: its faults, by line.
    """
    folders = tuple(folders)
    if not folders:
        return _library()
    found = list(_shipped())
    taken = {pattern.name.casefold() for pattern in found}
    for folder in folders:
        found.extend(_own(Path(folder), taken))
    return Patterns(found)
