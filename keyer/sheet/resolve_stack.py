"""From the models of cues and overlays to those that the renderer takes: a sheet's and effects'."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace

from keyer.documents.locate import Path
from keyer.kinds.settings import BoxLook
from keyer.kinds.timing import timecode
from keyer.sheet.effect import CUT, Keyframe, Pose, Transition
from keyer.sheet.fault_log import FaultLog
from keyer.sheet.layers import deepest, way_back
from keyer.sheet.models import CueTable, Document, EffectTable, OverlayTable, PlacementTable
from keyer.sheet.resolve_effect import Role, resolve_key, resolve_transition
from keyer.sheet.sheet import Cue, NamedEffect, Overlay
from keyer.sheet.stack import Standing

DEEPEST = 16
"""Effects within each other. Each takes the planes of a few bands, some 4 MB a thread."""


def resolve_stack(
    log: FaultLog, document: Document, base: Path, table: Document | EffectTable, length: int | None
) -> tuple[tuple[Cue, ...], tuple[Overlay, ...]]:
    """Resolve cues and overlays, noting every fault.

    Parameters
    ----------
    log : FaultLog
    document : Document
        With all names.
    base : Path
        Where they stand: empty for the sheet's own.
    table : Document or EffectTable
    length : int or None
        In frames.
    """
    cues = _cues(log, document, base, table.cues, length)
    overlays = [
        _overlay(log, document, base, index, overlay, length)
        for index, overlay in enumerate(table.overlays)
    ]
    return tuple(cues), tuple(overlay for overlay in overlays if overlay)


def resolve_effects(
    log: FaultLog, document: Document, length: int | None
) -> dict[str, NamedEffect]:
    """Resolve a sheet's effects, and refuse one that is within itself.

    Parameters
    ----------
    log : FaultLog
    document : Document
    length : int or None
        Of the sheet, which is that of an effect that says none.
    """
    found = {}
    for name, table in document.effects.items():
        path: Path = ("effects", name)
        runs = length
        if table.length is not None:
            runs = log.time((*path, "length"), table.length)
            if runs == 0:
                log.fault((*path, "length"), "must be at least one frame.")
                runs = None
        cues, overlays = resolve_stack(log, document, path, table, runs)
        found[name] = NamedEffect(runs or 0, cues, overlays, table.note)
    for name, source in document.sources.items():
        if source.effect is not None:
            log.name(("sources", name, "effect"), source.effect, document.effects, "effect")
    _refuse_loops(log, document, found)
    return found


def _refuse_loops(log: FaultLog, document: Document, effects: Mapping[str, NamedEffect]) -> None:
    """Note every effect that contains itself, with the way back to it, and what lies too deep."""
    within = {
        name: {
            inner
            for source in _named(effect)
            if source in document.sources
            and (inner := document.sources[source].effect) is not None
            and inner in effects
        }
        for name, effect in effects.items()
    }
    loops = [way for name in effects if (way := way_back(name, within))]
    for way in loops:
        log.fault(("effects", way[0]), f"is within itself: {' > '.join(way)}.")
    if loops:
        return
    for way in deepest(within).values():
        if len(way) == DEEPEST + 1:
            message = f"lies within more than {DEEPEST} others: {' > '.join(way)}."
            log.fault(("effects", way[-1]), message)


def _named(effect: NamedEffect) -> set[str]:
    """Names of the sources that an effect shows."""
    names = {cue.source for cue in effect.cues} | {one.source for one in effect.overlays}
    moves = [cue.transition for cue in effect.cues]
    for overlay in effect.overlays:
        names |= set(overlay.key.sources if overlay.key else ())
        moves += [overlay.enter, overlay.leave]
    names |= {move.border_source for move in moves}
    return {name for name in names if name is not None}


def _role(index: int, cue: CueTable) -> Role:
    if index == 0:
        return "first cue"
    return "cue" if cue.source is not None else "cue without source"


def _cues(
    log: FaultLog, document: Document, base: Path, tables: Sequence[CueTable], length: int | None
) -> list[Cue]:
    if not tables and not log.suspect((*base, "cues")):
        log.fault((*base, "cues"), "needs at least one cue.")
    starts = [log.time((*base, "cues", i, "at"), cue.at) for i, cue in enumerate(tables)]
    cues = []
    for index, cue in enumerate(tables):
        path: Path = (*base, "cues", index)
        role = _role(index, cue)
        if cue.source is not None:
            log.name((*path, "source"), cue.source, document.sources, "source")
        elif index == 0 and not log.suspect((*path, "source")):
            log.fault(path, "the first cue needs a source.")
        transition = resolve_transition(
            log,
            (*path, "transition"),
            cue.transition,
            document.transitions,
            document.sources,
            role,
        )
        following = [*starts[index + 1 : index + 2], length][0]
        last = index + 1 == len(tables)
        whole = "effect" if base else "sheet"
        end = (following, f"the end of the {whole}" if last else "the next cue")
        _check_cue(log, path, starts[index], transition, end)
        standing = None
        if cue.placement is not None:
            standing = _standing(log, (*path, "placement"), cue.placement, 1.0, None)
            if cue.source is None:
                log.fault((*path, "placement"), "belongs to a cue that has a source.")
        cues.append(
            Cue(
                index,
                cue.source,
                starts[index] or 0,
                transition or CUT,
                cue.name,
                cue.note,
                standing,
            )
        )
    return cues


def _check_cue(
    log: FaultLog,
    path: Path,
    at: int | None,
    transition: Transition | None,
    end: tuple[int | None, str],
) -> None:
    following, what = end
    if at is None:
        return
    if path[-1] == 0 and at != 0:
        message = f"the first cue must be at 0, got {_label(log, at)}: nothing is on air before."
        log.fault((*path, "at"), message)
    if following is None:
        return
    if at >= following:
        where = (*path, "at")
        message = f"must come before {what} at {_label(log, following)}, got {_label(log, at)}."
        log.fault(where, message)
    elif transition is not None and at + transition.length > following:
        message = (
            f"{transition.length} frames from {_label(log, at)} run past {what} at "
            f"{_label(log, following)}. {following - at} frames fit."
        )
        log.fault((*path, "transition", "length"), message)


def _label(log: FaultLog, frame: int) -> str:
    if log.format is None:  # pragma: no cover - no time is known without a format
        return f"frame {frame}"
    return f"frame {frame} ({timecode(frame, log.format.rate)})"


def _overlay(
    log: FaultLog,
    document: Document,
    base: Path,
    index: int,
    table: OverlayTable,
    length: int | None,
) -> Overlay | None:
    path: Path = (*base, "overlays", index)
    log.spans(path, table)
    log.name((*path, "source"), table.source, document.sources, "source")
    start = log.time((*path, "in"), table.in_)
    stop = length if table.out is None else log.time((*path, "out"), table.out)
    key = resolve_key(log, (*path, "key"), table.key, document.keys, document.sources)
    moves = [
        resolve_transition(
            log, (*path, name), move, document.transitions, document.sources, "overlay"
        )
        for name, move in (
            ("transition_in", table.transition_in),
            ("transition_out", table.transition_out),
        )
    ]
    span = _overlay_span(log, path, start, stop, length)
    placement = table.placement or PlacementTable()
    standing = _standing(log, (*path, "placement"), placement, table.opacity, span)
    enter, leave = moves
    if span is None or enter is None or leave is None:
        return None
    if enter.length + leave.length > span:
        message = (
            f"{enter.length} frames to come and {leave.length} to go do not fit into the "
            f"{span} frames on air."
        )
        log.fault(path, message)
    return Overlay(
        index=index,
        source=table.source,
        start=start or 0,
        stop=(start or 0) + span,
        key=key,
        enter=enter,
        leave=leave,
        crop=standing.crop,
        flip=standing.flip,
        look=standing.look,
        keyframes=standing.keyframes,
        name=table.name,
        note=table.note,
    )


def _overlay_span(
    log: FaultLog, path: Path, start: int | None, stop: int | None, length: int | None
) -> int | None:
    """Frames on air, or None if they cannot be told."""
    if start is None or stop is None or length is None:
        return None
    if stop > length:
        whole = "sheet" if path[0] == "overlays" else "effect"
        message = f"must not lie past the end of the {whole} at {_label(log, length)}."
        log.fault((*path, "out"), message)
        return None
    if start >= stop:
        message = f"must come before its out at {_label(log, stop)}, got {_label(log, start)}."
        log.fault((*path, "in"), message)
        return None
    return stop - start


LOOKS = ("border", "border_soft", "corners", "shadow", "shadow_soft", "shadow_offset")
"""Keys of a placement that are settings of `BoxLook`."""


def _standing(
    log: FaultLog, path: Path, table: PlacementTable, opacity: float, span: int | None
) -> Standing:
    keyframes = _keyframes(log, path, table, opacity, span)
    return Standing(table.crop, table.flip, _look(log, path, table), keyframes)


def _look(log: FaultLog, path: Path, table: PlacementTable) -> BoxLook:
    """Read border, corners and shadow; what does not hold stays at its default."""
    look = BoxLook(border_colour=log.colour((*path, "border_colour"), table.border_colour))
    for key in LOOKS:
        changed = {key: getattr(table, key)}
        look = log.tried((*path, key), look, replace, look, **changed)
    return look


def _keyframes(
    log: FaultLog, path: Path, table: PlacementTable, opacity: float, span: int | None
) -> tuple[Keyframe, ...]:
    left, top, right, bottom = table.crop
    if max(table.crop) <= 100 <= max(left + right, top + bottom):
        log.fault((*path, "crop"), "leaves nothing of the picture.")
    base = Pose(*table.position, table.scale, opacity, table.turn)
    found: list[Keyframe] = []
    for index, frame in enumerate(table.keyframes):
        here = (*path, "keyframes", index)
        log.spans(here, frame)
        at = log.time((*here, "at"), frame.at)
        if at is None:
            continue
        if found and at <= found[-1].at:
            log.fault((*here, "at"), "keyframes must be in order of time, each later.")
        if span is not None and at > span:
            log.fault((*here, "at"), f"lies past the {span} frames on air.")
        before = found[-1].pose if found else base
        x, y = frame.position if frame.position is not None else (before.x, before.y)
        pose = Pose(
            x,
            y,
            frame.scale if frame.scale is not None else before.scale,
            frame.opacity if frame.opacity is not None else before.opacity,
            frame.turn if frame.turn is not None else before.turn,
        )
        found.append(Keyframe(at, pose, frame.curve))
    return tuple(found) or (Keyframe(0, base),)
