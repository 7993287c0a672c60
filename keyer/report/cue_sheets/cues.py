"""The cue sheet: one row an event, with all that has to be dialled in."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace
from pathlib import Path

from keyer.errors import KeyerError, NoBackingError
from keyer.kinds.timing import rate_name
from keyer.render.correcting import correction_words
from keyer.render.levels import Level, levels
from keyer.render.plan import Plan
from keyer.render.recipe import used_sources
from keyer.report.checks.title_checks import title_text
from keyer.report.versions.approval import approved_words
from keyer.report.words import (
    colour_words,
    cue_name,
    frames_words,
    inner_name,
    key_words,
    overlay_name,
    placement_words,
)
from keyer.sheet.effect import Transition
from keyer.sheet.sheet import Cue, Overlay, Sheet
from keyer.sheet.sound import Sound
from keyer.sheet.source import Background, EffectOf, File, OtherSheet, Source, Title


@dataclass(frozen=True)
class Event:
    """A cue, an overlay, or a fade of everything.

    Attributes
    ----------
    number : int
        In order of time, from 1.
    kind : {"cue", "overlay", "whole"}
        `whole`: all of the sheet, as it fades.
    name : str
    start, stop : int
        First frame on which it is seen, first on which it is gone.
    source : str
        What it shows; a colour where it fades to one.
    before : str
        What the base shows before; empty for an overlay and the first cue.
    enter : Transition
    leave : Transition or None
        None for a cue: the next one's transition takes it off.
    key : str
        Settings of the key, in words.
    placement : str
        Where an overlay stands, in words; empty where it fills the picture.
    page : int or None
        Number of a title's page.
    text : str
        What a title says.
    note : str
    """

    number: int
    kind: str
    name: str
    start: int
    stop: int
    source: str
    before: str
    enter: Transition
    leave: Transition | None = None
    key: str = ""
    placement: str = ""
    page: int | None = None
    text: str = ""
    note: str = ""

    @property
    def frames(self) -> int:
        """Number of frames on which it is seen."""
        return self.stop - self.start


@dataclass(frozen=True)
class Inner:
    """What an effect, or another sheet, does while it is on air.

    Attributes
    ----------
    sheet : Sheet
        Its times count from its own beginning.
    name : str
        `Effect two-up`.
    on_air : tuple of str
        When, and which row shows it; by the timecode of the spot.
    events : tuple of Event
        Their numbers go on from the spot's.
    sources : tuple of (name, description)
        Of another sheet; an effect has those of its sheet.
    """

    sheet: Sheet
    name: str
    on_air: tuple[str, ...]
    events: tuple[Event, ...]
    sources: tuple[tuple[str, str], ...] = ()


@dataclass(frozen=True)
class CueSheet:
    """A cue sheet: facts of the spot and a row for every event.

    Attributes
    ----------
    sheet : Sheet
    events : tuple of Event
    sources : tuple of (name, description)
    sounds : tuple of (name, description)
    notices : tuple of str
    approved : str
        Whether it is as it was approved, in words; empty where it never was.
    inner : tuple of Inner
        Each effect and other sheet that is on air, once.
    """

    sheet: Sheet
    events: tuple[Event, ...]
    sources: tuple[tuple[str, str], ...]
    sounds: tuple[tuple[str, str], ...]
    notices: tuple[str, ...] = ()
    approved: str = ""
    inner: tuple[Inner, ...] = ()


def cue_sheet(sheet: Sheet, plan: Plan) -> CueSheet:
    """Make the cue sheet of a spot.

    Parameters
    ----------
    sheet : Sheet
    plan : Plan
        Of the sheet; says how its keys were set.

    Raises
    ------
    InputFileError
        If a picture to be keyed cannot be read.
    """
    events = _events(sheet, plan, 1)
    sources = _sources(sheet)
    sounds = tuple((sound.called, sound_words(sheet, sound)) for sound in sheet.sounds)
    approved = approved_words(sheet, sheet.folder / sheet.name)
    inner = tuple(_inner(sheet, plan, len(events) + 1))
    return CueSheet(sheet, events, sources, sounds, tuple(plan.notices), approved, inner)


def _events(sheet: Sheet, plan: Plan, first: int) -> tuple[Event, ...]:
    """List the rows of a sheet in order of time, numbered from the first on."""
    found = [*_cues(sheet), *_overlays(sheet, plan), *_fades(sheet)]
    found.sort(key=lambda event: (event.start, event.kind))
    return tuple(replace(event, number=number) for number, event in enumerate(found, first))


def _sources(sheet: Sheet) -> tuple[tuple[str, str], ...]:
    return tuple((one.name, source_words(sheet, one)) for one in used_sources(sheet))


def _inner(sheet: Sheet, plan: Plan, first: int) -> Iterator[Inner]:
    """List what effects and other sheets do, those first that come on air first."""
    shown: dict[str, list[Level]] = {}
    for level in levels(sheet)[1:]:
        shown.setdefault(level.path, []).append(level)
    for path, several in sorted(shown.items(), key=lambda one: min(map(_begins, one[1]))):
        one = several[0]
        events = _events(one.sheet, one.plan(plan), first)
        first += len(events)
        on_air = tuple(_on_air(sheet, level) for level in sorted(several, key=_begins))
        sources = () if one.sheet.prefix else _sources(one.sheet)
        yield Inner(one.sheet, inner_name(path), on_air, events, sources)


def _begins(level: Level) -> int:
    return level.frames(0, level.sheet.length)[0]


def _on_air(sheet: Sheet, level: Level) -> str:
    """Say when a level is on air, and what shows it."""
    frames = level.frames(0, level.sheet.length)
    row = level.row
    shows = "" if row is None else cue_name(row) if isinstance(row, Cue) else overlay_name(row)
    return f"{sheet.label(frames[0])} to {sheet.label(frames[-1] + 1)} in {shows}"


def _cues(sheet: Sheet) -> Iterator[Event]:
    before = ""
    for cue in sheet.cues:
        after = sheet.cues[cue.index + 1] if cue.index + 1 < len(sheet.cues) else None
        stop = sheet.length if after is None else after.at + after.transition.length
        source = cue.source or colour_words(cue.transition.colour)
        page, text = _title(sheet, cue.source)
        yield Event(
            0, "cue", cue_name(cue), cue.at, min(stop, sheet.length), source,
            _from(cue, before), cue.transition, page=page, text=text, note=cue.note,
            placement="" if cue.standing is None else placement_words(cue.standing, sheet.dials),
        )  # fmt: skip
        before = source


def _fades(sheet: Sheet) -> Iterator[Event]:
    """Tell when all of the sheet comes up out of a colour, and goes to one."""
    for name, fade in (("Everything in", sheet.fade_in), ("Everything out", sheet.fade_out)):
        if fade is not None:
            start = 0 if fade is sheet.fade_in else sheet.length - fade.length
            how = Transition("fade", fade.length, fade.curve, fade.colour)
            colour = colour_words(fade.colour)
            yield Event(0, "whole", name, start, start + fade.length, colour, "", how)


def _from(cue: Cue, before: str) -> str:
    if cue.index == 0 and cue.transition.kind == "fade":
        return colour_words(cue.transition.colour)
    return before


def _overlays(sheet: Sheet, plan: Plan) -> Iterator[Event]:
    for overlay in sheet.overlays:
        page, text = _title(sheet, overlay.source)
        yield Event(
            0, "overlay", overlay_name(overlay), overlay.start, overlay.stop, overlay.source, "",
            overlay.enter, overlay.leave, _key(sheet, overlay, plan),
            placement_words(overlay, sheet.dials), page, text, overlay.note,
        )  # fmt: skip


def _key(sheet: Sheet, overlay: Overlay, plan: Plan) -> str:
    key, dials = overlay.key, sheet.dials
    if key is None:
        return ""
    if key.kind != "chroma":
        return key_words(key, dials=dials)
    try:
        return key_words(key, plan.key_choice(overlay).used, dials)
    except NoBackingError:
        return f"{key_words(key, dials=dials)}; its first picture shows no backing"


def _title(sheet: Sheet, name: str | None) -> tuple[int | None, str]:
    """Page number and text of a source that is a title."""
    content = None if name is None else sheet.sources[name].content
    if not isinstance(content, Title):
        return None, ""
    if content.fields:
        return content.page, " / ".join(text for _, text in content.fields)
    try:
        return content.page, title_text(content)
    except KeyerError:
        return content.page, ""


def source_words(sheet: Sheet, source: Source) -> str:
    """Say what a source is and how it runs."""
    match source.content:
        case File(path=path, written=written):
            words = written or path.name
        case Title(page=page, design=design):
            words = f"title page {page}" if page is not None else f"title design {_name(design)}"
        case Background(look=look, loop=loop):
            words = f"background {look}"
            words += f", loop of {frames_words(loop)}" if loop else ", still"
        case EffectOf(effect=name):
            words = f"effect {name}, {frames_words(sheet.effects[name].length)}"
        case OtherSheet(file=file, sheet=other_sheet):
            words = f"sheet {file.written}, {frames_words(other_sheet.length)}"
        case other:
            words = _spaced(type(other).__name__)
    clip = isinstance(source.content, File | EffectOf | OtherSheet)
    for label, at in zip(("from", "to"), source.trim, strict=True):
        words += "" if at is None else f", {label} {at}"
    if source.at is not None:
        words += f", rolled at {sheet.label(source.at)}"
    words += "".join(f", {said}" for said in correction_words(source.correction))
    words += "" if source.match is None else f", matched to {source.match}"
    if source.speed != 1:
        words += f", speed {float(source.speed):g}"
    return (
        words
        + (", loops" if source.loop and clip else "")
        + (", last frame frozen" if source.freeze else "")
    )


def _name(path: Path | None) -> str:
    return path.name if path else ""


def _spaced(name: str) -> str:
    """Turn the name of a class into words."""
    return "".join(f" {c.lower()}" if c.isupper() else c for c in name).strip()


def sound_words(sheet: Sheet, sound: Sound) -> str:
    """Say what is heard, when, and how loud."""
    words = f"{sound.told}, from {sheet.label(sound.at)}"
    if sound.level_db:
        words += f", {sound.level_db:+g} dB"
    if sound.fade_in or sound.fade_out:
        words += f", fades {sound.fade_in} and {sound.fade_out} frames"
    if sound.duck is not None:
        duck = sound.duck
        words += (
            f", {-duck.level_db:g} dB lower under {duck.under} "
            f"(down in {duck.down} frames, up in {duck.up})"
        )
    return words


def cue_facts(sheet: Sheet) -> str:
    """Say format, rate and length in one line."""
    video = sheet.format
    count = f"{frames_words(sheet.length)} at {rate_name(video.rate)} frames a second"
    drop = ", drop-frame timecode" if sheet.drop else ""
    return f"{video.name}, {count}{drop}, {sheet.label(0)} to {sheet.label(sheet.length)}"
