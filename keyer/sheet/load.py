"""Effect sheets from files, texts and plain data; faults all at once."""

from __future__ import annotations

import dataclasses
from collections.abc import Mapping
from pathlib import Path
from typing import Any

from keyer.documents.faults import Place, Places, sheet_error
from keyer.documents.locate import line_map
from keyer.documents.read import parse_toml, read_text, unreadable
from keyer.sheet.check import check_document
from keyer.sheet.gather import Gathered
from keyer.sheet.notes import Notes
from keyer.sheet.resolve import resolve
from keyer.sheet.sheet import Sheet
from keyer.sheet.variables import Value


def load_sheet(path: str | Path, *, variables: Mapping[str, Value] | None = None) -> Sheet:
    """Load an effect sheet.

    Parameters
    ----------
    path : str or Path
        A TOML file. Its files and includes are found from its folder.
    variables : mapping of str to text, number or switch, optional
        Values that win over those of the sheet's `[variables]`.

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
    text = read_text(file, "an effect sheet")
    sheet = parse_sheet(text, file.name, folder=file.parent, variables=variables)
    return dataclasses.replace(sheet, documents=(file, *sheet.documents))


def declared_variables(path: str | Path) -> dict[str, Value]:
    """Read the `[variables]` of a sheet and its includes, without reading the rest.

    Parameters
    ----------
    path : str or Path

    Returns
    -------
    dict
        Name to the value that the sheet gives it.

    Raises
    ------
    InputFileError
        If the file cannot be read, or is no text.
    SheetError
        If it is no TOML.
    """
    file = Path(path)
    data = parse_toml(read_text(file, "an effect sheet"), file.name)
    found = Gathered(data, Places(file.name, {}), file.parent).data.get("variables")
    return dict(found) if isinstance(found, Mapping) else {}


def parse_sheet(
    text: str,
    name: str = "sheet",
    *,
    folder: str | Path = ".",
    variables: Mapping[str, Value] | None = None,
) -> Sheet:
    """Read an effect sheet from its text.

    Parameters
    ----------
    text : str
        TOML.
    name : str
        File name, for messages.
    folder : str or Path
        From which its files and includes are found.
    variables : mapping of str to text, number or switch, optional
        Values that win over those of the sheet's `[variables]`.

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
    sheet = _made(Gathered(data, places, Path(folder)), variables or {})
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
        From which its files and includes are found.

    Returns
    -------
    Sheet

    Raises
    ------
    SheetError
        If the sheet does not hold; lists every fault, without lines.
    """
    import tomlkit

    places = Places(name, {})
    if faults := [places.fault(path, message) for path, message in unreadable(data)]:
        raise sheet_error(name, faults)
    sheet = _made(Gathered(data, places, Path(folder)), {})
    return dataclasses.replace(sheet, text=tomlkit.dumps(data))


def _made(gathered: Gathered, variables: Mapping[str, Value]) -> Sheet:
    """Check and resolve what was gathered."""
    name, places = gathered.places.name, gathered.places
    if not gathered.readable:
        raise sheet_error(name, gathered.faults)
    gathered.work_in(variables)
    document, faults, bad = check_document(gathered.data, places)
    if not gathered.complete:  # what is missing may stand in the include that is
        faults = [fault for fault in faults if not fault.message.startswith("is missing")]
    notes = Notes(places, bad | gathered.bad, complete=gathered.complete)
    sheet = resolve(document, notes, gathered.folder) if document is not None else None
    found = [*gathered.faults, *faults, *notes.faults]
    if sheet is None or found:
        raise sheet_error(name, found)
    return dataclasses.replace(
        sheet,
        name=name,
        data=gathered.data,
        unfilled=gathered.unfilled,
        places=places,
        documents=tuple(gathered.included),
    )
