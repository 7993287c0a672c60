"""What can be set in each row, made from the sheet's own models: kind, unit, range.

Nothing is written down twice: meanings, units, choices and defaults are the
models', ranges and labels those of the sheet's reference. What is added here
is which settings stay out of sight because a drag or a view of their own
serves them.
"""

from __future__ import annotations

import math
import types
from functools import cache
from typing import Annotated, Any, Literal, Union, get_args, get_origin, get_type_hints

from pydantic import BaseModel

from keyer.sheet import values
from keyer.sheet.labels import TABLES, label_of, unit_of
from keyer.sheet.reference import ranges
from keyer.sheet.resolve_effect import KEY_KEYS, TRANSITION_KEYS

HIDDEN = {
    "cue": {"transition"},
    "overlay": {"key", "transition_in", "transition_out", "placement"},
    "transition": {"modulate"},
    "key": {"garbage", "hold", "sample"},
    "placement": {"keyframes"},
    "source": {
        "file", "title", "background", "colour", "gradient", "bars", "ramp", "checkerboard",
        "clear",
    },
    "title": {"fields", "allow_flash"},
    "sound": {"file"},
    "sheet": {"patterns", "stills"},
}  # fmt: skip
"""Keys that have no plain control: tables of their own, or drawn on the picture."""

KINDS: dict[str, dict[str, tuple[str, ...]]] = {"transition": TRANSITION_KEYS, "key": KEY_KEYS}
"""Which keys go with which kind."""

_SOURCE_KEYS = {"border_source", "source", "clean_plate"}
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
    return {
        name: [
            _control(name, model, field, spans.get((model, field)))
            for field in model.model_fields
            if (model.model_fields[field].alias or field) not in HIDDEN.get(name, ())
        ]
        for name, model in TABLES.items()
    }


def _control(
    table: str, model: type[BaseModel], field: str, span: tuple[float, float] | None
) -> dict[str, Any]:
    info = model.model_fields[field]
    key = info.alias or field
    extra = info.json_schema_extra if isinstance(info.json_schema_extra, dict) else {}
    hint = get_type_hints(model, include_extras=True)[field]
    kind, choices = _kind(hint)
    if key in _SOURCE_KEYS and table in ("cue", "overlay", "transition", "key"):
        kind = "source"
    if (table, key) == ("title", "design"):
        kind = "design"
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
        "clips": table == "source" and key in _CLIP_KEYS,
    }


def _kind(hint: Any) -> tuple[str, list[Any] | None]:
    """Tell which control serves a kind of value, and what it chooses from."""
    for kind, name in _BY_VALUE.items():
        if hint == getattr(values, name):
            return kind, None
    origin, parts = get_origin(hint), get_args(hint)
    if origin is Literal:
        return "choice", list(parts)
    if origin in {Union, types.UnionType}:
        return _kind(next(part for part in parts if part is not types.NoneType))
    if origin is tuple:
        return ("numbers", None)
    if origin is Annotated:
        return _kind(parts[0])
    return "text", None


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
