"""What a model refuses, in the words of the trade, with the nearest known name."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from pydantic import BaseModel, ValidationError
from pydantic.fields import FieldInfo
from pydantic_core import ErrorDetails

from keyer.documents.faults import Places, nearest, show_value
from keyer.documents.locate import Path
from keyer.errors import Fault

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

_LIMITS = {
    "greater_than": ("gt", "above"),
    "greater_than_equal": ("ge", "at least"),
    "less_than": ("lt", "below"),
    "less_than_equal": ("le", "at most"),
}


def refusals(
    error: ValidationError, data: Any, places: Places, root: type[BaseModel]
) -> list[Fault]:
    """Say all that a model refuses of a document that is read as a whole.

    Parameters
    ----------
    error : ValidationError
    data : Any
        The document as plain data.
    places : Places
    root : type
        Its model.
    """
    faults = []
    for detail in error.errors(include_url=False):
        path = tuple(detail["loc"])
        if detail["type"] == "too_short" and detail["input"]:
            continue  # said of a list whose items are all at fault themselves
        faults.append(places.fault(_in_data(path, data), refusal(detail, path, root)))
    return faults


def _in_data(path: Path, data: Any) -> Path:
    """Cut off what stands for a kind of value rather than for a key."""
    for i, step in enumerate(path):
        if isinstance(data, dict | list) and not (isinstance(data, list) and isinstance(step, str)):
            try:
                data = data[step]  # type: ignore[index]
            except (KeyError, IndexError):
                return path[: i + 1]
        else:
            return path[:i]
    return path


def refusal(detail: ErrorDetails, path: Path, root: type[BaseModel]) -> str:
    """Say what a model of the document refuses.

    Parameters
    ----------
    detail : ErrorDetails
        As pydantic reports it.
    path : tuple of str and int
        Where.
    root : type
        Model of the whole document.
    """
    kind, found = detail["type"], detail["input"]
    context = detail.get("ctx", {})
    if kind == "missing" and isinstance(path[-1], int):  # a list that is short; it is what is wrong
        path = path[:-1]
    field = _field_at(path, root)
    if kind == "extra_forbidden":
        return f"unknown key.{nearest(str(path[-1]), known_keys(path[:-1], root))}"
    if kind == "value_error":
        return str(context["error"])
    if kind == "literal_error":
        hint = nearest(found, _words(context["expected"])) if isinstance(found, str) else ""
        return f"must be {context['expected']}, got {show_value(found)}.{hint}"
    demand = _demand(kind, context) or detail["msg"]
    if kind == "too_long" or (kind == "missing" and isinstance(found, list)):
        wanted = len(getattr(_without_none(field.annotation), "__args__", ())) if field else 0
        demand = f"must be a list of {wanted}"
    elif kind == "missing":
        return f"is missing. {(field and field.description) or ''}".rstrip()
    elif kind in {"too_short", "string_too_short"}:
        return "must not be empty."
    return f"{demand}, got {show_value(found)}."


def _demand(kind: str, context: Mapping[str, Any]) -> str:
    """Say of what kind or in what range a value must be."""
    if kind in _LIMITS:
        key, words = _LIMITS[kind]
        return f"must be {words} {context[key]:g}"
    return _MUST_BE.get(kind, "")


def _words(expected: str) -> list[str]:
    return [word.strip("'") for word in expected.replace(" or ", ", ").split(", ")]


def model_at(path: Path, root: type[BaseModel]) -> type[BaseModel] | None:
    """Find the model that describes the table at a path."""
    model: type[BaseModel] | None = root
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


def known_keys(path: Path, root: type[BaseModel]) -> list[str]:
    """Names of the keys that the table at a path may have."""
    model = model_at(path, root)
    if model is None:
        return []
    return [field.alias or name for name, field in model.model_fields.items()]


def _field_at(path: Path, root: type[BaseModel]) -> FieldInfo | None:
    """Find the description of the key at a path."""
    model = model_at(path[:-1], root)
    for name, field in model.model_fields.items() if model else ():
        if (field.alias or name) == path[-1]:
            return field
    return None


def _without_none(annotation: Any) -> Any:
    """Find the one kind of value in `X | None`."""
    parts = [part for part in getattr(annotation, "__args__", ()) if part is not type(None)]
    return parts[0] if len(parts) == 1 else annotation
