"""Effect sheets from files, texts and plain data; faults all at once."""

from __future__ import annotations

import dataclasses
from collections.abc import Iterator, Mapping, Sequence
from contextlib import contextmanager
from contextvars import ContextVar
from functools import partial
from pathlib import Path
from typing import Any

from keyer.documents.faults import Place, Places, nearest, sheet_error
from keyer.documents.locate import line_map
from keyer.documents.mistaken import refuse_design
from keyer.documents.reach import Reach
from keyer.documents.read import parse_toml, read_text, text_name, unreadable
from keyer.errors import Fault, SettingError
from keyer.kinds.plain_file import real_path
from keyer.sheet.check import check_document
from keyer.sheet.fault_log import FaultLog
from keyer.sheet.gather import Gathered
from keyer.sheet.layers import MOST_LAYERS, layers
from keyer.sheet.resolve import resolve
from keyer.sheet.resolve_stack import DEEPEST
from keyer.sheet.sheet import Sheet
from keyer.sheet.source import OtherSheet
from keyer.sheet.variables import Value, of_kind


def load_sheet(
    path: str | Path,
    *,
    within: Path | None = None,
    variables: Mapping[str, Value] | None = None,
) -> Sheet:
    """Load an effect sheet.

    Parameters
    ----------
    path : str or Path
        A TOML file. Its files and includes are found from its folder.
    within : Path, optional
        The folder that they must lie in; default: they may lie anywhere.
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
    token = _chain.set((*_chain.get(), file))
    try:
        sheet = parse_sheet(
            text, text_name(file), folder=file.parent, within=within, variables=variables
        )
    finally:
        _chain.reset(token)
    return dataclasses.replace(sheet, documents=(file, *sheet.documents))


_chain: ContextVar[tuple[Path, ...]] = ContextVar("sheets being loaded", default=())


_loaded: ContextVar[list[Path] | None] = ContextVar("sheets within a sheet", default=None)

MOST_SHEETS = 64
"""Sheets within a sheet, and those within these."""

_TOO_MANY = (
    f"shows {{}} pictures at once, with all effects within each other; at most {MOST_LAYERS} "
    "are possible. Take some away."
)


@contextmanager
def _counted() -> Iterator[None]:
    """Count the sheets that are loaded for the outermost one."""
    if _loaded.get() is not None:
        yield
        return
    token = _loaded.set([])
    try:
        yield
    finally:
        _loaded.reset(token)


def _load_other(within: Path | None, file: Path, variables: dict[str, Value]) -> Sheet:
    """Load a sheet for another one, unless it is within itself."""
    chain = (*_chain.get(), file)
    if real_path(file) in {real_path(other) for other in chain[:-1]}:
        msg = f"a sheet is within itself: {' > '.join(one.name for one in chain)}."
        raise SettingError(msg)
    if len(chain) > DEEPEST:
        msg = f"lies within more than {DEEPEST} others: {' > '.join(one.name for one in chain)}."
        raise SettingError(msg)
    loaded = _loaded.get()
    if loaded is not None:
        loaded.append(file)
        if len(loaded) > MOST_SHEETS:
            msg = f"is one of more than {MOST_SHEETS} sheets within this one. Join some."
            raise SettingError(msg)
    return load_sheet(file, within=within, variables=variables)


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
    refuse_design(data, file.name)
    found = Gathered(data, Places(file.name, {}), Reach(file.parent)).data.get("variables")
    return dict(found) if isinstance(found, Mapping) else {}


def read_values(path: str | Path, said: Sequence[str] | None) -> dict[str, Value]:
    """Read values for the variables of a sheet, as they are typed: `name=value`.

    Parameters
    ----------
    path : str or Path
        The sheet.
    said : sequence of str, optional

    Returns
    -------
    dict
        For `load_sheet`.

    Raises
    ------
    SettingError
        If the sheet has no such variable, or a value is of another kind.
    """
    if not said:
        return {}
    declared, found = declared_variables(path), {}
    for one in said:
        name, equals, text = one.partition("=")
        name = name.strip()
        if not equals or not name:
            msg = f'set must be NAME=VALUE, got {one!r:.60}. For instance accent="#FFC83D".'
            raise SettingError(msg)
        if name not in declared:
            near = nearest(name, declared) if declared else " It has none."
            msg = f"set must name a variable of the sheet, got {name!r:.60}.{near}"
            raise SettingError(msg)
        found[name] = of_kind(f"set {name}", text, declared[name])
    return found


def parse_sheet(
    text: str,
    name: str = "sheet",
    *,
    folder: str | Path = ".",
    within: Path | None = None,
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
    within : Path, optional
        The folder that they must lie in; default: they may lie anywhere.
    variables : mapping of str to text, number or switch, optional
        Values that win over those of the sheet's `[variables]`.

    Raises
    ------
    SheetError
        If the sheet does not hold; lists every fault.
    """
    data = parse_toml(text, name)
    refuse_design(data, name)
    places = Places(name, {path: Place(name, line) for path, line in line_map(text).items()})
    sheet = _made(Gathered(data, places, Reach(Path(folder), within)), variables or {})
    return dataclasses.replace(sheet, text=text)


def parse_again(sheet: Sheet, text: str) -> Sheet:
    """Read another text of a sheet: its files are found as before, and no further away.

    Parameters
    ----------
    sheet : Sheet
    text : str
        TOML.

    Raises
    ------
    SheetError
        If the sheet does not hold; lists every fault.
    """
    return parse_sheet(text, sheet.name, folder=sheet.folder, within=sheet.confined)


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

    Raises
    ------
    SheetError
        If the sheet does not hold; lists every fault, without lines.
    """
    import tomlkit

    places = Places(name, {})
    if faults := [places.fault(path, message) for path, message in unreadable(data)]:
        raise sheet_error(name, faults)
    sheet = _made(Gathered(data, places, Reach(Path(folder))), {})
    return dataclasses.replace(sheet, text=tomlkit.dumps(data))


def _made(gathered: Gathered, variables: Mapping[str, Value]) -> Sheet:
    """Check and resolve what was gathered."""
    name, places = gathered.places.name, gathered.places
    if not gathered.readable:
        raise sheet_error(name, gathered.faults)
    gathered.work_in(variables)
    document, faults, bad = check_document(gathered.data, places)
    if not gathered.complete:  # what is missing may stand in the include that is
        faults = [fault for fault in faults if not fault.missing]
    log = FaultLog(places, bad | gathered.bad, complete=gathered.complete)
    load = partial(_load_other, gathered.reach.within)
    with _counted():
        sheet = resolve(document, log, gathered.reach, load) if document is not None else None
    found = [*gathered.faults, *faults, *log.faults]
    if sheet is None or found:
        raise sheet_error(name, found)
    if (count := layers(sheet)) > MOST_LAYERS:
        raise sheet_error(name, [Fault("", None, _TOO_MANY.format(count))])
    return dataclasses.replace(
        sheet,
        name=name,
        data=gathered.data,
        unfilled=gathered.unfilled,
        places=places,
        documents=(
            *gathered.included,
            *_other_documents(sheet),
            *([sheet.station.file] if sheet.station else []),
        ),
    )


def _other_documents(sheet: Sheet) -> list[Path]:
    """List the files that the other sheets within a sheet were read from."""
    contents = [source.content for source in sheet.sources.values()]
    return [file for one in contents if isinstance(one, OtherSheet) for file in one.sheet.documents]
