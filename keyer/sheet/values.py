"""The kinds of value that a sheet's keys take, and how each key describes itself.

Values are checked for their kind only; a time becomes frames and a colour
R'G'B' when the sheet is resolved, where the format is known.
"""

from __future__ import annotations

import datetime as dt
from dataclasses import dataclass
from typing import Annotated, Any

from pydantic import BaseModel, BeforeValidator, ConfigDict, Field, Strict, WithJsonSchema

from keyer.documents.faults import show_value
from keyer.errors import SettingError


def _time(value: Any) -> Any:
    if isinstance(value, dt.time | dt.date):
        msg = f'must stand in quotes to be a time, got {value}. Write "00:00:02:12".'
        raise SettingError(msg)
    if isinstance(value, bool) or not isinstance(value, int | float | str):
        msg = f"must be a time, got {show_value(value)}. Write frames, seconds or timecode."
        raise SettingError(msg)
    return value


def _hue(value: Any) -> Any:
    number = isinstance(value, int | float) and not isinstance(value, bool)
    if not number and value not in ("auto", "green", "blue"):
        msg = f'must be "auto", "green", "blue" or degrees, got {show_value(value)}.'
        raise SettingError(msg)
    return value


def _whole_or_text(value: Any) -> Any:
    if isinstance(value, bool) or not isinstance(value, int | str):
        msg = f"must be a pattern's name or its code, got {show_value(value)}."
        raise SettingError(msg)
    return value


@dataclass(frozen=True)
class Word:
    """What the reference page calls a kind of value."""

    word: str


Text = Annotated[str, Strict(), Word("text")]
Whole = Annotated[int, Strict(), Word("whole number")]
Switch = Annotated[bool, Strict(), Word("`true` or `false`")]
Number = Annotated[float, Strict(), Word("number")]
Time = Annotated[
    int | float | str,
    BeforeValidator(_time),
    WithJsonSchema({"anyOf": [{"type": "integer", "minimum": 0}, {"type": "string"}]}),
    Word("time"),
]
"""Frames, seconds or timecode, as written."""
Colour = Annotated[
    str,
    Strict(),
    WithJsonSchema({"type": "string", "pattern": "^#([0-9A-Fa-f]{3}){1,2}$"}),
    Word("colour, `#RRGGBB`"),
]
Colours = Annotated[tuple[Colour, ...], Word("list of colours, `#RRGGBB`")]
Hue = Annotated[
    int | float | str,
    BeforeValidator(_hue),
    WithJsonSchema({"anyOf": [{"enum": ["auto", "green", "blue"]}, {"type": "number"}]}),
    Word("`auto`, `green`, `blue` or number"),
]
Pattern = Annotated[
    int | str,
    BeforeValidator(_whole_or_text),
    WithJsonSchema({"type": ["integer", "string"]}),
    Word("text or whole number"),
]
Pair = tuple[Number, Number]
Box = tuple[Number, Number, Number, Number]
Corners = Annotated[tuple[Pair, ...], Word("list of corners `[x, y]`")]


class Table(BaseModel):
    """Parent of every table: frozen, unknown keys refused."""

    model_config = ConfigDict(frozen=True, extra="forbid", populate_by_name=True)


def entry(
    default: Any,
    text: str,
    *,
    unit: str = "",
    span: tuple[float, float] | None = None,
    name: str | None = None,
    shown: str | None = None,
) -> Any:
    """Declare a key of a table.

    Parameters
    ----------
    default : Any
        Value of an absent key; `...` for a key that must be there.
    text : str
        What it does, for the reference page and the editors.
    unit : str
        Unit of its numbers.
    span : tuple of two floats, optional
        Range of its numbers, both ends included, where no settings class
        of `keyer.kinds` states one.
    name : str, optional
        The key's name in the sheet, where Python reserves the word.
    shown : str, optional
        The default in words, where absence means something.
    """
    facts = {"unit": unit, "shown": shown, "span": list(span or ())}
    extra: dict[str, Any] = {name: value for name, value in facts.items() if value}
    return Field(default, description=text, alias=name, json_schema_extra=extra or None)
