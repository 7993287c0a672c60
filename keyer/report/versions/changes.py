"""What has changed from one sheet to another, in words a client can follow.

Sheets are compared as they hold, with house settings, variables and includes
worked in: a value that is merely written otherwise is no change. Cues,
overlays and sounds are matched by their names, or by what they show.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from difflib import SequenceMatcher
from typing import Any

from keyer.errors import KeyerError
from keyer.kinds.timing import is_written, parse_time, timecode
from keyer.report.words import frames_words
from keyer.sheet.labels import TABLES, label_of, unit_of
from keyer.sheet.place_names import placed, places
from keyer.sheet.sheet import Sheet
from keyer.sheet.source import OtherSheet

_BLOCKS = {
    "transition": ("transition", "transitions"),
    "transition_in": ("transition", "transitions"),
    "transition_out": ("transition", "transitions"),
    "key": ("key", "keys"),
    "placement": ("placement", ""),
    "modulate": ("modulate", ""),
    "title": ("title", ""),
    "background": ("background", ""),
    "fade_in": ("fade", ""),
    "fade_out": ("fade", ""),
    "duck": ("duck", ""),
    "loudness": ("loudness", ""),
}
"""Tables inside others: their model, and where their house settings stand."""

_PARTS = {
    "transition": "transition",
    "transition_in": "comes",
    "transition_out": "goes",
    "key": "key",
    "placement": "placement",
    "modulate": "wave on the edge",
    "title": "title",
    "background": "background",
    "fade_in": "fade in",
    "fade_out": "fade out",
    "duck": "duck",
    "loudness": "loudness",
}

_POINTS = {"at", "in", "out"}
_SPANS = {"length", "fade_in", "fade_out", "loop", "down", "up", "pause"}


@dataclass(frozen=True)
class Change:
    """One change between two sheets: which key, from what, to what.

    Attributes
    ----------
    who : str
        The cue, overlay, source or sound; empty for the whole sheet.
    what : str
        In words, with the value before and the value now.
    path : str
        Where it stands in the new sheet; in the old one where it is gone.
    """

    who: str
    what: str
    path: str

    def __str__(self) -> str:
        return f"{self.who}: {self.what}" if self.who else self.what[:1].upper() + self.what[1:]


def sheet_changes(old: Sheet, new: Sheet) -> tuple[Change, ...]:
    """List what has changed from one sheet to another, in words.

    Returns
    -------
    tuple of Change
        The sheet itself, then cues, overlays, sounds and sources, then the same of its effects.
    """
    found = [*_tables("sheet", "", _whole(old), _whole(new), "sheet", (old, new))]
    for kind, table in (("cues", "cue"), ("overlays", "overlay"), ("sound", "sound")):
        found += _listed(kind, table, old, new)
    return (*found, *_sources(old, new), *_effects(old, new))


def _effects(old: Sheet, new: Sheet) -> Iterator[Change]:
    for name in {**old.effects, **new.effects}:
        path = f"effects.{name}"
        if name not in new.effects or name not in old.effects:
            yield Change(f"Effect {name}", "is gone" if name in old.effects else "is new", path)
            continue
        before, after = _within(old, name), _within(new, name)
        if before.length != after.length:
            said = f"length {frames_words(before.length)} → {frames_words(after.length)}"
            yield Change(f"Effect {name}", said, f"{path}.length")
        for kind, table in (("cues", "cue"), ("overlays", "overlay")):
            for one in _listed(kind, table, before, after):
                yield Change(f"Effect {name}, {one.who}", one.what, f"{path}.{one.path}")


def _within(sheet: Sheet, name: str) -> Sheet:
    """Take an effect as a sheet, with its own rows and the sheet's house settings as data."""
    rows = sheet.data["effects"][name]
    houses = {key: sheet.data.get(key, {}) for key in ("transitions", "keys")}
    return replace(sheet.within(name), data={**rows, **houses})


def _whole(sheet: Sheet) -> dict[str, Any]:
    return {key: value for key, value in sheet.data.get("sheet", {}).items() if key != "stills"}


def _listed(kind: str, table: str, old: Sheet, new: Sheet) -> Iterator[Change]:
    """Compare the rows of a list, matched by who they are."""
    before, after = _rows(old, kind), _rows(new, kind)
    names = [_identity(row) for row in before], [_identity(row) for row in after]
    called = _called(kind)
    for tag, i, j, k, m in SequenceMatcher(None, *names, autojunk=False).get_opcodes():
        paired = min(j - i, m - k) if tag == "replace" and j - i == m - k else 0
        if tag == "equal" or paired:
            for n in range(j - i):
                path = f"{kind}[{k + n}]"
                rows = before[i + n], after[k + n]
                yield from _tables(table, called(rows[1], k + n), *rows, path, (old, new))
            continue
        for n in range(i, j):
            yield Change(called(before[n], n), "is gone", f"{kind}[{n}]")
        for n in range(k, m):
            yield Change(called(after[n], n), _new(new, kind, n), f"{kind}[{n}]")


def _rows(sheet: Sheet, kind: str) -> list[dict[str, Any]]:
    return list(sheet.data.get(kind, ()))


def _identity(row: Mapping[str, Any]) -> str:
    return str(row.get("name") or row.get("source") or row.get("file") or "")


def _called(kind: str) -> Callable[[Mapping[str, Any], int], str]:
    words = {"cues": "Shot", "overlays": "Overlay", "sound": "Sound"}[kind]

    def called(row: Mapping[str, Any], index: int) -> str:
        name = _identity(row)
        return f"{words} {index + 1}, {name}" if name else f"{words} {index + 1}"

    return called


def _new(sheet: Sheet, kind: str, index: int) -> str:
    start = {
        "cues": lambda: sheet.cues[index].at,
        "overlays": lambda: sheet.overlays[index].start,
        "sound": lambda: sheet.sounds[index].at,
    }[kind]()
    return f"is new, from {sheet.label(start)}"


def _sources(old: Sheet, new: Sheet) -> Iterator[Change]:
    before, after = old.data.get("sources", {}), new.data.get("sources", {})
    for name in {**before, **after}:
        path = f"sources.{name}"
        if name not in after:
            yield Change(f"Source {name}", "is gone", path)
        elif name not in before:
            yield Change(f"Source {name}", "is new", path)
        else:
            sheets, who = (old, new), f"Source {name}"
            yield from _tables("source", who, before[name], after[name], path, sheets)
            if _inside(old, name) != _inside(new, name) and _alike_file(before, after, name):
                yield Change(who, f"{after[name]['sheet']} says something else", path)


def _inside(sheet: Sheet, name: str) -> str:
    """Digest of the other sheet that a source shows; empty for another source."""
    content = sheet.sources[name].content
    return content.digest if isinstance(content, OtherSheet) else ""


def _alike_file(before: Mapping[str, Any], after: Mapping[str, Any], name: str) -> bool:
    """Whether a source names the same other sheet, with the same values for it."""
    return all(before[name].get(key) == after[name].get(key) for key in ("sheet", "variables"))


def _tables(
    table: str,
    who: str,
    old: Mapping[str, Any],
    new: Mapping[str, Any],
    path: str,
    sheets: tuple[Sheet, Sheet],
    part: str = "",
) -> Iterator[Change]:
    """Compare two tables key by key, those inside them as well."""
    for key in {**old, **new}:
        here = f"{path}.{key}"
        if key in _BLOCKS and any(isinstance(one.get(key), Mapping) for one in (old, new)):
            model, homes = _BLOCKS[key]
            inner = [
                _with_house(one.get(key), sheet, homes)
                for one, sheet in zip((old, new), sheets, strict=True)
            ]
            yield from _block(model, key, who, inner, here, sheets)
            continue
        if key == "use":
            continue
        values = [_value(table, key, one) for one in (old, new)]
        if all(isinstance(value, Mapping) for value in values):
            yield from _by_name(who, part, values[0], values[1], here)
        elif not _alike(key, values, sheets):
            said = [_words(table, key, v, s) for v, s in zip(values, sheets, strict=True)]
            label = label_of(key).lower()
            where = f"{part}, {label}" if part else label
            yield Change(who, f"{where} {said[0]} → {said[1]}", here)


def _by_name(
    who: str, part: str, old: Mapping[str, Any], new: Mapping[str, Any], path: str
) -> Iterator[Change]:
    """Compare what stands under names of the user's own: a title's fields, a sheet's variables."""
    for name in {**old, **new}:
        before, after = old.get(name), new.get(name)
        if before != after:
            said = [
                f"“{one}”" if isinstance(one, str) else _words_of(one) for one in (before, after)
            ]
            where = f"{part}, {name}" if part else name
            yield Change(who, f"{where} {said[0]} → {said[1]}", f"{path}.{name}")


def _words_of(value: Any) -> str:
    return "none" if value is None else _number_words(value)


def _block(
    model: str,
    key: str,
    who: str,
    inner: Sequence[Mapping[str, Any] | None],
    path: str,
    sheets: tuple[Sheet, Sheet],
) -> Iterator[Change]:
    old, new = inner
    if old is None and new is None:
        return
    if new is None or old is None:
        yield Change(who, f"{_PARTS[key]} {'taken away' if new is None else 'added'}", path)
        return
    yield from _tables(model, who, old, new, path, sheets, _PARTS[key])


def _with_house(own: Any, sheet: Sheet, homes: str) -> dict[str, Any] | None:
    """Work house settings into a table; None where there is no table."""
    if not isinstance(own, Mapping):
        return None
    house = sheet.data.get(homes, {}).get(own.get("use"), {}) if homes else {}
    return {**house, **own}


def _value(table: str, key: str, holder: Mapping[str, Any]) -> Any:
    """Value of a key, or what holds where it is not said."""
    if key in holder:
        return holder[key]
    model = TABLES[table]
    for name, field in model.model_fields.items():
        if (field.alias or name) == key:
            return None if field.is_required() else field.default
    return None


def _alike(key: str, values: Sequence[Any], sheets: tuple[Sheet, Sheet]) -> bool:
    one, other = (_plain(value) for value in values)
    if key in _POINTS | _SPANS and None not in (one, other):
        return bool(_frame(one, sheets[0]) == _frame(other, sheets[1]))
    if isinstance(one, str) and isinstance(other, str) and one.startswith("#"):
        return one.casefold() == other.casefold()
    return bool(one == other)


def _plain(value: Any) -> Any:
    return list(value) if isinstance(value, tuple) else value


def _frame(value: Any, sheet: Sheet) -> Any:
    """Frame that a time means; as it is written where it counts in a clip's own frames."""
    rate = sheet.format.rate
    try:
        if isinstance(value, str) and not is_written(value):
            return placed(list(places(sheet)), " ".join(value.split()), rate, "time")
        return parse_time(value, rate)
    except KeyerError:
        return value


def _words(table: str, key: str, value: Any, sheet: Sheet) -> str:
    """Write a value as a person would say it."""
    if value is None or value in ("", (), []):
        return "none"
    if isinstance(value, bool):
        return "on" if value else "off"
    frame = _frame(value, sheet) if key in _POINTS | _SPANS and table != "source" else None
    if isinstance(frame, int):
        return _time_words(table, key, frame, sheet)
    if isinstance(value, Mapping):
        return ", ".join(f"{name} “{inner}”" for name, inner in value.items())
    return _with_unit(_number_words(value), unit_of(TABLES[table], key), value)


def _time_words(table: str, key: str, frame: int, sheet: Sheet) -> str:
    if table == "sheet":
        return timecode(frame, sheet.format.rate, drop=sheet.drop)
    return frames_words(frame) if key in _SPANS else sheet.label(frame)


def _number_words(value: Any) -> str:
    if isinstance(value, list | tuple):
        if isinstance(value[0], Mapping):
            return str(len(value))
        return ", ".join(map(_number_words, value))
    return f"{value:g}" if isinstance(value, int | float) else str(value)


def _with_unit(text: str, unit: str, value: Any) -> str:
    if not unit or isinstance(value, str):
        return text
    return f"{text}{unit}" if unit == "°" else f"{text} {unit}"
