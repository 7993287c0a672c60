"""What a still carries so that it can be made again: the sheet, the frame, and its files' prints.

The recipe travels in a PNG's notes. It holds no path but those that the sheet
itself names, so the same still has the same bytes wherever it is written.
"""

from __future__ import annotations

import hashlib
import json
import os
from collections.abc import Iterator, Mapping
from dataclasses import asdict, dataclass, field
from functools import cache
from pathlib import Path
from typing import Any

from keyer.errors import InputFileError, KeyerError
from keyer.kinds.plain_file import open_plain
from keyer.kinds.version import __version__
from keyer.media.notes import read_notes
from keyer.media.sequence import is_pattern, sequence_files
from keyer.render.lettering import shown_pictures, title_parts
from keyer.render.patterns import pattern_files
from keyer.render.still import CUT_OUTS
from keyer.sheet.edit import flatten_sheet
from keyer.sheet.sheet import Sheet
from keyer.sheet.source import File, OtherSheet, Source, Title
from keyer.titles.page_list import page_name

KEYWORD = "keyer"
"""Keyword of the note that holds the recipe."""

FORM = 1
"""Version of the recipe's form."""

_PART = 4 << 20
"""Bytes read at the beginning, in the middle and at the end of a large file."""


@dataclass(frozen=True)
class Recipe:
    """How a picture was made: sheet, frame and its files' fingerprints, to make it again.

    Attributes
    ----------
    digest : str
        Of what the sheet says.
    name : str
        File name of the sheet.
    sheet : str
        The sheet as TOML, includes and variables worked in.
    frame : int
    show : str
        One of `keyer.render.still.SHOWS` or `CUT_OUTS`, or `ZONES`.
    files : mapping
        Fingerprint of every file, by the name that the sheet gives it.
    board : mapping
        Empty for a still; for a board what `keyer.report.boards.board` needs.
    made_by : str
        Name and version of the program.
    form : int
    """

    digest: str
    name: str
    sheet: str
    frame: int = 0
    show: str = "picture"
    files: Mapping[str, str] = field(default_factory=dict)
    board: Mapping[str, Any] = field(default_factory=dict)
    made_by: str = ""
    form: int = FORM


def program() -> str:
    """Name and version of this program."""
    return f"keyer {__version__}"


def file_print(path: Path) -> str:
    """Tell a file from others: SHA-256 of its size and content.

    Parameters
    ----------
    path : Path
        A file, a pattern of numbered stills or a folder of them.

    Returns
    -------
    str
        Hexadecimal. Of a file above 12 MiB the first, middle and last 4 MiB
        are read; of a sequence the names and sizes, and the first still.

    Raises
    ------
    InputFileError
        If it cannot be read.
    """
    try:
        if path.is_dir() or (is_pattern(path) and not path.exists()):
            files = sequence_files(path)
            listed = "\n".join(f"{file.name} {file.stat().st_size}" for file in files)
            return hashlib.sha256(f"{listed}\n{file_print(files[0])}".encode()).hexdigest()
        facts = path.stat()
        return _print(str(path), facts.st_size, facts.st_mtime_ns)
    except OSError as error:
        if isinstance(error, KeyerError):
            raise
        msg = f"{path} cannot be read: {error.strerror}. Check its name and permissions."
        raise InputFileError(msg) from None


@cache
def _print(path: str, size: int, _changed: int) -> str:
    digest = hashlib.sha256(f"{size}\n".encode())
    with open_plain(Path(path)) as file:
        starts = (0, size // 2 - _PART // 2, size - _PART) if size > 3 * _PART else (0,)
        for start in starts:
            file.seek(start)
            digest.update(file.read(_PART if len(starts) > 1 else -1))
    return digest.hexdigest()


def used_sources(sheet: Sheet) -> Iterator[Source]:
    """Yield the sources that the sheet shows somewhere, in its order."""
    names = sheet.shown()
    return (source for name, source in sheet.sources.items() if name in names)


def source_files(sheet: Sheet) -> dict[str, Path]:
    """Find the files that a sheet's pictures are made of: sources, titles, patterns of one's own.

    Returns
    -------
    dict
        By the name that the sheet gives them; title designs with the fonts
        and pictures that they name.

    Raises
    ------
    KeyerError
        If a title cannot be read.
    """
    found: dict[str, Path] = {}
    for source in used_sources(sheet):
        match source.content:
            case File(path=path, written=written):
                found[written or path.name] = path
            case Title():
                files = _title_files(source.content)
                found |= {_written(path, sheet.folder): path for path in files}
            case OtherSheet(sheet=other):
                inner = (*other.documents, *source_files(other).values())
                found |= {_written(path, sheet.folder): path for path in inner}
    found |= {_written(path, sheet.folder): path for path in pattern_files(sheet)}
    return found


def _title_files(title: Title) -> Iterator[Path]:
    design, fields, _ = title_parts(title)
    if title.page is not None:
        yield title.store / page_name(title.page)
    elif title.design is not None:
        yield title.design
    yield from design.files()[1:]
    yield from shown_pictures(design, fields)


def _written(path: Path, folder: Path) -> str:
    return Path(os.path.relpath(path, folder)).as_posix()


def recipe_of(
    sheet: Sheet, frame: int = 0, show: str = "picture", board: Mapping[str, Any] | None = None
) -> Recipe:
    """Write down how a picture of a sheet is made.

    Parameters
    ----------
    sheet : Sheet
    frame : int
    show : str
    board : mapping, optional
        As in `Recipe`.

    Raises
    ------
    KeyerError
        If a file cannot be read.
    """
    files = {name: file_print(path) for name, path in source_files(sheet).items()}
    text = flatten_sheet(sheet)
    return Recipe(sheet.digest, sheet.name, text, frame, show, files, dict(board or {}), program())


def as_notes(recipe: Recipe, title: str, description: str) -> dict[str, str]:
    """Put a recipe into the notes of a PNG.

    Parameters
    ----------
    recipe : Recipe
    title, description : str
        For people, under the keywords that PNG 3rd edition, 11.3.3.1, names.
    """
    notes = {"Title": title, "Description": description, "Software": recipe.made_by}
    packed = json.dumps(asdict(recipe), ensure_ascii=False, sort_keys=True, separators=(",", ":"))
    return {name: text for name, text in notes.items() if text} | {KEYWORD: packed}


def still_notes(sheet: Sheet, frame: int, show: str = "picture") -> dict[str, str]:
    """Make the notes of a still.

    Returns
    -------
    dict
        For `keyer.media.write.write_still`.

    Raises
    ------
    KeyerError
        If a file of the sheet cannot be read.
    """
    what = "" if show == "picture" else f"{CUT_OUTS.get(show, show)}, "
    said = f"{what}frame {frame}, {sheet.label(frame)}; sheet {sheet.digest[:12]}"
    return as_notes(recipe_of(sheet, frame, show), sheet.title, said)


def read_recipe(path: Path) -> Recipe:
    """Read the recipe of a picture.

    Parameters
    ----------
    path : Path
        A PNG.

    Raises
    ------
    InputFileError
        If it carries none, or one that does not hold.
    """
    packed = read_notes(path).get(KEYWORD)
    if packed is None:
        msg = (
            f"{path} does not say how it was made. PNGs that 'keyer still' and 'keyer board' "
            "write do, unless another program has saved them again."
        )
        raise InputFileError(msg)
    try:
        recipe = Recipe(**json.loads(packed))
        _check(recipe)
    except (ValueError, TypeError, RecursionError):
        msg = f"{path} carries a damaged note of how it was made. Take the original file."
        raise InputFileError(msg) from None
    if recipe.form > FORM:
        msg = f"{path} was made by a newer program ({recipe.made_by}). Install that one."
        raise InputFileError(msg)
    return recipe


def _check(recipe: Recipe) -> None:
    """Raise TypeError for a recipe whose parts are not what they should be."""
    texts = (recipe.digest, recipe.name, recipe.sheet, recipe.show, recipe.made_by)
    numbers = (recipe.frame, recipe.form)
    right = all(isinstance(text, str) for text in texts)
    right = right and all(isinstance(number, int) for number in numbers)
    if not right or not isinstance(recipe.files, dict) or not isinstance(recipe.board, dict):
        raise TypeError
