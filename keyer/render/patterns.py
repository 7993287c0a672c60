"""Patterns and backgrounds that a sheet names, and what a pattern makes of a transition."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING, Any, Literal

from keyer.errors import SettingError
from keyer.kinds.field import Pattern
from keyer.kinds.look import Look
from keyer.kinds.settings import Light
from keyer.render.between import faded, mixed, moved, wiped
from keyer.render.effect import in_light
from keyer.render.graph import Node
from keyer.render.leaves import Colour
from keyer.sheet.effect import Transition
from keyer.sheet.sheet import Sheet
from keyer.sheet.source import Background

if TYPE_CHECKING:  # reading the library costs time that a mix or a key need not spend
    from keyer.library import Patterns

_SEEDS = 7919
"""Step from one seed's noises to the next seed's, so that no wave meets another's noise again."""

_FADES: dict[str, Literal["to", "from"]] = {"to colour": "to", "from colour": "from"}

_PLAIN = Transition()

_OF_WIPES = (
    *((key, "edge", key) for key in ("soft", "border", "border_soft", "border_colour")),
    ("border_ramp", "edge", "border_ramp"),
    *((key, "modifiers", key) for key in ("reverse", "position", "aspect", "repeat", "mirror")),
    ("rotate", "modifiers", "rotation"),
    ("modulate", "modifiers", "modulation"),
)
"""Keys that only patterns with a boundary take, and where a transition has them."""


def sheet_folders(sheet: Sheet) -> tuple[Path, ...]:
    """Folders of patterns that a sheet names."""
    return tuple(folder.path for folder in sheet.patterns)


def sheet_patterns(sheet: Sheet) -> Patterns:
    """Patterns that a sheet may name: the library's and those of its own folders.

    Raises
    ------
    InputFileError, SheetError
        If a file of its folders is wrong.
    """
    from keyer.library import load_patterns

    return load_patterns(sheet_folders(sheet))


def check_folders(sheet: Sheet) -> None:
    """Read everything in the folders of patterns that a sheet names.

    Raises
    ------
    InputFileError, SheetError
        If a file of its folders is wrong.
    """
    from keyer.library.looks import load_looks

    if sheet.patterns:
        load_looks(sheet_folders(sheet))


def sheet_look(content: Background, folders: Sequence[Path]) -> tuple[Look, Pattern]:
    """Find the look of a background, with what the sheet changes of it, and its pattern.

    Parameters
    ----------
    content : Background
    folders : sequence of Path
        Of the user's patterns.

    Raises
    ------
    SettingError
        If there is none of that name.
    InputFileError, SheetError
        If a file of the folders is wrong.
    """
    from keyer.library import load_patterns
    from keyer.library.looks import find_look, load_looks

    look = find_look(content.look, load_looks(folders))
    changes = {"colours": content.colours, "soft": content.soft, "drift": content.drift}
    waves = tuple(
        replace(wave, seed=(wave.seed + _SEEDS * content.seed) % 2**31) for wave in look.waves
    )
    stated: dict[str, Any] = {key: value for key, value in changes.items() if value is not None}
    pattern = load_patterns(folders).find(look.pattern)
    return replace(look, waves=waves, **stated), pattern


def pattern_files(sheet: Sheet) -> Iterator[Path]:
    """Yield the user's files that the patterns and backgrounds of a sheet come from.

    Raises
    ------
    KeyerError
        If one of them is wrong.
    """
    moves = [move for level in sheet.levels() for _, move in level.transitions()]
    for transition in moves:
        if transition.kind == "wipe":
            yield from map(Path, sheet_patterns(sheet).find(transition.pattern).files)
    for name in sorted(sheet.shown()):
        content = sheet.sources[name].content
        if isinstance(content, Background):
            yield from map(Path, sheet_look(content, sheet_folders(sheet))[0].files)


def misfits(
    transition: Transition, pattern: Pattern, *, overlay: bool
) -> Iterator[tuple[str, str]]:
    """Find the settings of a wipe that its pattern cannot take.

    Parameters
    ----------
    transition : Transition
        Of kind `wipe`.
    pattern : Pattern
    overlay : bool
        Whether it brings an overlay in or takes it out.

    Yields
    ------
    key, message : str
        Key of the sheet's transition table.
    """
    fades = pattern.params.get("kind") in _FADES
    if overlay and pattern.effect == "push":
        side = str(pattern.params["side"]).capitalize()
        instead = f"Take slideWipe/from{side}."
        yield "pattern", f"{pattern.name} pushes a picture out, and an overlay has none. {instead}"
    if overlay and fades:
        yield "pattern", f"{pattern.name} is for cues. An overlay fades by fade/crossfade."
    if transition.colour != _PLAIN.colour and not fades:
        yield "colour", f"cannot be used with {pattern.name}; it is the colour of a fade."
    if pattern.effect == "wipe":
        return
    keys = [
        key
        for key, holder, name in _OF_WIPES
        if getattr(getattr(transition, holder), name) != getattr(getattr(_PLAIN, holder), name)
    ]
    keys += [] if transition.border_source is None else ["border_source"]
    if keys:
        does = {"push": "pushes", "slide": "slides"}.get(pattern.effect, "mixes")
        also = f" (nor can {', '.join(keys[1:])})" if keys[1:] else ""
        cure = "Leave it out, or take a pattern that wipes."
        said = f"cannot be used with {pattern.name}, which {does} whole pictures{also}. {cure}"
        yield keys[0], said


def refuse_misfits(transition: Transition, pattern: Pattern) -> None:
    """Refuse a wipe of two pictures whose pattern cannot take its settings.

    Raises
    ------
    SettingError
        Names the first of them.
    """
    for key, message in misfits(transition, pattern, overlay=False):
        raise SettingError(message if key == "pattern" else f"{key.replace('_', '-')} {message}")


def between(
    first: Node,
    second: Node,
    transition: Transition,
    pattern: Pattern,
    share: float,
    *,
    pixel_aspect: float = 1.0,
    seconds: float = 0.0,
    border: Node | None = None,
    light: Light = "video",
    within: bool = False,
) -> Node:
    """Let one picture give way to another by a wipe, whatever its pattern does.

    Parameters
    ----------
    first, second : Node
        In the light asked for.
    transition : Transition
        Without misfits.
    pattern : Pattern
    share : float
        Of its time, 0..1, its curve applied.
    pixel_aspect : float
    seconds : float
        Time since it began.
    border : Node, optional
        Fills the border instead of its colours.
    light : {"video", "linear"}
    within : bool
        As in `keyer.render.between.Wipe`.
    """
    modifiers = transition.modifiers
    if pattern.effect == "wipe":
        return wiped(
            first,
            second,
            share,
            pattern=pattern,
            modifiers=modifiers,
            edge=transition.edge,
            pixel_aspect=pixel_aspect,
            seconds=seconds,
            border=border if transition.edge.border else None,
            light=light,
            within=within,
        )
    share = modifiers.progress(share)
    if pattern.effect == "mix":
        part = _FADES.get(str(pattern.params["kind"]))
        if part is None:
            return mixed(first, second, share)
        colour = in_light(Colour(transition.colour, second.width, second.height), light)
        return faded(first, second, share, colour, part)
    return moved(first, second, share, pattern.effect, pattern.params["side"])
