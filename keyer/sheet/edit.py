"""Sheets changed and written, with the comments and the order that people gave them."""

from __future__ import annotations

import itertools
from collections.abc import Mapping
from typing import Any

from keyer.documents.locate import Path, read_path
from keyer.errors import SettingError
from keyer.sheet.load import parse_again
from keyer.sheet.sheet import Sheet


def flatten_sheet(sheet: Sheet) -> str:
    """Write a sheet as one TOML text that needs no other.

    Returns
    -------
    str
        Included settings worked in, variables with the values that hold;
        without comments.
    """
    import tomlkit

    return tomlkit.dumps(sheet.unfilled)


def work_in(sheet: Sheet) -> Sheet:
    """Work a sheet's includes and variables into its own text.

    Returns
    -------
    Sheet
        The same, of a text that needs no other and keeps its own comments and
        order; what was included follows where there was no such table.
    """
    import tomlkit

    document = tomlkit.parse(sheet.text)
    for key in ("include", "variables"):
        document.pop(key, None)
    _state(document, {key: value for key, value in sheet.data.items() if key != "variables"})
    made = parse_again(sheet, tomlkit.dumps(document))
    if made != sheet:
        msg = "a sheet says the same with its includes worked in"
        raise AssertionError(msg)
    return made


def _state(table: Any, said: Mapping[str, Any]) -> None:
    """Let a table of a text say what it should, and leave alone what it says already."""
    for key, value in said.items():
        if key == "include" or (not value and key not in table and isinstance(value, Mapping)):
            continue
        if key not in table:
            table[key] = _plain(value)
        elif isinstance(value, Mapping):
            _state(table[key], value)
        elif isinstance(value, list | tuple) and _are_tables(value):
            for own, inner in zip(table[key], value, strict=True):
                _state(own, inner)
        elif table[key] != _plain(value):
            table[key] = _plain(value)


def _are_tables(value: list[Any] | tuple[Any, ...]) -> bool:
    return bool(value) and all(isinstance(one, Mapping) for one in value)


def _plain(value: Any) -> Any:
    """Give tuples as lists, as TOML has them."""
    if isinstance(value, Mapping):
        return {key: _plain(inner) for key, inner in value.items()}
    return [_plain(inner) for inner in value] if isinstance(value, list | tuple) else value


def change_sheet(sheet: Sheet, changes: Mapping[str, Any]) -> Sheet:
    """Change keys of a sheet.

    Parameters
    ----------
    sheet : Sheet
    changes : mapping of str to Any
        Values by path, e.g. `{"cues[1].transition.soft": 4}`. Tables on the
        way are made if they are not there; list items must be there. None
        takes a key out.

    Returns
    -------
    Sheet
        Read anew and checked like any other; its text keeps the comments.

    Raises
    ------
    SettingError
        If a path leads nowhere.
    SheetError
        If the changed sheet does not hold.
    """
    import tomlkit

    document = tomlkit.parse(sheet.text)
    for where, value in changes.items():
        _change(document, read_path(where), value, where)
    text = tomlkit.dumps(document)
    return parse_again(sheet, text)


def _change(document: Any, path: Path, value: Any, text: str) -> None:
    import tomlkit
    from tomlkit.items import InlineTable

    if not path:
        raise _nowhere(text)
    holder = document
    try:
        for step, following in itertools.pairwise(path):
            if isinstance(step, str) and isinstance(following, str) and step not in holder:
                inline = isinstance(holder, InlineTable)
                holder[step] = tomlkit.inline_table() if inline else tomlkit.table()
            holder = holder[step]
        if value is None:
            del holder[path[-1]]
        else:
            holder[path[-1]] = _plain(value)
    except (KeyError, IndexError, TypeError):
        raise _nowhere(text) from None


def _nowhere(text: str) -> SettingError:
    return SettingError(f"path must lead to a key of the sheet, got {text!r:.80}.")
