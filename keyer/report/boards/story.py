"""The frames that tell a spot: every cue, the middle and the end of every transition."""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator
from dataclasses import dataclass, replace

from keyer.library import Patterns
from keyer.render.lettering import passes, settled, title_steps
from keyer.render.levels import Level, levels
from keyer.render.patterns import sheet_patterns
from keyer.report.words import (
    Setting,
    cue_name,
    effect_name,
    effect_words,
    inner_name,
    key_words,
    overlay_name,
)
from keyer.sheet.effect import Transition
from keyer.sheet.sheet import Cue, Overlay, Sheet
from keyer.sheet.stack import Standing
from keyer.titles.steps import longest

MOST_PICTURES = 240
"""Pictures of a storyboard: twenty pages of A3 to leaf through."""


@dataclass(frozen=True)
class StoryFrame:
    """One picture of a storyboard: its frame and captions.

    Attributes
    ----------
    frame : int
        Of the sheet.
    heads : tuple of str
        What happens there; at least one.
    settings : tuple of Setting
        For the crew.
    until : int or None
        First frame on which what it shows is over; None for a change on its way.
    """

    frame: int
    heads: tuple[str, ...]
    settings: tuple[Setting, ...] = ()
    until: int | None = None


def story_frames(sheet: Sheet) -> list[StoryFrame]:
    """Choose the frames of a storyboard.

    Returns
    -------
    list of StoryFrame
        In order of time, each frame once: where cues start, half way through
        and just after transitions, and the last frame. Overlays are shown half
        way through their transitions and when they are fully there, titles half way
        through the steps of their build. The same of effects and other sheets, the
        first time that they are on air; without these where all are too many for a board.
    """
    own = [*_moments(sheet), *_of_fades(sheet), StoryFrame(sheet.length - 1, ("Last frame",))]
    story = _in_order(sheet, [*own, *_of_inner(sheet)])
    return story if len(story) <= MOST_PICTURES else _in_order(sheet, own)


def _moments(sheet: Sheet) -> Iterator[StoryFrame]:
    patterns = sheet_patterns(sheet)
    yield from _of_cues(sheet, patterns)
    yield from _of_overlays(sheet, patterns)


def _of_inner(sheet: Sheet) -> Iterator[StoryFrame]:
    """Show what happens in effects and other sheets, each moment once."""
    told: set[tuple[str, StoryFrame]] = set()
    for level in levels(sheet)[1:]:
        for one in _moments(level.sheet):
            first_cue = one.frame == 0 and one.heads[0].startswith("Cue 1:")
            if first_cue or (level.path, one) in told:
                continue  # how it comes on air is told of the row that shows it
            on_air = level.frames(one.frame, _last_of(level, one), whole=one.until is not None)
            if on_air:
                told.add((level.path, one))
                heads = tuple(f"{inner_name(level.path)}, {head}" for head in one.heads)
                yield replace(one, frame=on_air[0], heads=heads)


def _last_of(level: Level, one: StoryFrame) -> int:
    """Last of a level's frames that shows a moment: of a change the next that is due."""
    if one.until is not None:
        return one.until - 1
    return one.frame + math.ceil(level.sheet.format.rate / level.spot.format.rate) - 1


def _in_order(sheet: Sheet, found: Iterable[StoryFrame]) -> list[StoryFrame]:
    """Put moments in order of time, those of one frame together."""
    last = sheet.length - 1
    by_frame: dict[int, list[StoryFrame]] = {}
    for one in sorted(found, key=lambda one: one.frame):
        if 0 <= one.frame <= last:
            by_frame.setdefault(one.frame, []).append(one)
    return [_joined(frame, ones) for frame, ones in by_frame.items()]


def _joined(frame: int, ones: list[StoryFrame]) -> StoryFrame:
    heads = dict.fromkeys(head for one in ones for head in one.heads)
    if len(heads) > 1:
        heads.pop("Last frame", None)
    settings = dict.fromkeys(setting for one in ones for setting in one.settings)
    return StoryFrame(frame, tuple(heads), tuple(settings))


def middle(start: int, length: int) -> int:
    """Frame half way through a transition."""
    return start + length // 2


def _of_cues(sheet: Sheet, patterns: Patterns) -> Iterator[StoryFrame]:
    for cue in sheet.cues:
        name = cue_name(cue)
        yield StoryFrame(
            cue.at, (f"Cue {cue.index + 1}: {name}",), _first_lines(sheet, cue, patterns)
        )
        length = cue.transition.length
        if length > 1:
            yield StoryFrame(middle(cue.at, length), (f"{_comes(cue, patterns)}, half way",))
        if length:
            yield StoryFrame(cue.at + length, (_there(cue),), until=sheet.until(cue))
        yield from _of_steps(sheet, cue.source, name, (cue.at, sheet.until(cue)))
        if cue.standing is not None:
            yield from _of_moves(cue.standing, cue.at, sheet.until(cue), name)


def _of_fades(sheet: Sheet) -> Iterator[StoryFrame]:
    if sheet.fade_in is not None:
        yield StoryFrame(middle(0, sheet.fade_in.length), ("Everything comes up, half way",))
    if sheet.fade_out is not None:
        start = sheet.length - sheet.fade_out.length
        yield StoryFrame(middle(start, sheet.fade_out.length), ("Everything goes, half way",))


def _first_lines(sheet: Sheet, cue: Cue, patterns: Patterns) -> tuple[Setting, ...]:
    note = [Setting(cue.note)] if cue.note else []
    return (*effect_words(cue.transition, patterns, sheet.dials), *note)


def _comes(cue: Cue, patterns: Patterns) -> str:
    if not cue.source:
        return f"Fade {cue_name(cue)}"
    words = effect_name(cue.transition, patterns).partition(" ")[0]
    mixes = words in {"Additive", "Non-additive"}
    return f"{'Mix' if mixes else words} to {cue_name(cue)}"


def _there(cue: Cue) -> str:
    return f"{cue_name(cue)} in full" if cue.source else f"Faded {cue_name(cue)}"


def _of_overlays(sheet: Sheet, patterns: Patterns) -> Iterator[StoryFrame]:
    for overlay in sheet.overlays:
        name = overlay_name(overlay)
        head = f"{name} comes in, half way"
        yield from _change(sheet, overlay.enter, patterns, overlay.start, head)
        yield from _of_steps(sheet, overlay.source, name, (overlay.start, overlay.stop))
        there, gone = settled(sheet, overlay)
        if there < overlay.stop:
            said = _overlay_lines(sheet, overlay)
            head = f"{name} is in"
            if passes(sheet, overlay):
                there, head = (there + gone) // 2, f"{name} passes"
            yield StoryFrame(there, (head,), said, until=gone)
        yield from _of_moves(overlay.standing, overlay.start, overlay.stop, name)
        goes = overlay.stop - overlay.leave.length
        yield from _change(sheet, overlay.leave, patterns, goes, f"{name} goes out, half way")


def _of_moves(standing: Standing, start: int, stop: int, name: str) -> Iterator[StoryFrame]:
    """Show a move at its start, where it rests, and at its end."""
    frames = standing.keyframes
    for number, one in enumerate(frames if len(frames) > 1 else ()):
        at = start + one.at
        if at >= stop:
            continue
        rests = number + 1 < len(frames) and frames[number + 1].pose == one.pose
        rested = number > 0 and frames[number - 1].pose == one.pose
        head = f"{name} begins to move" if number == 0 else f"{name} arrives"
        head = f"{name} moves on" if rested else head
        yield StoryFrame(at, (f"{name} rests" if rests and number else head,))


def _of_steps(
    sheet: Sheet, source: str | None, name: str, span: tuple[int, int]
) -> Iterator[StoryFrame]:
    """Show a title half way through each step of its build and of its way out."""
    build, leave = title_steps(sheet, source)
    rate, (start, stop) = sheet.format.rate, span
    goes = stop - longest(leave, rate)
    for steps, begins, what in ((build, start, "comes in"), (leave, goes, "goes out")):
        for step in steps:
            first, done = step.span(rate)
            if done - first > 1 and start <= begins + first < stop:
                head = f"{name} {what}: {', '.join(step.parts)} ({step.kind})"
                yield StoryFrame(middle(begins + first, done - first), (head,))


def _change(
    sheet: Sheet, transition: Transition, patterns: Patterns, start: int, head: str
) -> Iterator[StoryFrame]:
    if transition.length > 1:
        settings = tuple(effect_words(transition, patterns, sheet.dials))
        yield StoryFrame(middle(start, transition.length), (head,), settings)


def _overlay_lines(sheet: Sheet, overlay: Overlay) -> tuple[Setting, ...]:
    key = [Setting(key_words(overlay.key, dials=sheet.dials))] if overlay.key else []
    note = [Setting(overlay.note)] if overlay.note else []
    return (*key, *note)
