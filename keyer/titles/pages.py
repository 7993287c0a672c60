"""A store of pages: titles filled and kept under a number, recalled by it.

A page holds its own copy of the design and the digests of the fonts that drew
it, so that the same page is the same page tomorrow, whatever has become of
the design since. The store is a folder of TOML files; `page_files` says what
belongs in it, and whoever owns the files writes it. A page's number is the
name of its file and stands nowhere else.
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
from keyer.titles.ink import Canvas
from keyer.titles.inside import laid_out
from keyer.titles.model import Part
from keyer.titles.page_list import DELETED, DESIGNS, LARGEST_NUMBER, page_name, page_numbers
from keyer.titles.read import DesignFile, parse_design

_DIGEST = re.compile(r"[0-9a-f]{64}")
NOMINAL = Canvas(1920, 1080)
"""A page's texts have to fit into this."""


class PageTable(Part):
    """A page as it is written.

    `number` stood in pages of old, beside the name of the file, which says it.
    """

    number: Annotated[int, Field(ge=1, le=LARGEST_NUMBER)] | None = None
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
        From 1 to `LARGEST_NUMBER`.
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
        demand = f"must be in [1, {LARGEST_NUMBER}], got {number}."
        raise SettingError(demand, "page number")
    return number


def page_file(store: str | Path, number: int) -> Path:
    """Name the file of a page, whether it is there or not.

    Raises
    ------
    SettingError
        If no page can have the number.
    """
    return Path(store) / page_name(check_number(number))


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
    for name in design.picture_fields():
        if page.fields.get(name):
            msg = (
                f"field {name} names a picture, and a page keeps texts and colours alone. Leave it "
                "empty, or fill it on a sheet or from a table."
            )
            raise SettingError(msg)
    layout = laid_out(design, values, NOMINAL, page.design.folder)
    used = {
        piece.face.path
        for laid in layout.boxes
        for placed in laid.lines
        for piece in placed.line.pieces
    }
    table = {
        "design": page.design.digest,
        "design_name": design.name,
        "note": page.note,
        "fields": dict(page.fields),
        "fonts": {Path(path).name: file_digest(path) for path in sorted(used)},
    }
    shown = sorted(
        Path(os.path.relpath(file, page.design.folder)).as_posix()
        for file in page.design.picture_files()
    )
    if shown:
        table["pictures"] = {
            name: hashlib.sha256(_content(page.design.folder, name, "picture")).hexdigest()
            for name in shown
        }
    home = design_folder(page.design.digest)
    files = {
        page_name(page.number): tomlkit.dumps(table).encode(),
        f"{home}/design.toml": page.design.text.encode(),
    }
    for font in page.design.fonts():
        files[f"{home}/{font}"] = _content(page.design.folder, font, "font")
    for name in shown:
        files[f"{home}/{name}"] = _content(page.design.folder, name, "picture")
    return files


def design_folder(digest: str) -> str:
    """Name the folder inside a store for a design of this SHA-256.

    Raises
    ------
    InputFileError
        If it is none.
    """
    if not _DIGEST.fullmatch(digest):
        msg = f"a page must name its design by a SHA-256, got {digest!r:.80}. Save it again."
        raise InputFileError(msg)
    return f"{DESIGNS}/{digest[:16]}"


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
    """Load a page from its store: its design, and its texts with changes.

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
    file = page_file(store, number)
    if not os.path.lexists(file):
        raise not_there(store, number)
    table = _read(file)
    home = Path(store) / design_folder(table.design)
    text = read_text(home / "design.toml", "the design of a page")
    design = parse_design(text, "design.toml", folder=home)
    if design.digest != table.design:
        msg = f"the design of page {number} in {home} is not the one that was saved. Save it again."
        raise InputFileError(msg)
    page = Page(number, design, table.fields, table.note)
    return Page(number, design, table.fields, table.note, tuple(_changed_files(page, table)))


def not_there(store: str | Path, number: int) -> SettingError:
    """Say that no page has a number, which ones near it are there, and where it went."""
    gone = Path(store) / DELETED / page_name(number)
    known = page_numbers(store)
    near = sorted(known, key=lambda other: abs(other - number))[:5]
    hint = f"Near: {', '.join(map(str, sorted(near)))}." if near else "The store is empty."
    if gone.is_file():
        hint = f"It was deleted: move {gone} back into {store} to have it again."
    return SettingError(f"page {number} is not in {store}. {hint}")


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
    now = page_files(page)[page_name(page.number)].decode()
    found = PageTable.model_validate(parse_toml(now, "page"))
    for what in ("fonts", "pictures"):
        was, then = (set(getattr(one, what).items()) for one in (found, table))
        names = ", ".join(dict.fromkeys(name for name, _ in sorted(was ^ then)))
        if names:
            yield (
                f"page {page.number}: {what} have changed since it was saved ({names}); it may "
                "differ."
            )


def page_table(store: str | Path, number: int) -> PageTable:
    """Read what a page says, without its design."""
    return _read(page_file(store, number))
