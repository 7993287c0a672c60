"""Transitions and keys from their models, house settings worked in."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace
from typing import Any, Literal, TypeVar

from keyer.documents.locate import Path
from keyer.kinds.field import Modifiers, Modulation
from keyer.kinds.settings import Edge, Finish, KeySettings, Rgb, Shade
from keyer.kinds.timing import count_rate
from keyer.sheet.effect import CUT, Key, Transition
from keyer.sheet.effect_models import KeyTable, TransitionTable
from keyer.sheet.fault_log import FaultLog
from keyer.sheet.resolve_masks import MASKS, check_sample, named_masks, read_masks
from keyer.sheet.values import Table

S = TypeVar("S", Finish, Shade)

Role = Literal["first cue", "cue", "cue without source", "overlay"]

MODIFIERS = {
    "reverse": "reverse",
    "position": "position",
    "aspect": "aspect",
    "rotate": "rotation",
    "repeat": "repeat",
    "mirror": "mirror",
    "start_progress": "start",
    "end_progress": "end",
}
"""Keys of a wipe and what `Modifiers` calls them; `modulate` is a table of its own."""

EDGE = ("soft", "border", "border_soft")
BORDER = ("border_colour", "border_ramp", "border_source")
WIPE = ("pattern", *EDGE, *BORDER, *MODIFIERS, "modulate")
TRANSITION_KEYS: dict[str, tuple[str, ...]] = {
    "cut": (),
    "mix": ("length", "curve", "hold"),
    "additive": ("length", "curve", "hold"),
    "non-additive": ("length", "curve", "hold"),
    "fade": ("length", "curve", "hold", "colour"),
    "wipe": ("length", "curve", "hold", *WIPE),
}
"""Which keys go with which kind of transition, beside `use` and `kind`."""

SHADE = {"shadow": "strength_percent", "shadow_soft": "soft_percent"}
"""Keys of a chroma key's shadows and what `Shade` calls them."""

FINISH = ("fill_holes", "drop_specks", "grow", "feather")
BY_HAND = ("garbage", "hold", *FINISH)
"""Keys of every kind of key that change its matte by hand."""

KEY_KEYS: dict[str, tuple[str, ...]] = {
    "chroma": (
        "quality",
        "hue",
        "acceptance",
        "clip",
        "gain",
        "spill",
        "sample",
        "clean_plate",
        *SHADE,
        *BY_HAND,
    ),
    "luminance": ("source", "clip", "gain", "invert", *BY_HAND),
    "linear": ("source", "channel", "clip", "gain", "invert", *BY_HAND),
}
"""Which keys go with which kind of key, beside `use` and `kind`."""

_KINDS: dict[Role, tuple[str, ...]] = {
    "first cue": ("cut", "fade"),
    "cue": tuple(TRANSITION_KEYS),
    "cue without source": ("fade",),
    "overlay": ("cut", "mix", "wipe"),
}
_WHY: dict[Role, str] = {
    "first cue": "the first cue has no picture before it",
    "cue": "",
    "cue without source": "a cue without source goes to the colour of a fade",
    "overlay": "an overlay comes and goes over the base",
}
NEUTRAL_KEY: dict[str, Any] = {
    "hue_deg": 120,
    "acceptance_deg": 90,
    "clip_percent": 0,
    "gain": 1,
    "spill_percent": 0,
    "backing": (0, 1, 0),
}
KEY_SETTINGS = {
    "hue": "hue_deg",
    "acceptance": "acceptance_deg",
    "clip": "clip_percent",
    "gain": "gain",
    "spill": "spill_percent",
}


@dataclass(frozen=True)
class _Merged:
    """A table joined with the house settings that its `use` names."""

    own: Table
    path: Path
    house: Table | None
    house_path: Path

    def __getitem__(self, key: str) -> Any:
        if self.house is not None and key not in self.own.model_fields_set:
            return getattr(self.house, key)
        return getattr(self.own, key)

    def stated(self, key: str) -> bool:
        """Whether the sheet states a key, here or in the house settings."""
        return any(table and key in table.model_fields_set for table in (self.own, self.house))

    def at(self, key: str) -> Path:
        """Where a key is stated."""
        if self.house is not None and key not in self.own.model_fields_set:
            return (*self.house_path, key)
        return (*self.path, key)

    def suspect(self, log: FaultLog, key: str) -> bool:
        """Whether a key was found faulty, here or in the house settings."""
        return log.suspect((*self.path, key)) or log.suspect((*self.house_path, key))


def _merge(
    log: FaultLog, path: Path, own: Any, houses: Mapping[str, Table], where: str
) -> _Merged | None:
    """Work house settings in; None if the kind cannot be told."""
    house: Any = None
    if own.use is not None:
        log.name((*path, "use"), own.use, houses, f"house setting in [{where}]")
        if own.use not in houses:
            return None
        house = houses[own.use]
    merged = _Merged(own, path, house, (where, own.use or ""))
    if house is not None and own.kind and house.kind and own.kind != house.kind:
        message = f"must stay {house.kind!r}, the kind of {own.use!r} that it uses."
        log.fault((*path, "kind"), message)
        return None
    if merged["kind"] is None:
        if not merged.suspect(log, "kind"):
            log.fault(path, "kind is missing.")
        return None
    return merged


def check_transition(log: FaultLog, path: Path, table: TransitionTable) -> None:
    """Check the values of one table, house settings left aside."""
    log.spans(path, table)
    stated = table.model_fields_set
    for key in stated.intersection(EDGE):
        log.tried((*path, key), None, Edge, **{key: getattr(table, key)})
    for key in stated.intersection(MODIFIERS):
        log.tried((*path, key), None, Modifiers, **{MODIFIERS[key]: getattr(table, key)})
    for key, value in table.modulate or ():
        log.tried((*path, "modulate", key), None, Modulation, **{key: value})
    for key in ("colour", "border_colour", "border_ramp"):
        if (text := getattr(table, key)) is not None:
            log.colour((*path, key), text)
    if table.kind is not None and table.use is None:
        _belongs(log, path, table, table.kind, _keys_with(table.pattern))
    if table.length is not None and log.time((*path, "length"), table.length) == 0:
        log.fault((*path, "length"), 'must be at least one frame. For none, say kind = "cut".')


def check_key(log: FaultLog, path: Path, table: KeyTable) -> None:
    """Check the values of one table, house settings left aside."""
    for key, setting in KEY_SETTINGS.items():
        value = getattr(table, key)
        if isinstance(value, int | float):
            log.tried((*path, key), None, KeySettings, **(NEUTRAL_KEY | {setting: value}))
    log.spans(path, table)
    for key in FINISH:
        log.tried((*path, key), None, Finish, **{key: getattr(table, key)})
    for key, setting in SHADE.items():
        log.tried((*path, key), None, Shade, **{setting: getattr(table, key)})
    for key in MASKS:
        read_masks(log, (*path, key), getattr(table, key))
    if table.sample is not None:
        check_sample(log, (*path, "sample"), table.sample)
    if table.kind is not None and table.use is None:
        _belongs(log, path, table, table.kind, KEY_KEYS)


def _keys_with(pattern: str | int | None) -> Mapping[str, tuple[str, ...]]:
    """Keys of each kind of transition; a wipe has a colour where its pattern may be a fade."""
    if pattern is None or str(pattern).strip().casefold().startswith("fade"):
        return {**TRANSITION_KEYS, "wipe": (*TRANSITION_KEYS["wipe"], "colour")}
    return TRANSITION_KEYS


def _belongs(
    log: FaultLog, path: Path, table: Table, kind: str, allowed: Mapping[str, tuple[str, ...]]
) -> None:
    for key in table.model_fields_set - {"use", "kind"}:
        if key not in allowed[kind]:
            homes = " or ".join(name for name, keys in allowed.items() if key in keys)
            log.fault((*path, key), f"cannot be used with kind {kind!r}; it belongs to {homes}.")


def _all_belong(log: FaultLog, merged: _Merged, allowed: Mapping[str, tuple[str, ...]]) -> None:
    _belongs(log, merged.path, merged.own, merged["kind"], allowed)
    if merged.house is not None:
        _belongs(log, merged.house_path, merged.house, merged["kind"], allowed)


def resolve_transition(
    log: FaultLog,
    path: Path,
    table: TransitionTable | None,
    houses: Mapping[str, TransitionTable],
    sources: Iterable[str],
    role: Role,
) -> Transition | None:
    """Make a transition; None if what is written cannot be one."""
    if table is None:
        if role == "cue without source" and not log.suspect(path):
            log.fault(path[:-1], 'needs a source, or a transition of kind "fade".')
        return CUT
    check_transition(log, path, table)
    merged = _merge(log, path, table, houses, "transitions")
    if merged is None or log.format is None:
        return None
    kind = merged["kind"]
    if kind not in _KINDS[role]:
        allowed = " or ".join(_KINDS[role])
        log.fault((*path, "kind"), f"must be {allowed} here, got {kind!r}: {_WHY[role]}.")
        return None
    _all_belong(log, merged, _keys_with(merged["pattern"]))
    length: int | None = 0
    if kind != "cut":
        length = count_rate(log.format.rate)
        if merged["length"] is not None:
            length = log.time(merged.at("length"), merged["length"])
    if kind == "wipe" and merged["pattern"] is None and not merged.suspect(log, "pattern"):
        log.fault(path, "pattern is missing: a wipe needs one, by type/subtype or by code.")
    if merged["border_source"] is not None:
        log.name(merged.at("border_source"), merged["border_source"], sources, "source")
    if length is None:
        return None
    return _transition(log, merged, length)


def _transition(log: FaultLog, merged: _Merged, length: int) -> Transition:
    def edge(key: str) -> Any:
        made = log.tried(merged.at(key), Edge(), Edge, **{key: merged[key]})
        return getattr(made, key)

    def colour(key: str) -> Rgb:
        return log.colour(merged.at(key), merged[key])

    ramp = None if merged["border_ramp"] is None else colour("border_ramp")
    colours = colour("border_colour"), ramp
    return Transition(
        kind=merged["kind"],
        length=length,
        curve=merged["curve"],
        colour=colour("colour"),
        pattern=merged["pattern"] if merged["pattern"] is not None else "",
        edge=Edge(edge("soft"), edge("border"), edge("border_soft"), *colours),
        modifiers=_modifiers(log, merged),
        border_source=merged["border_source"],
        rest=_rest(log, merged, length),
    )


def _rest(log: FaultLog, merged: _Merged, length: int) -> tuple[float, int] | None:
    """Read where a transition stands still, and for how long."""
    table, here = merged["hold"], merged.at("hold")
    if table is None:
        return None
    frames = log.time((*here, "length"), table.length)
    if frames is None or not 0 <= table.at <= 1:
        return None
    if not 0 < frames <= length:
        message = f"must be 1 to the {length} frames of the transition, got {frames}."
        log.fault((*here, "length"), message)
        return None
    return table.at, frames


def _modifiers(log: FaultLog, merged: _Merged) -> Modifiers:
    checked = Modifiers()
    for key, setting in MODIFIERS.items():
        if merged.stated(key):
            here = merged.at(key)
            checked = log.tried(here, checked, replace, checked, **{setting: merged[key]})
    if merged["modulate"] is None:
        return checked
    wave = Modulation()
    for key, value in merged["modulate"]:
        wave = log.tried((*merged.at("modulate"), key), wave, replace, wave, **{key: value})
    return replace(checked, modulation=wave)


def resolve_key(
    log: FaultLog,
    path: Path,
    table: KeyTable | None,
    houses: Mapping[str, KeyTable],
    sources: Iterable[str],
) -> Key | None:
    """Make a key; None if there is none, or what is written cannot be one."""
    if table is None:
        return None
    check_key(log, path, table)
    merged = _merge(log, path, table, houses, "keys")
    if merged is None:
        return None
    _all_belong(log, merged, KEY_KEYS)
    for key in ("source", "clean_plate"):
        if merged[key] is not None:
            log.name(merged.at(key), merged[key], sources, "source")
    masks = {key: named_masks(log, merged.at(key), merged[key], sources) for key in MASKS}
    made = Key(
        kind=merged["kind"],
        quality=merged["quality"],
        hue=merged["hue"],
        acceptance_deg=merged["acceptance"],
        clip_percent=merged["clip"],
        gain=merged["gain"],
        spill_percent=merged["spill"],
        invert=merged["invert"],
        source=merged["source"],
        channel=merged["channel"],
        **masks,
        finish=_settled(log, merged, Finish, {key: key for key in FINISH}),
        shade=_settled(log, merged, Shade, SHADE),
        clean_plate=merged["clean_plate"],
        sample=merged["sample"],
    )
    for key, message in made.misfits().items():
        if not merged.suspect(log, key):
            log.fault(merged.at(key), message)
    return made


def _settled(log: FaultLog, merged: _Merged, make: type[S], keys: Mapping[str, str]) -> S:
    """Make settings of the keys that hold; one that does not stays at its default."""
    settings = make()
    for key, setting in keys.items():
        changed = {setting: merged[key]}
        settings = log.tried(merged.at(key), settings, replace, settings, **changed)
    return settings
