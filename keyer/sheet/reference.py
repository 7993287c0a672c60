"""The reference of the sheet, made from its models: tables for people, a schema for editors.

Ranges are those that the settings classes state beside their fields, so that
none is written down twice.
"""

from __future__ import annotations

import math
import types
from collections.abc import Iterator, Mapping
from typing import Annotated, Any, Literal, Union, get_args, get_origin, get_type_hints

from pydantic import BaseModel
from pydantic.fields import FieldInfo

from keyer.kinds.field import Modifiers, Modulation
from keyer.kinds.ranges import ranges_of
from keyer.kinds.settings import BoxLook, Correction, Edge, Finish, KeySettings, Shade
from keyer.sheet.effect_models import KeyTable, ModulateTable, TransitionTable
from keyer.sheet.models import Document, PlacementTable
from keyer.sheet.resolve_effect import (
    EDGE,
    FINISH,
    KEY_SETTINGS,
    MODIFIERS,
    SHADE,
)
from keyer.sheet.resolve_source import CORRECT
from keyer.sheet.resolve_stack import LOOKS
from keyer.sheet.source_models import CorrectTable
from keyer.sheet.values import Word

Range = tuple[float, float]


def ranges(root: type[BaseModel] = Document) -> dict[tuple[type[BaseModel], str], Range]:
    """Collect the ranges of all numbers of a sheet.

    Parameters
    ----------
    root : type
        Another document's model.

    Returns
    -------
    dict
        Lowest and highest value by model and field; where there is none, infinite.
    """
    settings: list[tuple[type[BaseModel], type, Mapping[str, str]]] = [
        (TransitionTable, Edge, {key: key for key in EDGE}),
        (TransitionTable, Modifiers, MODIFIERS),
        (ModulateTable, Modulation, {key: key for key in ModulateTable.model_fields}),
        (KeyTable, KeySettings, KEY_SETTINGS),
        (KeyTable, Finish, {key: key for key in FINISH}),
        (KeyTable, Shade, SHADE),
        (PlacementTable, BoxLook, {key: key for key in LOOKS}),
        (CorrectTable, Correction, CORRECT),
    ]
    found = {
        (model, key): (within.low, within.high)
        for model, stated, keys in settings
        for key, setting in keys.items()
        if (within := ranges_of(stated).get(setting))
    }
    for model in models(root):
        for name, field in model.model_fields.items():
            if span := _extra(field).get("span"):
                found[model, name] = (span[0], span[1])
    return found


def _extra(field: FieldInfo) -> dict[str, Any]:
    return field.json_schema_extra if isinstance(field.json_schema_extra, dict) else {}


def models(root: type[BaseModel] = Document) -> list[type[BaseModel]]:
    """List the models of a table and all tables in it, each before those inside it."""
    found = [root]
    for hint in get_type_hints(root).values():
        for inner in _inner(hint):
            found += [model for model in models(inner) if model not in found]
    return found


def _inner(hint: Any) -> Iterator[type[BaseModel]]:
    if isinstance(hint, type) and issubclass(hint, BaseModel):
        yield hint
    for part in get_args(hint):
        yield from _inner(part)


def reference(*names: str, root: type[BaseModel] = Document) -> str:
    """Write the reference of tables and their keys.

    Parameters
    ----------
    *names : str
        Class names of the tables that a page is about, in its order; without any, all tables.
    root : type
        Model of the document: the sheet's, or that of a station's rules.

    Returns
    -------
    str
        Markdown: a section a table.

    Raises
    ------
    KeyError
        If no table has such a name.
    """
    spans = ranges(root)
    known = {model.__name__: model for model in models(root)}
    return "\n".join(_section(known[name], spans) for name in names or known)


def _section(model: type[BaseModel], spans: Mapping[tuple[type[BaseModel], str], Range]) -> str:
    title, _, meaning = (model.__doc__ or "").partition(": ")
    rows = ["| key | takes | default | meaning |", "| --- | --- | --- | --- |"]
    hints = get_type_hints(model, include_extras=True)
    for name, field in model.model_fields.items():
        takes = [_phrase(hints[name])]
        low, high = spans.get((model, name), (-math.inf, math.inf))
        if math.isfinite(low):
            takes.append(f"{_number(low)} to {_number(high)}" if high < 1e9 else f"from {low:g} up")
        if unit := _extra(field).get("unit"):
            takes.append(unit)
        cells = (f"`{field.alias or name}`", ", ".join(takes), _default(field), field.description)
        rows.append("| " + " | ".join(map(str, cells)) + " |")
    body = "\n".join(line.strip() for line in meaning.strip().splitlines())
    return "\n".join([f"### {title}", "", body[:1].upper() + body[1:], "", *rows, ""])


def _phrase(hint: Any) -> str:
    """Say in words what a key takes."""
    origin, parts = get_origin(hint), get_args(hint)
    if origin is Annotated:
        words = [part.word for part in parts[1:] if isinstance(part, Word)]
        return words[0] if words else _phrase(parts[0])
    if origin is Literal:
        return _either([f"`{part}`" for part in parts])
    if origin in {Union, types.UnionType}:
        return _either([_phrase(part) for part in parts if part is not types.NoneType])
    return _many(origin, parts) if origin else "table"


def _either(phrases: list[str]) -> str:
    return " or ".join([*filter(None, [", ".join(phrases[:-1])]), phrases[-1]])


def _many(origin: Any, parts: tuple[Any, ...]) -> str:
    """Say in words what a list or a table of names takes."""
    if origin is dict:
        return f"by name: {_phrase(parts[1])}"
    count = "" if parts[-1] is Ellipsis else f"{len(parts)} "
    return f"list of {count}{_phrase(parts[0])}s"


def _default(field: FieldInfo) -> str:
    shown = _extra(field).get("shown")
    if field.is_required() or shown:
        return str(shown or "**must be there**")
    value = field.default
    if value is None or value in ("", (), {}):
        return "none"
    if isinstance(value, tuple):
        return f"`[{', '.join(map(_number, value))}]`"
    return f"`{str(value).lower() if isinstance(value, bool) else value}`".replace(".0`", "`")


def _number(value: float) -> str:
    return f"{value:g}".replace("-", "−")


def json_schema() -> dict[str, Any]:
    """Make a JSON Schema of the sheet, for editors that check and complete TOML.

    Returns
    -------
    dict
        Draft 2020-12. Any value may also be a variable, `"${name}"`.
    """
    schema = Document.model_json_schema(by_alias=True)
    spans = {
        (model.__name__, model.model_fields[name].alias or name): span
        for (model, name), span in ranges().items()
    }
    for table in (schema, *schema["$defs"].values()):
        for key, entry in table["properties"].items():
            for name in ("unit", "shown", "span", "title"):
                entry.pop(name, None)
            _tidy(entry, spans.get((table["title"], key), (-math.inf, math.inf)))
            if table is not schema:
                _allow_variable(entry)
    schema["$defs"]["variable"] = {"type": "string", "pattern": r"^\$\{[^{}]+\}$"}
    schema["$schema"] = "https://json-schema.org/draft/2020-12/schema"
    schema["title"] = "Effect sheet"
    return schema


def _tidy(entry: dict[str, Any], span: Range) -> None:
    """Put a range on the numbers that an entry takes; drop null, which TOML does not have."""
    if entry.get("default", 0) is None:
        del entry["default"]
    if "anyOf" in entry:
        entry["anyOf"] = [one for one in entry["anyOf"] if one != {"type": "null"}]
    low, high = span
    for place in _places(entry):
        if place.get("type") in ("number", "integer"):
            place.update({"minimum": low} if math.isfinite(low) else {})
            place.update({"maximum": high} if high < 1e9 else {})


def _places(entry: dict[str, Any]) -> Iterator[dict[str, Any]]:
    yield entry
    for inner in (*entry.get("anyOf", ()), *entry.get("prefixItems", ())):
        yield from _places(inner)


def _allow_variable(entry: dict[str, Any]) -> None:
    """Let an entry be a variable instead."""
    value = {key: entry.pop(key) for key in list(entry) if key not in {"default", "description"}}
    entry["anyOf"] = [*value.get("anyOf", [value]), {"$ref": "#/$defs/variable"}]
