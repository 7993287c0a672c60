"""Texts of documents from files, and TOML from texts."""

from __future__ import annotations

import re
import tomllib
from pathlib import Path
from typing import Any

from keyer.documents.faults import sheet_error
from keyer.errors import Fault, InputFileError

LARGEST_BYTES = 8_000_000
"""A document is a text that people write; anything larger is not one."""


def read_text(path: Path, kind: str) -> str:
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
        msg = f"{path} cannot be read as {kind}: {reason}."
        raise InputFileError(msg) from None


def parse_toml(text: str, name: str) -> dict[str, Any]:
    """Read a TOML text, with its refusals as faults of the document."""
    try:
        return tomllib.loads(text)
    except RecursionError:
        raise sheet_error(
            name, [Fault("", None, "lists or tables are nested too deeply.")]
        ) from None
    except ValueError as error:
        found = re.search(r"line (\d+)", str(error))
        line = int(found[1]) if found else max(text.count("\n"), 0) + 1
        reason = re.sub(r"\s*\(at .*\)$", "", str(error))
        message = f"is not TOML: {reason[:1].lower()}{reason[1:]}."
        raise sheet_error(name, [Fault("", line, message)]) from None
