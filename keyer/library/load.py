"""Read the pattern library, and folders of patterns that a user adds."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace
from functools import cache, lru_cache
from pathlib import Path

from keyer.errors import Fault, InputFileError, SettingError
from keyer.kinds.field import Pattern
from keyer.kinds.plain_file import real_path
from keyer.library.checked import CheckedFile
from keyer.library.grey import PICTURES, read_grey
from keyer.library.model import WORD, LibraryFile, PatternEntry
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


_File = CheckedFile[LibraryFile]


def _read(path: Path) -> _File:
    return CheckedFile(path, "a file of patterns", LibraryFile)


def _pattern(entry: PatternEntry, family: str, files: tuple[str, ...] = ()) -> Pattern:
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
        files=files,
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
    from keyer.pixel.wipes.fields.functions import check_function

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
    inside = real_path(path).is_relative_to(real_path(file.path.parent))
    if not inside or not path.is_file():
        message = f"must be a picture in the same folder, found no {entry.picture!r}."
        raise file.error([file.fault(("pattern", number, "picture"), message)])
    files = (str(file.path), str(path))
    return replace(
        _pattern(entry, file.path.stem, files), function="picture", picture=read_grey(path)
    )


def _own_file(file: _File, taken: set[str]) -> Iterator[Pattern]:
    """Read the patterns of a user's file."""
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
            yield _pattern(entry, file.path.stem, (str(file.path),))


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
    summary = f"The picture {path.name}: dark first, bright last"
    grey = read_grey(path)
    return Pattern(OWN, path.stem, None, OWN, summary, "picture", picture=grey, files=(str(path),))


def _listed(folder: Path) -> list[Path]:
    """List the files of a user's folder that are read."""
    try:
        paths = sorted(path for path in folder.iterdir() if path.is_file())
    except OSError:
        msg = f"{folder} must be a folder of patterns, found none. Check the path."
        raise InputFileError(msg) from None
    return [path for path in paths if path.suffix.casefold() in {".toml", *PICTURES}]


def stamp(folder: Path) -> tuple[tuple[str, int, int], ...]:
    """Tell one state of a user's folder from another: names, times and sizes of its files.

    Raises
    ------
    InputFileError
        If there is no such folder.
    """
    facts = [(path.name, path.stat()) for path in _listed(folder)]
    return tuple((name, fact.st_mtime_ns, fact.st_size) for name, fact in facts)


def own_files(folder: Path) -> Iterator[_File]:
    """Read the TOML files of a user's folder.

    Raises
    ------
    InputFileError
        If one cannot be read.
    SheetError
        If the form of one is wrong.
    """
    for path in _listed(folder):
        if path.suffix.casefold() == ".toml":
            file = _read(path)
            if not file.document.pattern and not file.document.background:
                message = "must hold [[pattern]] or [[background]] tables, found none."
                raise file.error([file.fault((), message)])
            yield file


def _own(folder: Path, taken: set[str]) -> Iterator[Pattern]:
    """Read a user's folder: its TOML files, then the pictures that none of them names."""
    named = set()
    for file in own_files(folder):
        named |= {entry.picture for entry in file.document.pattern}
        yield from _own_file(file, taken)
    for path in _listed(folder):
        if path.suffix.casefold() in PICTURES and path.name not in named:
            yield _own_picture(path, taken)


@cache
def _library() -> Patterns:
    return Patterns(_shipped())


@lru_cache(maxsize=8)
def _with_own(folders: tuple[Path, ...], _stamps: object) -> Patterns:
    found = list(_shipped())
    taken = {pattern.name.casefold() for pattern in found}
    for folder in folders:
        found.extend(_own(folder, taken))
    return Patterns(found)


def load_patterns(folders: Sequence[Path] = ()) -> Patterns:
    """Read the library, and the user's own patterns.

    Parameters
    ----------
    folders : sequence of Path
        Each TOML file in them is a family; each grey picture that no file
        names is a pattern `own/NAME`.

    Returns
    -------
    Patterns
        The same object until a file changes.

    Raises
    ------
    InputFileError
        If a file cannot be read.
    SheetError
        If a file is wrong: its faults, by line.
    """
    if not folders:
        return _library()
    paths = tuple(Path(folder) for folder in folders)
    return _with_own(paths, tuple(map(stamp, paths)))
