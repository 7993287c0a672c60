"""The keys that a sheet states, by the kind of value that they take: times, pixels."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import Any, get_args, get_type_hints

from pydantic import BaseModel

from keyer.documents.locate import Path
from keyer.sheet.models import Document
from keyer.sheet.values import Word


def time_keys(data: Mapping[str, Any]) -> Iterator[tuple[Path, Any]]:
    """Yield every time that a sheet states.

    Parameters
    ----------
    data : mapping
        The sheet as plain data.

    Yields
    ------
    path : tuple of str and int
        Of an item, where the key is a list of times.
    value : str, int or float
        As it is written.
    """
    for path, value, hint, _ in _stated(data, Document, ()):
        if any(isinstance(part, Word) and part.word == "time" for part in _parts(hint)):
            listed = isinstance(value, list | tuple)
            yield from (
                (((*path, n), one) for n, one in enumerate(value)) if listed else ((path, value),)
            )


def pixel_keys(data: Mapping[str, Any]) -> Iterator[tuple[Path, float, int]]:
    """Yield every measure in pixels that a sheet states.

    Parameters
    ----------
    data : mapping
        The sheet as plain data.

    Yields
    ------
    path : tuple of str and int
    value : float
    power : int
        1 for a length, 2 for an area.
    """
    for path, value, _, unit in _stated(data, Document, ()):
        if unit.startswith("pixels"):
            yield path, value, 2 if "area" in unit else 1


def _stated(
    data: Mapping[str, Any], model: type[BaseModel], path: Path
) -> Iterator[tuple[Path, Any, Any, str]]:
    """Yield the keys of a table and of those in it: path, value, kind and unit."""
    hints = get_type_hints(model, include_extras=True)
    for name, info in model.model_fields.items():
        key = info.alias or name
        if data.get(key) is None:
            continue
        value, here = data[key], (*path, key)
        inner = next((part for part in _parts(hints[name]) if _is_model(part)), None)
        if inner is None:
            extra = info.json_schema_extra
            unit = str(extra.get("unit", "")) if isinstance(extra, dict) else ""
            yield here, value, hints[name], unit
            continue
        named = any(_is_named(part) for part in (hints[name], *get_args(hints[name])))
        tables = [(here, value)]
        if named:
            tables = [((*here, one), table) for one, table in value.items()]
        elif isinstance(value, list | tuple):
            tables = [((*here, n), table) for n, table in enumerate(value)]
        for where, table in tables:
            yield from _stated(table, inner, where)


def _parts(hint: Any) -> Iterator[Any]:
    """Yield what a kind of value is made of."""
    yield hint
    for part in get_args(hint):
        yield from _parts(part)


def _is_model(part: Any) -> bool:
    return isinstance(part, type) and issubclass(part, BaseModel)


def _is_named(hint: Any) -> bool:
    """Whether it is tables by names of the user's own."""
    return getattr(hint, "__origin__", None) is dict
