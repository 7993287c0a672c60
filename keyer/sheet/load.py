"""Effect sheets from files, texts and plain data; faults all at once."""

from __future__ import annotations

import dataclasses
import re
import tomllib
from collections.abc import Mapping
from pathlib import Path
from typing import Any

from keyer.errors import Fault, InputFileError
from keyer.sheet.check import check_document
from keyer.sheet.faults import Place, Places, sheet_error
from keyer.sheet.locate import line_map
from keyer.sheet.notes import Notes
from keyer.sheet.resolve import resolve
from keyer.sheet.sheet import Sheet

LARGEST_BYTES = 8_000_000
"""A sheet is a text that people write; anything larger is not one."""


def load_sheet(path: str | Path) -> Sheet:
    """Load an effect sheet.

    Parameters
    ----------
    path : str or Path
        A TOML file. Its files are found from its folder.

    Returns
    -------
    Sheet

    Raises
    ------
    InputFileError
        If the file cannot be read, or is no text.
    SheetError
        If the sheet does not hold; lists every fault.
    """
    file = Path(path)
    return parse_sheet(read_text(file), file.name, folder=file.parent)


def read_text(path: Path) -> str:
    """Read a sheet's text.

    Parameters
    ----------
    path : Path

    Returns
    -------
    str

    Raises
    ------
    InputFileError
    """
    try:
        if path.stat().st_size > LARGEST_BYTES:
            msg = f"{path} must be an effect sheet, but is larger than any. Is it a picture?"
            raise InputFileError(msg)
        return path.read_bytes().decode("utf-8-sig")
    except UnicodeDecodeError:
        msg = f"{path} must be an effect sheet, a TOML text in UTF-8, but is no such text."
        raise InputFileError(msg) from None
    except OSError as error:
        if isinstance(error, InputFileError):
            raise
        reason = (error.strerror or str(error)).lower()
        msg = f"{path} cannot be read as an effect sheet: {reason}."
        raise InputFileError(msg) from None


def parse_sheet(text: str, name: str = "sheet", *, folder: str | Path = ".") -> Sheet:
    """Read an effect sheet from its text.

    Parameters
    ----------
    text : str
        TOML.
    name : str
        File name, for messages.
    folder : str or Path
        From which its files are found.

    Returns
    -------
    Sheet

    Raises
    ------
    SheetError
        If the sheet does not hold; lists every fault.
    """
    data = parse_toml(text, name)
    places = Places(name, {path: Place(name, line) for path, line in line_map(text).items()})
    sheet = _made(data, name, places, Path(folder))
    return dataclasses.replace(sheet, text=text)


def build_sheet(data: Mapping[str, Any], name: str = "sheet", *, folder: str | Path = ".") -> Sheet:
    """Make a sheet from plain data, as a sheet's TOML would give it.

    Parameters
    ----------
    data : mapping
        Tables as mappings, lists as lists or tuples.
    name : str
        For messages.
    folder : str or Path
        From which its files are found.

    Returns
    -------
    Sheet

    Raises
    ------
    SheetError
        If the sheet does not hold; lists every fault.
    """
    import tomlkit

    sheet = _made(dict(data), name, Places(name, {}), Path(folder))
    return dataclasses.replace(sheet, text=tomlkit.dumps(sheet.data))


def parse_toml(text: str, name: str) -> dict[str, Any]:
    """Read a TOML text, with its refusals as sheet faults."""
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


def _made(data: dict[str, Any], name: str, places: Places, folder: Path) -> Sheet:
    document, faults, bad = check_document(data, places)
    notes = Notes(places, bad)
    sheet = resolve(document, notes, folder) if document is not None else None
    if sheet is None or faults:
        raise sheet_error(name, [*faults, *notes.faults])
    return dataclasses.replace(sheet, name=name, data=data, places=places)
