"""What can be set in each row, made from the sheet's own models: kind, unit, range.

Nothing is written down twice: meanings, units, choices and defaults are the
models', ranges and labels those of the sheet's reference. What is added here
is which settings stay out of sight because a drag or a view of their own
serves them. Tables inside tables have controls of their own, by their names.
"""

from __future__ import annotations

import math
import types
from functools import cache
from typing import Annotated, Any, Literal, Union, get_args, get_origin, get_type_hints

from pydantic import BaseModel

from keyer.kinds.formats import USUAL
from keyer.sheet import values
from keyer.sheet.effect_models import HoldTable
from keyer.sheet.labels import TABLES, label_of, unit_of
from keyer.sheet.models import KeyframeTable
from keyer.sheet.reference import ranges
from keyer.sheet.resolve_effect import KEY_KEYS, TRANSITION_KEYS
from keyer.sheet.source_models import CheckerboardTable, CorrectTable, GradientTable

HIDDEN = {
    "key": {"sample"},
    "source": {"file", "sheet", "bars", "ramp", "clear"},
    "title": {"allow_flash"},
    "sound": {"file", "source"},
    "sheet": {"patterns", "rules", "stills"},
}
"""Keys that have no plain control: drawn on the picture, or no matter of taste."""

INNER: dict[str, type[BaseModel]] = {
    "hold": HoldTable,
    "gradient": GradientTable,
    "checkerboard": CheckerboardTable,
    "correct": CorrectTable,
    "keyframe": KeyframeTable,
}
"""Tables besides those of `keyer.sheet.labels`."""

KINDS: dict[str, dict[str, tuple[str, ...]]] = {"transition": TRANSITION_KEYS, "key": KEY_KEYS}
"""Which keys go with which kind."""

_SOURCE_KEYS = {"border_source", "source", "clean_plate", "match"}
_CLIP_KEYS = {"in", "out", "at", "speed", "loop", "freeze"}


@cache
def controls() -> dict[str, list[dict[str, Any]]]:
    """List the controls of every table.

    Returns
    -------
    dict
        By table, in the order of the models: key, label, kind of control,
        unit, lowest and highest value, choices, default, meaning, and the
        kinds of effect that it goes with.
    """
    spans = ranges()
    found = {
        name: [
            _control(name, model, field, spans.get((model, field)))
            for field in model.model_fields
            if (model.model_fields[field].alias or field) not in HIDDEN.get(name, ())
        ]
        for name, model in {**TABLES, **INNER}.items()
    }
    return {
        name: [one for one in listed if one["control"] != "table"] for name, listed in found.items()
    }


def _control(
    table: str, model: type[BaseModel], field: str, span: tuple[float, float] | None
) -> dict[str, Any]:
    info = model.model_fields[field]
    key = info.alias or field
    extra = info.json_schema_extra if isinstance(info.json_schema_extra, dict) else {}
    hint = get_type_hints(model, include_extras=True)[field]
    kind, choices = _kind(hint)
    if key in _SOURCE_KEYS and table in ("cue", "overlay", "transition", "key", "correct"):
        kind = "source"
    if (table, key) == ("title", "design"):
        kind = "design"
    if (table, key) == ("background", "look"):
        kind = "look"
    default = None if info.is_required() or info.default is None else info.default
    low, high = span or (-math.inf, math.inf)
    return {
        "key": key,
        "label": label_of(key),
        "control": kind,
        "unit": unit_of(model, field),
        "low": low if math.isfinite(low) else None,
        "high": high if math.isfinite(high) and high < 1e9 else None,
        "choices": choices,
        "default": list(default) if isinstance(default, tuple) else default,
        "absent": extra.get("shown"),
        "needed": info.is_required(),
        "meaning": (info.description or "").replace("`", ""),
        "kinds": [name for name, keys in KINDS.get(table, {}).items() if key in keys] or None,
        "suggested": USUAL if (table, key) == ("sheet", "format") else (),
        "clips": table == "source" and key in _CLIP_KEYS,
    }


def _kind(hint: Any) -> tuple[str, list[Any] | None]:
    """Tell which control serves a kind of value, and what it chooses from."""
    for kind, name in _BY_VALUE.items():
        if hint == getattr(values, name):
            return kind, None
    origin, parts = get_origin(hint), get_args(hint)
    models = [one for one in (hint, *parts) if isinstance(one, type) and issubclass(one, BaseModel)]
    if models or origin is dict:
        return "table", None
    if origin is Literal:
        return "choice", list(parts)
    if origin in {Union, types.UnionType}:
        return _kind(next(part for part in parts if part is not types.NoneType))
    if origin is Annotated:
        return _kind(parts[0])
    return ("numbers" if origin is tuple else "text"), None


_BY_VALUE = {
    "number": "Number",
    "whole": "Whole",
    "switch": "Switch",
    "time": "Time",
    "colour": "Colour",
    "colours": "Colours",
    "hue": "Hue",
    "pattern": "Pattern",
    "text": "Text",
}
