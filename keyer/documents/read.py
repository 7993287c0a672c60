"""Texts of documents from files, and TOML from texts."""

from __future__ import annotations

import re
import tomllib
from collections.abc import Iterator, Mapping
from pathlib import Path as FilePath
from typing import Any

from keyer.documents.faults import Place, Places, sheet_error
from keyer.documents.locate import Path, line_map
from keyer.errors import Fault, InputFileError

LARGEST_BYTES = 8_000_000
"""A document is a text that people write; anything larger is not one."""

_DEEPEST = 32
_TOO_DEEP = "lists or tables are nested too deeply."


def read_text(path: FilePath, kind: str) -> str:
    """Read a document's text.

    Parameters
    ----------
    path : Path
    kind : str
        What it must be, with its article: `"an effect sheet"`.

    Returns
    -------
    str

    Raises
    ------
    InputFileError
    """
    try:
        if path.stat().st_size > LARGEST_BYTES:
            msg = f"{path} must be {kind}, but is larger than any. Is it a picture?"
            raise InputFileError(msg)
        return path.read_bytes().decode("utf-8-sig")
    except UnicodeDecodeError:
        msg = f"{path} must be {kind}, a TOML text in UTF-8, but is no such text."
        raise InputFileError(msg) from None
    except (OSError, ValueError) as error:  # ValueError: a NUL in the name
        if isinstance(error, InputFileError):
            raise
        reason = str(getattr(error, "strerror", None) or error).lower()
        msg = f"{path} cannot be read as {kind}: {reason}. Check the path."
        raise InputFileError(msg) from None


def parse_toml(text: str, name: str) -> dict[str, Any]:
    """Read a TOML text.

    Parameters
    ----------
    text : str
    name : str
        File name, for messages.

    Returns
    -------
    dict

    Raises
    ------
    SheetError
        If it is not TOML, with the line.
    """
    data = _loads(text, name)
    strange = list(unreadable(data))
    if strange:
        places = Places(name, {path: Place(name, line) for path, line in line_map(text).items()})
        raise sheet_error(name, [places.fault(path, message) for path, message in strange])
    return data


def unreadable(data: Mapping[str, Any]) -> Iterator[tuple[Path, str]]:
    """Find values that no document may hold, however well they are written.

    Parameters
    ----------
    data : mapping

    Yields
    ------
    path, message
        Whole numbers beyond the 64 bits of TOML 1.0, and nesting beyond reason.
    """
    waiting: list[tuple[Path, Any]] = [((), data)]
    while waiting:
        path, value = waiting.pop()
        if len(path) > _DEEPEST:
            yield path[:2], _TOO_DEEP
        elif isinstance(value, Mapping):
            waiting += [((*path, key), inner) for key, inner in value.items()]
        elif isinstance(value, list | tuple):
            waiting += [((*path, index), inner) for index, inner in enumerate(value)]
        elif isinstance(value, int) and not -(2**63) <= value < 2**63:
            yield path, "must be a number that fits into 64 bits."


def _loads(text: str, name: str) -> dict[str, Any]:
    try:
        return tomllib.loads(text)
    except RecursionError:
        raise sheet_error(name, [Fault("", None, _TOO_DEEP)]) from None
    except ValueError as error:
        found = re.search(r"line (\d+)", str(error))
        line = int(found[1]) if found else max(text.count("\n"), 0) + 1
        reason = re.sub(r"\s*\(at .*\)$", "", str(error))
        message = f"is not TOML: {reason[:1].lower()}{reason[1:]}."
        raise sheet_error(name, [Fault("", line, message)]) from None
