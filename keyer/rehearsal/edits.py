"""Edits of a sheet's text: one key set, taken out, put in or moved, comments and order kept."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from typing import Any, Literal

from keyer.documents.locate import Path, read_path, show_path
from keyer.documents.spacing import spaced
from keyer.errors import SettingError

Act = Literal["set", "remove", "insert", "move"]

_BLOCKS = frozenset({"transition", "transition_in", "transition_out", "key", "placement"})
"""Tables that get a heading of their own; others are written in braces, on one line."""


@dataclass(frozen=True)
class Edit:
    """One change of a text.

    Attributes
    ----------
    act : {"set", "remove", "insert", "move"}
        `insert` and `move` are of items of a list.
    path : str
        `cues[1].transition.soft`; of the item, where it is one of a list.
    value : Any
        What is set or inserted, as TOML has it; for `move` the item's new number.
    """

    act: Act
    path: str
    value: Any = None


def read_edits(said: Any) -> tuple[Edit, ...]:
    """Read edits that came from outside.

    Parameters
    ----------
    said : Any
        A list of objects with `act`, `path` and `value`.

    Raises
    ------
    SettingError
        If it is something else.
    """
    if not isinstance(said, list) or not said or len(said) > 200:
        msg = "edits must be a list of 1 to 200 changes."
        raise SettingError(msg)
    return tuple(_read(one) for one in said)


def _read(one: Any) -> Edit:
    if (
        not isinstance(one, dict)
        or one.get("act") not in ("set", "remove", "insert", "move")
        or not isinstance(one.get("path"), str)
    ):
        msg = "an edit must say its act (set, remove, insert or move) and its path."
        raise SettingError(msg)
    return Edit(one["act"], one["path"], one.get("value"))


def edit_text(text: str, edits: Iterable[Edit]) -> str:
    """Change a sheet's text.

    Parameters
    ----------
    text : str
        TOML.
    edits : iterable of Edit
        Done in order.

    Raises
    ------
    SettingError
        If a path leads nowhere, a value cannot be written, or the text is no TOML.
    """
    import tomlkit
    from tomlkit.exceptions import ParseError

    try:
        document = tomlkit.parse(text)
    except ParseError:
        msg = "the file is not valid TOML, so nothing in it can be changed here. Correct it first."
        raise SettingError(msg) from None
    path: Path = ()
    try:
        for edit in edits:
            path = read_path(edit.path)
            if not path:
                raise _nowhere(path)
            try:
                _ACTS[edit.act](document, path, edit.value)
            except (KeyError, IndexError, TypeError, ValueError, AttributeError):
                raise _nowhere(path) from None
        changed = spaced(text, _written(document, path))
        changed.encode()
    except RecursionError:
        msg = f"{show_path(path[:3])} must not be nested so deeply."
        raise SettingError(msg) from None
    except UnicodeEncodeError:
        msg = f"{show_path(path)} must be whole letters; half of one cannot be written."
        raise SettingError(msg) from None
    return changed


def _written(document: Any, path: Path) -> str:
    """Write a document; a text in the place of a table with a heading cannot be."""
    import tomlkit

    try:
        return tomlkit.dumps(document)
    except (AttributeError, TypeError):
        msg = f"{show_path(path)} must be a table."
        raise SettingError(msg) from None


def _nowhere(path: Path) -> SettingError:
    return SettingError(f"path must lead to a key of the sheet, got {show_path(path)!r:.80}.")


def _item(value: Any) -> Any:
    """Make a value of the document: tables in braces, a list of tables one a line."""
    import tomlkit

    if isinstance(value, Mapping):
        table = tomlkit.inline_table()
        for key, inner in value.items():
            table[key] = _item(inner)
        return table
    if isinstance(value, list | tuple):
        array = tomlkit.array()
        for inner in value:
            array.append(_item(inner))
        return array.multiline(any(isinstance(inner, Mapping) for inner in value))
    return value


def _block(value: Mapping[str, Any]) -> Any:
    """Make a table with a heading of its own, and an empty line after it."""
    import tomlkit

    table = tomlkit.table()
    for key, inner in value.items():
        headed = isinstance(inner, Mapping) and key in _BLOCKS
        table[key] = _block(inner) if headed else _item(inner)
    if not any(isinstance(inner, Mapping) and key in _BLOCKS for key, inner in value.items()):
        table.add(tomlkit.nl())
    return table


def _add(holder: Any, key: str, item: Any) -> None:
    """Give a table a key: before the comments and empty lines that lead to the next table.

    A block takes those with it, since they must stand before the next heading still.
    """
    from tomlkit.items import Comment, InlineTable, Table, Whitespace

    if key in holder or isinstance(holder, InlineTable):
        holder[key] = item
        return
    body = holder.value.body if isinstance(holder, Table) else holder.body
    tail = []
    while body and isinstance(body[-1][1], Comment | Whitespace):
        tail.append(body.pop()[1])
    holder[key] = item
    goes_to = item if isinstance(item, Table) and isinstance(holder, Table) else holder
    if goes_to is item and len(item.value.body) and isinstance(item.value.body[-1][1], Whitespace):
        item.value.body.pop()
    for one in reversed(tail):
        goes_to.add(one)


def _step_into(holder: Any, step: str | int) -> Any:
    """Go one step down, making the table that is not there."""
    import tomlkit
    from tomlkit.items import InlineTable

    if isinstance(step, str) and step not in holder:
        if isinstance(holder, InlineTable):
            holder[step] = tomlkit.inline_table()
        elif step in _BLOCKS or isinstance(holder, tomlkit.TOMLDocument):
            _add(holder, step, _block({}))
        else:
            _add(holder, str(step), tomlkit.inline_table())
    return holder[step]


def _holder(document: Any, path: Path) -> Any:
    holder = document
    for step in path[:-1]:
        holder = _step_into(holder, step)
    return holder


def _set(document: Any, path: Path, value: Any) -> None:
    holder, last = _holder(document, path), path[-1]
    if isinstance(last, int):
        holder[last] = _item(value) if holder[last] is not None else None
        return
    headed = last in _BLOCKS or len(path) <= 2  # `[sheet]`, `[sources.NAME]`
    new = last not in holder and isinstance(value, Mapping)
    _add(holder, last, _block(value) if headed and new else _item(value))


def _remove(document: Any, path: Path, value: Any) -> None:
    del value
    holder = document
    for step in path[:-1]:
        holder = holder[step]
    if isinstance(path[-1], int):
        holder.pop(path[-1])
    else:
        del holder[path[-1]]


def _list_at(document: Any, path: Path) -> Any:
    """Find the list that an item stands in, made where there is none."""
    import tomlkit

    holder, name = _holder(document, path[:-1]), path[-2]
    if isinstance(name, str) and name not in holder:
        top = len(path) == 2
        if top:
            holder.add(tomlkit.nl())
        holder[name] = tomlkit.aot() if top else tomlkit.array().multiline(multiline=True)
    return holder[name]


def _put(items: Any, place: int, one: Any) -> None:
    if place == len(items):
        items.append(one)
    else:
        items.insert(place, one)


def _insert(document: Any, path: Path, value: Any) -> None:
    from tomlkit.items import AoT

    items, place = _list_at(document, path), path[-1]
    if not isinstance(place, int) or not 0 <= place <= len(items):
        raise IndexError(place)
    headed = isinstance(items, AoT) and isinstance(value, Mapping)
    _put(items, place, _block(value) if headed else _item(value))


def _move(document: Any, path: Path, value: Any) -> None:
    items, place = _list_at(document, path), path[-1]
    if not isinstance(place, int) or not isinstance(value, int) or not 0 <= value < len(items):
        raise IndexError(place)
    one = items[place]
    items.pop(place)
    _put(items, value, one)


_ACTS = {"set": _set, "remove": _remove, "insert": _insert, "move": _move}
