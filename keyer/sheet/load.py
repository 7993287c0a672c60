"""Effect sheets from files, texts and plain data; faults all at once."""

from __future__ import annotations

import dataclasses
from collections.abc import Mapping
from pathlib import Path
from typing import Any

from keyer.documents.faults import Place, Places, sheet_error
from keyer.documents.locate import line_map
from keyer.documents.read import parse_toml, read_text
from keyer.sheet.check import check_document
from keyer.sheet.notes import Notes
from keyer.sheet.resolve import resolve
from keyer.sheet.sheet import Sheet


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
    return parse_sheet(read_text(file, "an effect sheet"), file.name, folder=file.parent)


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


def _made(data: dict[str, Any], name: str, places: Places, folder: Path) -> Sheet:
    document, faults, bad = check_document(data, places)
    notes = Notes(places, bad)
    sheet = resolve(document, notes, folder) if document is not None else None
    if sheet is None or faults:
        raise sheet_error(name, [*faults, *notes.faults])
    return dataclasses.replace(sheet, name=name, data=data, places=places)
