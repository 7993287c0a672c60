"""What a store of pages holds, told fast: ten thousand pages in a moment.

A page is nearly always as this program writes it: one plain text a line. Such a
file is read line by line, in a fraction of the time that a reader of all of
TOML takes; any other file goes to that one.
"""

from __future__ import annotations

import os
import re
from collections.abc import Mapping
from dataclasses import asdict, dataclass, field
from pathlib import Path
from typing import Any

from keyer.errors import InputFileError, KeyerError
from keyer.kinds.plain_file import open_plain

LARGEST_NUMBER = 99_999
DESIGNS, DELETED = "designs", "deleted"
"""Folders inside a store: of designs, and of pages that were deleted."""

_NAME = re.compile(r"([0-9]{4}|[1-9][0-9]{4})\.toml")
_LINE = re.compile(
    r'(?:([A-Za-z0-9_-]+)|"([^"\\\x00-\x1f\x7f]*)")'  # a key, bare or quoted
    r' = "([^"\\\x00-\x1f\x7f]*)"'  # a text without escapes
)
_MOST_BYTES = 1 << 16
_TEXTS, _TABLES = ("design", "design_name", "note"), ("fields", "fonts", "pictures")
_HEADS = {f"[{name}]": name for name in _TABLES}


@dataclass(frozen=True)
class Listed:
    """A page's number, texts and design name, read without opening the design.

    Attributes
    ----------
    number : int
    design : str
        SHA-256 of the design's text, hexadecimal.
    design_name, note : str
    fields, fonts, pictures : mapping of str to str
        Texts by field; digests by file name.
    """

    number: int
    design: str
    design_name: str = ""
    note: str = ""
    fields: Mapping[str, str] = field(default_factory=dict)
    fonts: Mapping[str, str] = field(default_factory=dict)
    pictures: Mapping[str, str] = field(default_factory=dict)

    def as_dict(self) -> dict[str, Any]:
        """As plain data for JSON."""
        return asdict(self)


@dataclass(frozen=True)
class Listing:
    """All pages of a store in order, and by number what is wrong with those that are damaged."""

    pages: tuple[Listed, ...]
    damaged: Mapping[int, str]


def page_name(number: int) -> str:
    """Name of a page's file in its store."""
    return f"{number:04d}.toml"


def page_numbers(store: str | Path) -> list[int]:
    """Numbers in a store, in order; none where there is no store.

    Raises
    ------
    InputFileError
        If it is no folder, or cannot be looked into.
    """
    try:
        with os.scandir(store) as found:
            names = [entry.name for entry in found]
    except (FileNotFoundError, ValueError):  # ValueError: a NUL in the name
        return []
    except OSError as error:
        reason = (error.strerror or str(error)).lower()
        msg = f"{store} cannot be read as a store of pages: {reason}. Name its folder."
        raise InputFileError(msg) from None
    return sorted(number for name in names if _NAME.fullmatch(name) and (number := int(name[:-5])))


def list_pages(store: str | Path) -> Listing:
    """Read what the pages of a store say.

    Parameters
    ----------
    store : str or Path
        A folder; without one there are no pages.
    """
    pages: list[Listed] = []
    damaged: dict[int, str] = {}
    for number in page_numbers(store):
        try:
            pages.append(listed_page(store, number))
        except KeyerError as error:
            damaged[number] = " ".join(str(error).split())
    return Listing(tuple(pages), damaged)


def listed_page(store: str | Path, number: int) -> Listed:
    """Read what a page says, without its design.

    Raises
    ------
    KeyerError
        If it cannot be read or does not hold.
    """
    found = _plainly(Path(store) / page_name(number))
    if found is not None:
        return Listed(number, **found)
    from keyer.titles.pages import page_table

    table = page_table(store, number).model_dump()
    return Listed(**{**table, "number": number})


def _plainly(file: Path) -> dict[str, Any] | None:
    """Read a page that is written as this program does; None for any other."""
    try:
        with open_plain(file) as stream:
            data = stream.read(_MOST_BYTES)
        text = data.decode()
    except (OSError, ValueError):
        return None
    if len(data) == _MOST_BYTES:
        return None
    found: dict[str, Any] = {}
    here = found
    for line in text.split("\n"):
        if not line:
            continue
        entry = _LINE.fullmatch(line)
        if entry is not None:
            key = entry[1] or entry[2] or ""
            if key in here or (here is found and key not in _TEXTS):
                return None
            here[key] = entry[3]
        elif line in _HEADS and _HEADS[line] not in found:
            here = found[_HEADS[line]] = {}
        else:
            return None
    return found if "design" in found else None
