"""Read the pattern library, and folders of patterns that a user adds."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from functools import cache
from pathlib import Path

from pydantic import ValidationError

from keyer.documents.faults import Place, Places, sheet_error
from keyer.documents.locate import line_map
from keyer.documents.read import parse_toml, read_text
from keyer.documents.refusals import refusal
from keyer.errors import InputFileError
from keyer.kinds.field import Pattern
from keyer.library.model import PatternEntry, PatternFile
from keyer.library.patterns import Patterns

FAMILIES = ("edge", "iris", "clock", "matrix", "move")
"""Files of the library, in the order of the SMIL taxonomy."""


def library_folder() -> Path:
    """Return the folder of the library: in the wheel, or beside the package in a checkout."""
    package = Path(__file__).resolve().parents[1]
    for folder in (package / "_patterns", package.parent / "patterns"):
        if folder.is_dir():
            return folder
    msg = f"the pattern library must lie in {package / '_patterns'}. Install keyer again."
    raise InputFileError(msg)


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


def read_pattern_file(path: Path) -> PatternFile:
    """Read a file of patterns.

    Parameters
    ----------
    path : Path

    Returns
    -------
    PatternFile

    Raises
    ------
    InputFileError
        If it cannot be read.
    SheetError
        Its faults, by line.
    """
    text = read_text(path, "a pattern file")
    values = parse_toml(text, path.name)
    try:
        return PatternFile.model_validate(values)
    except ValidationError as error:
        lines = {key: Place(path.name, line) for key, line in line_map(text).items()}
        places = Places(path.name, lines)
        faults = [
            places.fault(detail["loc"], refusal(detail, detail["loc"], PatternFile))
            for detail in error.errors()
        ]
        raise sheet_error(path.name, faults) from None


def _family(path: Path) -> Iterator[Pattern]:
    for entry in read_pattern_file(path).pattern:
        yield _pattern(entry, path.stem)


@cache
def _shipped() -> tuple[Pattern, ...]:
    folder = library_folder()
    paths = [folder / f"{family}.toml" for family in FAMILIES]
    return tuple(pattern for path in paths if path.exists() for pattern in _family(path))


def load_patterns(folders: Sequence[Path] = ()) -> Patterns:
    """Read the library.

    Parameters
    ----------
    folders : sequence of Path
        The user's own: each TOML file in them is a family.

    Returns
    -------
    Patterns
    """
    return _loaded(tuple(folders))


@cache
def _loaded(folders: tuple[Path, ...]) -> Patterns:
    found = list(_shipped())
    for folder in folders:
        for path in sorted(folder.glob("*.toml")):
            found.extend(_family(path))
    return Patterns(found)
