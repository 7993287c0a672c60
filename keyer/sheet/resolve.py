"""From the models to the sheet that the renderer takes, with every cross check."""

from __future__ import annotations

import math
from fractions import Fraction
from pathlib import Path as FilePath

from keyer.documents.locate import Path
from keyer.kinds.formats import VideoFormat, parse_format
from keyer.kinds.look import MOST_COLOURS
from keyer.kinds.timing import can_drop, timecode
from keyer.sheet.effect import CUT, Keyframe, Pose, Transition
from keyer.sheet.models import CueTable, Document, OverlayTable, PlacementTable
from keyer.sheet.notes import Notes
from keyer.sheet.remarks import resolve_remarks, resolve_stills
from keyer.sheet.resolve_effect import (
    Role,
    check_key,
    check_transition,
    resolve_key,
    resolve_transition,
)
from keyer.sheet.resolve_sound import resolve_sound
from keyer.sheet.sheet import Cue, Overlay, Sheet
from keyer.sheet.source import (
    Background,
    Bars,
    Checkerboard,
    Clear,
    Content,
    File,
    Gradient,
    PlainColour,
    Ramp,
    Source,
    Title,
)
from keyer.sheet.source_models import BackgroundTable, SourceTable, TitleTable

CONTENTS = (
    "file", "colour", "gradient", "bars", "ramp", "checkerboard", "title", "background", "clear",
)  # fmt: skip
"""Keys of a source that say what it is."""

_OF_CLIPS = ("in_", "out", "at", "speed", "loop", "hold")


def resolve(document: Document, notes: Notes, folder: FilePath) -> Sheet | None:
    """Resolve a document, noting every fault.

    Parameters
    ----------
    document : Document
    notes : Notes
    folder : Path
        From which files are found.

    Returns
    -------
    Sheet or None
        None if a fault was found.
    """
    table = document.sheet
    if not notes.touched(("sheet", "format")):
        notes.format = notes.tried(("sheet", "format"), None, parse_format, table.format)
    length = notes.time(("sheet", "length"), table.length)
    if length == 0:
        notes.fault(("sheet", "length"), "must be at least one frame.")
        length = None
    start = notes.time(("sheet", "start"), table.start)
    sources = {
        name: _source(notes, name, source, folder) for name, source in document.sources.items()
    }
    for name, house in document.transitions.items():
        check_transition(notes, ("transitions", name), house)
    for name, key in document.keys.items():
        check_key(notes, ("keys", name), key)
    cues = _cues(notes, document, length)
    overlays = [
        _overlay(notes, document, index, overlay, length)
        for index, overlay in enumerate(document.overlays)
    ]
    sounds = [
        resolve_sound(notes, index, sound, folder, length)
        for index, sound in enumerate(document.sound)
    ]
    remarks = resolve_remarks(notes, document.remarks, length)
    stills = resolve_stills(notes, table.stills, length)
    if notes.faults or notes.format is None or length is None or start is None:
        return None
    wanted = (table.patterns,) if isinstance(table.patterns, str) else table.patterns
    return Sheet(
        title=table.title,
        note=table.note,
        format=notes.format,
        length=length,
        light=table.light,
        start=start,
        drop=_drops(table.start, notes.format),
        sources={name: source for name, source in sources.items() if source},
        cues=tuple(cues),
        overlays=tuple(overlay for overlay in overlays if overlay),
        sounds=tuple(sounds),
        patterns=tuple(File(folder / name, name) for name in wanted),
        remarks=remarks,
        stills=stills,
        folder=folder,
    )


def _drops(start: str | float, form: VideoFormat) -> bool:
    """Whether timecode is printed as drop-frame: unless the start is written otherwise."""
    return can_drop(form.rate) and not (isinstance(start, str) and start.count(":") == 3)


def _source(notes: Notes, name: str, table: SourceTable, folder: FilePath) -> Source | None:
    path = ("sources", name)
    given = [key for key in CONTENTS if getattr(table, key) is not None]
    if len(given) > 1:
        notes.fault((*path, given[1]), f"one source is one thing; {given[0]} is given as well.")
    if not given and not notes.touched(path):
        notes.fault(path, f"needs one of {', '.join(CONTENTS)}.")
    if given and given[0] != "file":
        for key in table.model_fields_set & set(_OF_CLIPS):
            if not (key == "at" and table.background and table.background.loop is not None):
                notes.fault((*path, key.rstrip("_")), "belongs to clips, which have a file.")
    notes.spans(path, table)
    for key, value in (("in", table.in_), ("out", table.out)):
        if value is not None:  # at the clip's own rate later; here for the way it is written
            notes.written_time((*path, key), value)
    at = None if table.at is None else notes.time((*path, "at"), table.at)
    if table.loop and table.hold:
        notes.fault((*path, "hold"), "a clip either loops or holds when it ends.")
    if len(given) != 1 or notes.touched(path):
        return None
    if table.title:
        content: Content = _title(notes, (*path, "title"), table.title, folder)
    elif table.background:
        content = _background(notes, (*path, "background"), table.background)
    else:
        content = _content(notes, path, given[0], table, folder)
    return Source(
        name=name,
        content=content,
        fit=table.fit,
        trim=(table.in_, table.out),
        at=at,
        speed=Fraction(repr(table.speed)) if math.isfinite(table.speed) else Fraction(1),
        loop=table.loop or (isinstance(content, Background) and content.loop > 0),
        hold=table.hold,
    )


def _content(notes: Notes, path: Path, kind: str, table: SourceTable, folder: FilePath) -> Content:
    here = (*path, kind)
    match kind, getattr(table, kind):
        case "colour", text:
            return PlainColour(notes.colour(here, text))
        case "gradient", part:
            first = notes.colour((*here, "first"), part.first)
            return Gradient(first, notes.colour((*here, "second"), part.second), part.angle)
        case "checkerboard", part:
            first = notes.colour((*here, "first"), part.first)
            second = notes.colour((*here, "second"), part.second)
            return Checkerboard(first, second, part.squares)
        case "bars", percent:
            return Bars(percent)
        case "ramp" | "clear", wanted:
            if not wanted:
                notes.fault(here, "must be true; leave the key out for another source.")
            return Ramp() if kind == "ramp" else Clear()
        case _, file:
            if not file.strip():
                notes.fault(here, "must name a file.")
            return File(folder / file, file)


def _title(notes: Notes, here: Path, part: TitleTable, folder: FilePath) -> Title:
    if (part.design is None) == (part.page is None):
        notes.fault(here, "needs a design or a page, one of them.")
    if part.page is None and "pages" in part.model_fields_set:
        notes.fault((*here, "pages"), "belongs to a page, which has a number.")
    design = None if part.design is None else folder / part.design
    fields = tuple(part.fields.items())
    return Title(design, folder / part.pages, part.page, fields, part.allow_flash)


def _background(notes: Notes, here: Path, part: BackgroundTable) -> Background:
    colours = None
    if part.colours is not None:
        colours = tuple(notes.colour((*here, "colours"), text) for text in part.colours)
        if not 2 <= len(colours) <= MOST_COLOURS:
            message = f"must be 2 to {MOST_COLOURS} colours, got {len(colours)}."
            notes.fault((*here, "colours"), message)
    loop: int | None = 0
    if part.loop is not None:
        loop = notes.time((*here, "loop"), part.loop)
        if loop is not None and loop < 2:
            notes.fault((*here, "loop"), "must be at least two frames. For a still, leave it out.")
    return Background(part.look, colours, part.soft, part.drift, part.seed, loop or 0)


def _role(index: int, cue: CueTable) -> Role:
    if index == 0:
        return "first cue"
    return "cue" if cue.source is not None else "cue without source"


def _cues(notes: Notes, document: Document, length: int | None) -> list[Cue]:
    tables = document.cues
    if not tables and not notes.touched(("cues",)):
        notes.fault(("cues",), "needs at least one cue.")
    starts = [notes.time(("cues", i, "at"), cue.at) for i, cue in enumerate(tables)]
    cues = []
    for index, cue in enumerate(tables):
        path: Path = ("cues", index)
        role = _role(index, cue)
        if cue.source is not None:
            notes.name((*path, "source"), cue.source, document.sources, "source")
        elif index == 0 and not notes.touched((*path, "source")):
            notes.fault(path, "the first cue needs a source.")
        transition = resolve_transition(
            notes,
            (*path, "transition"),
            cue.transition,
            document.transitions,
            document.sources,
            role,
        )
        following = [*starts[index + 1 : index + 2], length][0]
        last = index + 1 == len(tables)
        end = (following, "the end of the sheet" if last else "the next cue")
        _check_cue(notes, path, starts[index], transition, end)
        cues.append(
            Cue(index, cue.source, starts[index] or 0, transition or CUT, cue.name, cue.note)
        )
    return cues


def _check_cue(
    notes: Notes,
    path: Path,
    at: int | None,
    transition: Transition | None,
    end: tuple[int | None, str],
) -> None:
    following, what = end
    if at is None:
        return
    if path[-1] == 0 and at != 0:
        message = f"the first cue must be at 0, got {_label(notes, at)}: nothing is on air before."
        notes.fault((*path, "at"), message)
    if following is None:
        return
    if at >= following:
        where = (*path, "at")
        message = f"must come before {what} at {_label(notes, following)}, got {_label(notes, at)}."
        notes.fault(where, message)
    elif transition is not None and at + transition.length > following:
        message = (
            f"{transition.length} frames from {_label(notes, at)} run past {what} at "
            f"{_label(notes, following)}. {following - at} frames fit."
        )
        notes.fault((*path, "transition", "length"), message)


def _label(notes: Notes, frame: int) -> str:
    if notes.format is None:  # pragma: no cover - no time is known without a format
        return f"frame {frame}"
    return f"frame {frame} ({timecode(frame, notes.format.rate)})"


def _overlay(
    notes: Notes, document: Document, index: int, table: OverlayTable, length: int | None
) -> Overlay | None:
    path: Path = ("overlays", index)
    notes.spans(path, table)
    notes.name((*path, "source"), table.source, document.sources, "source")
    start = notes.time((*path, "in"), table.in_)
    stop = length if table.out is None else notes.time((*path, "out"), table.out)
    key = resolve_key(notes, (*path, "key"), table.key, document.keys, document.sources)
    moves = [
        resolve_transition(
            notes, (*path, name), move, document.transitions, document.sources, "overlay"
        )
        for name, move in (
            ("transition_in", table.transition_in),
            ("transition_out", table.transition_out),
        )
    ]
    span = _overlay_span(notes, path, start, stop, length)
    placement = table.placement or PlacementTable()
    keyframes = _keyframes(notes, (*path, "placement"), placement, table.opacity, span)
    enter, leave = moves
    if span is None or enter is None or leave is None:
        return None
    if enter.length + leave.length > span:
        message = (
            f"{enter.length} frames to come and {leave.length} to go do not fit into the "
            f"{span} frames on air."
        )
        notes.fault(path, message)
    return Overlay(
        index=index,
        source=table.source,
        start=start or 0,
        stop=(start or 0) + span,
        key=key,
        enter=enter,
        leave=leave,
        crop=placement.crop,
        flip=placement.flip,
        keyframes=keyframes,
        name=table.name,
        note=table.note,
    )


def _overlay_span(
    notes: Notes, path: Path, start: int | None, stop: int | None, length: int | None
) -> int | None:
    """Frames on air, or None if they cannot be told."""
    if start is None or stop is None or length is None:
        return None
    if stop > length:
        message = f"must not lie past the end of the sheet at {_label(notes, length)}."
        notes.fault((*path, "out"), message)
        return None
    if start >= stop:
        message = f"must come before its out at {_label(notes, stop)}, got {_label(notes, start)}."
        notes.fault((*path, "in"), message)
        return None
    return stop - start


def _keyframes(
    notes: Notes, path: Path, table: PlacementTable, opacity: float, span: int | None
) -> tuple[Keyframe, ...]:
    left, top, right, bottom = table.crop
    if max(table.crop) <= 100 <= max(left + right, top + bottom):
        notes.fault((*path, "crop"), "leaves nothing of the picture.")
    base = Pose(*table.position, table.scale, opacity)
    found: list[Keyframe] = []
    for index, frame in enumerate(table.keyframes):
        here = (*path, "keyframes", index)
        notes.spans(here, frame)
        at = notes.time((*here, "at"), frame.at)
        if at is None:
            continue
        if found and at <= found[-1].at:
            notes.fault((*here, "at"), "keyframes must be in order of time, each later.")
        if span is not None and at > span:
            notes.fault((*here, "at"), f"lies past the {span} frames on air.")
        before = found[-1].pose if found else base
        x, y = frame.position if frame.position is not None else (before.x, before.y)
        pose = Pose(
            x,
            y,
            frame.scale if frame.scale is not None else before.scale,
            frame.opacity if frame.opacity is not None else before.opacity,
        )
        found.append(Keyframe(at, pose, frame.curve))
    return tuple(found) or (Keyframe(0, base),)
