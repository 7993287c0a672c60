"""Read the pattern library, and folders of patterns that a user adds."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from functools import cache
from pathlib import Path

from keyer.errors import Fault, InputFileError, SettingError
from keyer.kinds.field import Pattern
from keyer.library.checked import CheckedFile
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


_File = CheckedFile[PatternFile]


def _read(path: Path) -> _File:
    return CheckedFile(path, "a pattern file", PatternFile)


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
    files = [_read(folder / f"{family}.toml") for family in FAMILIES]
    return tuple(
        _pattern(entry, file.path.stem) for file in files for entry in file.document.pattern
    )


def _entry_faults(
    file: _File, number: int, entry: PatternEntry, taken: set[str]
) -> Iterator[Fault]:
    """Find what is wrong with a pattern of the user's, beyond its form."""
    from keyer.pixel.fields.functions import check_function

    at = ("pattern", number)
    name = f"{entry.type}/{entry.subtype}"
    if name.casefold() in taken:
        yield file.fault((*at, "subtype"), f"{name} exists already. Choose another name.")
    if entry.code is not None:
        yield file.fault((*at, "code"), "codes belong to the standard. Leave it out.")
    if entry.effect != "wipe":
        yield file.fault((*at, "effect"), f"must be 'wipe', got {entry.effect!r}.")
    if bool(entry.picture) == bool(entry.function):
        yield file.fault(at, "must have either a function or a picture.")
    elif entry.function:
        try:
            wrong = check_function(entry.function, entry.params)
        except SettingError as error:
            yield file.fault((*at, "function"), str(error))
            return
        for param, message in wrong.items():
            yield file.fault((*at, "params", param) if param else (*at, "params"), message)


def _picture_of(file: _File, number: int, entry: PatternEntry) -> Pattern:
    path = file.path.parent / entry.picture
    inside = path.resolve().is_relative_to(file.path.parent.resolve())
    if not inside or not path.is_file():
        message = f"must be a picture in the same folder, found no {entry.picture!r}."
        raise file.error([file.fault(("pattern", number, "picture"), message)])
    return _grey(entry.type, entry.subtype, file.path.stem, entry.summary, path)


def _grey(kind: str, subtype: str, family: str, summary: str, path: Path) -> Pattern:
    grey = read_grey(path)
    return Pattern(kind, subtype, None, family, summary, "picture", picture=grey)


def _own_file(path: Path, taken: set[str]) -> Iterator[Pattern]:
    """Read a user's file of patterns."""
    file = _read(path)
    faults: list[Fault] = []
    for number, entry in enumerate(file.document.pattern):
        faults += _entry_faults(file, number, entry, taken)
        taken.add(f"{entry.type}/{entry.subtype}".casefold())
    if faults:
        raise file.error(faults)
    for number, entry in enumerate(file.document.pattern):
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
            named |= {entry.picture for entry in _read(path).document.pattern}
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
