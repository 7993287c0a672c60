"""From plain data to the models, with every refusal in the words of the trade."""

from __future__ import annotations

import copy
from typing import Any

from pydantic import BaseModel, ValidationError
from pydantic.fields import FieldInfo
from pydantic_core import ErrorDetails

from keyer.errors import Fault
from keyer.sheet.faults import Places, nearest, show_value
from keyer.sheet.locate import Path
from keyer.sheet.models import Document

_MUST_BE = {
    "string_type": "must be text in quotes",
    "float_type": "must be a number",
    "int_type": "must be a whole number",
    "bool_type": "must be true or false",
    "finite_number": "must be a finite number",
    "model_type": "must be a table",
    "dict_type": "must be a table",
    "tuple_type": "must be a list",
}


_STAND_IN: dict[str, Any] = {
    "version": 1,
    "sheet": {},
    "format": "1080p25",
    "length": 0,
    "cues": [],
    "source": "",
    "at": 0,
    "first": "#000000",
    "second": "#000000",
}
"""Harmless values for keys that must be there, so that the rest can be checked without them."""

_ROUNDS = 8


def check_document(
    data: dict[str, Any], places: Places
) -> tuple[Document | None, list[Fault], set[Path]]:
    """Check plain data against the models.

    Parameters
    ----------
    data : dict
        As TOML gives it.
    places : Places

    Returns
    -------
    document : Document or None
        What can be understood, harmless values in place of what cannot; None
        if nothing can.
    faults : list of Fault
    bad : set of paths
        Keys whose values in `document` are not the sheet's own.
    """
    data = copy.deepcopy(data)
    faults: list[Fault] = []
    bad: set[Path] = set()
    for turn in range(_ROUNDS):
        try:
            return Document.model_validate(data), faults, bad
        except ValidationError as error:
            for detail in error.errors(include_url=False):
                path = tuple(detail["loc"])
                missing = detail["type"] == "missing"
                if isinstance(path[-1], int) and missing:  # a pair of numbers that lacks one
                    path, missing = path[:-1], False
                bad.add(path)
                if turn == 0:
                    faults.append(places.fault(path, _message(detail, path)))
                _mend(data, path, missing=missing)
    return None, faults, bad


def _mend(data: dict[str, Any], path: Path, *, missing: bool) -> None:
    """Take a faulty value out, or put a harmless one in."""
    holder: Any = data
    target = path
    if not missing and _model_at(path) is None:
        while target and isinstance(target[-1], int):  # a list of numbers goes as a whole
            target = target[:-1]
    for step in target[:-1]:
        try:
            holder = holder[step]
        except (KeyError, IndexError, TypeError):
            return
    last = target[-1]
    if missing:
        holder[last] = copy.deepcopy(_STAND_IN.get(str(last), ""))
    elif isinstance(last, int):
        holder[last] = {}  # keeps the others in their places
    elif len(target) == 2 and target[0] in {"sources", "transitions", "keys"}:
        holder[last] = {}  # keeps the name known
    elif last in holder:
        del holder[last]


def _message(detail: ErrorDetails, path: Path) -> str:
    kind, found = detail["type"], detail["input"]
    context = detail.get("ctx", {})
    field = _field_at(path)
    if kind == "too_long" or (kind == "missing" and isinstance(found, list)):
        wanted = len(getattr(_without_none(field.annotation), "__args__", ())) if field else 0
        return f"must be a list of {wanted}, got {show_value(found)}."
    if kind == "extra_forbidden":
        return f"unknown key.{nearest(str(path[-1]), known_keys(path[:-1]))}"
    if kind == "missing":
        return f"is missing. {(field and field.description) or ''}".rstrip()
    if kind == "value_error":
        return str(context["error"])
    if kind == "literal_error":
        hint = nearest(found, _words(context["expected"])) if isinstance(found, str) else ""
        return f"must be {context['expected']}, got {show_value(found)}.{hint}"
    return f"{_MUST_BE.get(kind, detail['msg'])}, got {show_value(found)}."


def _words(expected: str) -> list[str]:
    return [word.strip("'") for word in expected.replace(" or ", ", ").split(", ")]


def _model_at(path: Path) -> type[BaseModel] | None:
    """Find the model that describes the table at a path."""
    model: type[BaseModel] | None = Document
    steps = list(path)
    while steps and model is not None:
        step = steps.pop(0)
        annotation = next(
            (f.annotation for n, f in model.model_fields.items() if (f.alias or n) == step), None
        )
        model, deeper = _inner_model(annotation)
        if deeper and steps:
            steps.pop(0)  # the item's index or the entry's name
    return model


def _inner_model(annotation: Any) -> tuple[type[BaseModel] | None, bool]:
    """Find the model inside an annotation, and whether a list or mapping holds it."""
    if isinstance(annotation, type) and issubclass(annotation, BaseModel):
        return annotation, False
    for part in getattr(annotation, "__args__", ()):
        model, _ = _inner_model(part)
        if model is not None:
            holder = getattr(annotation, "__origin__", None)
            return model, holder in {tuple, dict}
    return None, False


def known_keys(path: Path) -> list[str]:
    """Names of the keys that the table at a path may have."""
    model = _model_at(path)
    if model is None:
        return []
    return [field.alias or name for name, field in model.model_fields.items()]


def _field_at(path: Path) -> FieldInfo | None:
    """Find the description of the key at a path."""
    model = _model_at(path[:-1])
    for name, field in model.model_fields.items() if model else ():
        if (field.alias or name) == path[-1]:
            return field
    return None


def _without_none(annotation: Any) -> Any:
    """Find the one kind of value in `X | None`."""
    parts = [part for part in getattr(annotation, "__args__", ()) if part is not type(None)]
    return parts[0] if len(parts) == 1 else annotation
