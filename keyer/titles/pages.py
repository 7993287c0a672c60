"""A store of pages: titles filled and kept under a number, recalled by it.

A page holds its own copy of the design and the digests of the fonts that drew
it, so that the same page is the same page tomorrow, whatever has become of
the design since. The store is a folder of TOML files; `page_files` says what
belongs in it, and whoever owns the files writes it.
"""

from __future__ import annotations

import hashlib
import os
import re
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from functools import cache
from pathlib import Path
from typing import Annotated

from pydantic import Field, ValidationError

from keyer.documents.faults import Place, Places, sheet_error
from keyer.documents.locate import line_map
from keyer.documents.read import parse_toml, read_text
from keyer.documents.refusals import refusal
from keyer.errors import InputFileError, SettingError
from keyer.kinds.plain_file import open_plain
from keyer.titles.fonts import is_font_file
from keyer.titles.ink import Canvas
from keyer.titles.inside import laid_out
from keyer.titles.model import Part
from keyer.titles.read import DesignFile, parse_design

LARGEST_NUMBER = 9999
_NAME = re.compile(r"[0-9]{4}\.toml")
_DIGEST = re.compile(r"[0-9a-f]{64}")
_NOMINAL = Canvas(1920, 1080)


class PageTable(Part):
    """A page as it is written."""

    number: Annotated[int, Field(ge=1, le=LARGEST_NUMBER)]
    design: str
    design_name: str = ""
    note: str = ""
    fields: dict[str, str] = Field(default_factory=dict)
    fonts: dict[str, str] = Field(default_factory=dict)
    pictures: dict[str, str] = Field(default_factory=dict)


@dataclass(frozen=True)
class Page:
    """A title filled.

    Attributes
    ----------
    number : int
        1..9999.
    design : DesignFile
    fields : mapping
        Field name to value.
    note : str
    notices : tuple of str
        Fonts and pictures that have changed since it was saved.
    """

    number: int
    design: DesignFile
    fields: Mapping[str, str]
    note: str = ""
    notices: tuple[str, ...] = ()


def check_number(number: int) -> int:
    """Refuse a number that no page can have.

    Raises
    ------
    SettingError
    """
    if not 1 <= number <= LARGEST_NUMBER:
        msg = f"page number must be in [1, {LARGEST_NUMBER}], got {number}."
        raise SettingError(msg)
    return number


def page_files(page: Page) -> dict[str, bytes]:
    """Make the files that a store holds for a page.

    Returns
    -------
    dict
        Path inside the store to content: the page, its design, and the fonts
        and pictures that the design names.

    Raises
    ------
    SettingError
        If the number is out of range, a field is unknown or lacks a value, or
        a text does not fit a picture of 1920 x 1080.
    """
    import tomlkit

    check_number(page.number)
    if not _is_text(page.note):
        msg = f"note must be text in UTF-8, got {page.note!r:.80}. Type it again."
        raise SettingError(msg)
    design = page.design.design
    values = design.values(page.fields)
    layout = laid_out(design, values, _NOMINAL, page.design.folder)
    used = {
        piece.face.path
        for laid in layout.boxes
        for placed in laid.lines
        for piece in placed.line.pieces
    }
    table = {
        "number": page.number,
        "design": page.design.digest,
        "design_name": design.name,
        "note": page.note,
        "fields": dict(page.fields),
        "fonts": {Path(path).name: file_digest(path) for path in sorted(used)},
    }
    shown = sorted({box.picture.file for box in design.boxes if box.picture})
    if shown:
        table["pictures"] = {
            name: hashlib.sha256(_content(page.design.folder, name, "picture")).hexdigest()
            for name in shown
        }
    home = f"designs/{page.design.digest[:16]}"
    files = {
        f"{page.number:04d}.toml": tomlkit.dumps(table).encode(),
        f"{home}/design.toml": page.design.text.encode(),
    }
    for font in {style.font for style in design.styles.values() if is_font_file(style.font)}:
        files[f"{home}/{font}"] = _content(page.design.folder, font, "font")
    for name in shown:
        files[f"{home}/{name}"] = _content(page.design.folder, name, "picture")
    return files


def _content(folder: Path, name: str, what: str) -> bytes:
    """Read a file of a design that is kept with a page."""
    if Path(name).is_absolute() or ".." in Path(name).parts:
        msg = f"{what} {name!r} must lie in the design's own folder to be kept with a page."
        raise SettingError(msg)
    with open_plain(folder / name) as file:
        return file.read()


def _is_text(words: str) -> bool:
    """Whether words hold no byte that was no UTF-8 where they were typed."""
    return not any("\ud800" <= letter <= "\udfff" for letter in words)


@cache
def file_digest(path: str) -> str:
    """SHA-256 of a file, hexadecimal."""
    with open_plain(Path(path)) as stream:
        return hashlib.file_digest(stream, "sha256").hexdigest()


def load_page(store: str | Path, number: int) -> Page:
    """Recall a page.

    Parameters
    ----------
    store : str or Path
        Folder of the store.
    number : int

    Raises
    ------
    SettingError
        If no page has the number; names near ones.
    InputFileError
        If the store is damaged.
    SheetError
        If the page's file does not hold.
    """
    file = Path(store) / f"{check_number(number):04d}.toml"
    if not os.path.lexists(file):
        known = page_numbers(store)
        near = sorted(known, key=lambda other: abs(other - number))[:5]
        hint = f"Near: {', '.join(map(str, sorted(near)))}." if near else "The store is empty."
        msg = f"page {number} is not in {store}. {hint}"
        raise SettingError(msg)
    table = _read(file)
    if not _DIGEST.fullmatch(table.design):
        msg = f"{file} must name its design by a SHA-256, got {table.design!r:.80}. Save it again."
        raise InputFileError(msg)
    home = Path(store) / "designs" / table.design[:16]
    text = read_text(home / "design.toml", "the design of a page")
    design = parse_design(text, "design.toml", folder=home)
    if design.digest != table.design:
        msg = f"the design of page {number} in {home} is not the one that was saved. Save it again."
        raise InputFileError(msg)
    page = Page(number, design, table.fields, table.note)
    return Page(number, design, table.fields, table.note, tuple(_changed_files(page, table)))


def _read(file: Path) -> PageTable:
    text = read_text(file, "a page")
    data = parse_toml(text, file.name)
    try:
        return PageTable.model_validate(data)
    except ValidationError as error:
        places = Places(file.name, {p: Place(file.name, n) for p, n in line_map(text).items()})
        faults = [
            places.fault(tuple(d["loc"]), refusal(d, tuple(d["loc"]), PageTable))
            for d in error.errors(include_url=False)
        ]
        raise sheet_error(file.name, faults) from None


def _changed_files(page: Page, table: PageTable) -> Iterator[str]:
    """Compare the fonts and pictures that would draw a page now with those that drew it."""
    now = page_files(page)[f"{page.number:04d}.toml"].decode()
    found = PageTable.model_validate(parse_toml(now, "page"))
    for what in ("fonts", "pictures"):
        was, then = (set(getattr(one, what).items()) for one in (found, table))
        names = ", ".join(dict.fromkeys(name for name, _ in sorted(was ^ then)))
        if names:
            yield (
                f"page {page.number}: {what} have changed since it was saved ({names}); it may "
                "differ."
            )


def page_numbers(store: str | Path) -> list[int]:
    """Numbers in a store, in order."""
    folder = Path(store)
    if not folder.is_dir():
        return []
    return sorted(int(file.stem) for file in folder.iterdir() if _NAME.fullmatch(file.name))


def page_table(store: str | Path, number: int) -> PageTable:
    """Read what a page says, without its design."""
    return _read(Path(store) / f"{check_number(number):04d}.toml")
