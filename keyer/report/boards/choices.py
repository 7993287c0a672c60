"""Keys of a sheet that are varied: read as they are typed, and called as the trade calls them."""

from __future__ import annotations

import contextlib
import math
import re
import tomllib
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from typing import Any

from pydantic import BaseModel

from keyer.documents.locate import read_path
from keyer.errors import KeyerError, SettingError
from keyer.library import Patterns
from keyer.paper.cells import Caption
from keyer.report.words import cue_name, overlay_name
from keyer.sheet.called import key_called
from keyer.sheet.effect_models import KeyTable, ModulateTable, TransitionTable
from keyer.sheet.labels import paper_word, unit_of
from keyer.sheet.models import PlacementTable
from keyer.sheet.sheet import Sheet
from keyer.sheet.source_models import BackgroundTable

MOST = 120
"""Variations of one board; more cannot be judged."""

_TABLES: dict[str, type[BaseModel]] = {
    "transition": TransitionTable,
    "transition_in": TransitionTable,
    "transition_out": TransitionTable,
    "transitions": TransitionTable,
    "modulate": ModulateTable,
    "background": BackgroundTable,
    "key": KeyTable,
    "keys": KeyTable,
    "placement": PlacementTable,
}
_COLOUR = re.compile(r"#([0-9A-Fa-f]{3}){1,2}", re.ASCII)
_PART = re.compile(r"""(?:\[[^\]]*\]|"[^"]*"|'[^']*'|\{[^}]*\}|[^,\[\]"'{}])+""")


@dataclass(frozen=True)
class Choice:
    """A key of the sheet and the values that it may have.

    Attributes
    ----------
    key : str
        Dotted path, e.g. `cues[1].transition.pattern`.
    values : tuple
    """

    key: str
    values: tuple[Any, ...]


def read_choice(text: str, sheet: Sheet | None = None) -> Choice:
    """Read `KEY=V1,V2,V3`.

    Parameters
    ----------
    text : str
        Values as TOML has them; what is no TOML value is a text. Commas in
        brackets or quotes do not part values.
    sheet : Sheet, optional
        With it, KEY may be what paper and page call a key: `Shot 2 border colour`.

    Raises
    ------
    SettingError
    """
    key, equals, listed = text.partition("=")
    key = key.strip()
    values = tuple(_value(part.strip()) for part in _PART.findall(listed) if part.strip())
    if not equals or not key or not values:
        msg = (
            f"vary must be KEY=V1,V2,..., got {text!r:.80}. "
            "For instance cues[1].transition.soft=0,2,6."
        )
        raise SettingError(msg)
    if sheet is not None:
        key = key_called(sheet, key, "vary")
    read_path(key)
    return Choice(key, values)


def _value(text: str) -> Any:
    try:
        return tomllib.loads(f"value = {text}")["value"]
    except tomllib.TOMLDecodeError:
        return text


def read_choices(texts: Sequence[str], sheet: Sheet | None = None) -> list[Choice]:
    """Read every `--vary`, as `read_choice` does.

    Refuses a key given twice, and more variations than can be judged.

    Raises
    ------
    SettingError
    """
    choices = [read_choice(text, sheet) for text in texts]
    keys = [choice.key for choice in choices]
    for key in keys:
        if keys.count(key) > 1:
            msg = f"vary must name a key once, got {key} twice. Put all its values in one."
            raise SettingError(msg)
    count = math.prod(len(choice.values) for choice in choices)
    if count > MOST:
        msg = f"vary must give at most {MOST} variations, got {count}. Vary fewer keys or values."
        raise SettingError(msg)
    return choices


def place_of_key(key: str) -> tuple[str, int, str]:
    """Read which cue or overlay a key belongs to, and which part of it; -1 for neither."""
    steps = [*read_path(key), "", "", ""]
    if steps[0] in {"cues", "overlays"} and isinstance(steps[1], int):
        return str(steps[0]), steps[1], str(steps[2])
    return "", -1, ""


def value_captions(
    label: str, key: str, value: Any, patterns: Patterns, *, alone: bool
) -> Iterator[Caption]:
    """Say what to ask for to get a value.

    Parameters
    ----------
    label : str
        What the key is called.
    key : str
    value : Any
    patterns : Patterns
        That the sheet may name.
    alone : bool
        No other key is varied: there is room for more words.
    """
    if isinstance(value, str) and _COLOUR.fullmatch(value):
        yield Caption(f"{label} {value.upper()}", strong=True, swatch=value)
        return
    if last_of(key) == "pattern":
        with contextlib.suppress(KeyerError):
            pattern = patterns.find(value)
            code = "" if pattern.code is None else f"SMPTE {pattern.code} "
            yield Caption(f"{code}{pattern.name}", strong=True)
            if alone:
                yield Caption(pattern.summary)
            return
    said = {True: "on", False: "off"}.get(value, value) if isinstance(value, bool) else value
    if isinstance(said, list):
        said = ", ".join(map(str, said))
    yield Caption(f"{label} {said}{_unit(key, value)}", strong=True)


def key_label(key: str, among: Iterable[str], sheet: Sheet | None = None) -> str:
    """Call a key by its name in the trade; with its cue or overlay, where two would be alike.

    Parameters
    ----------
    key : str
    among : iterable of str
        All keys that are varied.
    sheet : Sheet, optional
        With it, cues and overlays are called by their names.
    """
    name = last_of(key)
    word = paper_word(name)
    if sum(last_of(other) == name for other in among) < 2:
        return word
    return f"{_holder(key, sheet)}: {word.lower()}"


def _holder(key: str, sheet: Sheet | None) -> str:
    table, number, part = place_of_key(key)
    if not table:
        return ".".join(map(str, read_path(key)[:-1]))
    way = {"transition_in": " in", "transition_out": " out"}.get(part, "")
    if sheet is not None:
        if table == "cues" and number < len(sheet.cues):
            return f"{cue_name(sheet.cues[number])}{way}"
        if table == "overlays" and number < len(sheet.overlays):
            return f"{overlay_name(sheet.overlays[number])}{way}"
    return f"{'Cue' if table == 'cues' else 'Overlay'} {number + 1}{way}"


def last_of(key: str) -> str:
    """Return the last name of a path."""
    return next((step for step in reversed(read_path(key)) if isinstance(step, str)), key)


def _unit(key: str, value: Any) -> str:
    """Find the unit of a number in the sheet's own models."""
    steps = [step for step in read_path(key) if isinstance(step, str)]
    holder = next((_TABLES[step] for step in reversed(steps[:-1]) if step in _TABLES), None)
    if holder is None or isinstance(value, str | bool):
        return ""
    unit = unit_of(holder, steps[-1])
    return unit if unit in {"", "°"} else f" {unit}"
