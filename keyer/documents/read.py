"""Texts of documents from files, and TOML from texts."""

from __future__ import annotations

import os
import re
import tomllib
from collections.abc import Iterator, Mapping
from pathlib import Path as FilePath
from typing import Any

from keyer.documents.faults import Place, Places, sheet_error
from keyer.documents.locate import Path, line_map
from keyer.documents.mistaken import table_hint
from keyer.errors import Fault, InputFileError
from keyer.kinds.plain_file import open_plain

LARGEST_BYTES = 2_000_000
"""A document is a text that people write; anything larger is not one."""

MOST_ENTRIES = 20_000
"""Values, tables and list items of a document: some thousand cues."""

_DEEPEST = 32
_TOO_DEEP = "lists or tables are nested too deeply."
_TOO_LARGE = f"is larger than any document ({LARGEST_BYTES // 10**6} MB)."
_TOO_MANY = f"holds more than {MOST_ENTRIES} values, more than any document needs. Split it."

_KEY = r"""(?:[A-Za-z0-9_-]+|"(?:\\.|[^"\\\n])*"|'[^'\n]*')"""
_DOTTED = re.compile(
    r"#[^\n]*"  # a comment
    r'|"""(?:\\.|[^\\])*?"""' + r"|'''.*?'''"  # texts of several lines
    rf"|(?P<deep>{_KEY}(?:[ \t]*\.[ \t]*{_KEY}){{{_DEEPEST}}})"
    rf"|{_KEY}",
    re.DOTALL,
)
"""What may hold dots, so that those of keys are told from those of texts and comments."""


def read_text(path: FilePath, kind: str) -> str:
    """Read a document's text.

    Parameters
    ----------
    path : Path
    kind : str
        What it must be, with its article: `"an effect sheet"`.

    Raises
    ------
    InputFileError
    """
    try:
        with open_plain(path) as file:
            data = file.read(LARGEST_BYTES + 1)
        if len(data) > LARGEST_BYTES:
            msg = f"{path} must be {kind}, but is larger than any. Is it a picture?"
            raise InputFileError(msg)
        return data.decode("utf-8-sig")
    except UnicodeDecodeError:
        msg = f"{path} must be {kind}, a TOML text in UTF-8, but is not."
        raise InputFileError(msg) from None
    except (OSError, ValueError) as error:  # ValueError: a NUL in the name
        if isinstance(error, InputFileError):
            raise
        reason = str(getattr(error, "strerror", None) or error).lower()
        msg = f"{path} cannot be read as {kind}: {reason}. Check the path."
        raise InputFileError(msg) from None


def text_name(path: FilePath) -> str:
    """Name of a file as text: what is no UTF-8 in it as the replacement character."""
    return os.fsencode(path.name).decode("utf-8", "replace")


def parse_toml(text: str, name: str) -> dict[str, Any]:
    """Read a TOML text.

    Parameters
    ----------
    text : str
    name : str
        File name, for messages.

    Raises
    ------
    SheetError
        If it is not TOML, with the line.
    """
    if len(text) > LARGEST_BYTES:  # it may have come out of another file
        raise sheet_error(name, [Fault("", None, _TOO_LARGE)])
    data = _loads(text, name)
    strange = list(unreadable(data))
    if strange:
        places = Places(name, {path: Place(name, line) for path, line in line_map(text).items()})
        raise sheet_error(name, [places.fault(path, message) for path, message in strange])
    return data


def unreadable(data: Mapping[str, Any]) -> Iterator[tuple[Path, str]]:
    """Find values that no document may hold, however well they are written.

    Yields
    ------
    path, message
        Whole numbers beyond the 64 bits of TOML 1.0, and nesting and numbers beyond reason.
    """
    waiting: list[tuple[Path, Any]] = [((), data)]
    seen = 0
    while waiting:
        path, value = waiting.pop()
        seen += 1
        if seen > MOST_ENTRIES:
            yield (), _TOO_MANY
            return
        if len(path) > _DEEPEST:
            yield path[:2], _TOO_DEEP
        elif isinstance(value, Mapping):
            waiting += [((*path, key), inner) for key, inner in value.items()]
        elif isinstance(value, list | tuple):
            waiting += [((*path, index), inner) for index, inner in enumerate(value)]
        elif isinstance(value, int) and not -(2**63) <= value < 2**63:
            yield path, "must be a number that fits into 64 bits."


def _loads(text: str, name: str) -> dict[str, Any]:
    deep = next((hit for hit in _DOTTED.finditer(text) if hit["deep"]), None)
    if deep:  # the reader's memory grows with the square of a key's parts
        line = text.count("\n", 0, deep.start()) + 1
        raise sheet_error(name, [Fault("", line, _TOO_DEEP)])
    try:
        return tomllib.loads(text)
    except RecursionError:
        raise sheet_error(name, [Fault("", None, _TOO_DEEP)]) from None
    except ValueError as error:
        found = re.search(r"line (\d+)", str(error))
        line = int(found[1]) if found else max(text.count("\n"), 0) + 1
        reason = re.sub(r"\s*\(at .*\)$", "", str(error))
        message = f"is not TOML: {reason[:1].lower()}{reason[1:]}.{table_hint(name)}"
        raise sheet_error(name, [Fault("", line, message)]) from None
