"""Times that a sheet itself gives by name: `at = "Shot 2:30%"`, `out = "Presenter.out + 1s"`.

What is named must have a time of its own in the end. A point counts from the
beginning of the sheet, or of the effect that it stands in; of a keyframe, what
is named is held against the beginning of its shot or overlay.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from keyer.documents.locate import Path, show_path
from keyer.errors import SettingError, TimeError
from keyer.kinds.timing import count_rate, is_written, parse_time
from keyer.sheet.effect import Transition
from keyer.sheet.place_names import Place, called, placed

if TYPE_CHECKING:
    from keyer.sheet.effect_models import TransitionTable
    from keyer.sheet.fault_log import FaultLog
    from keyer.sheet.models import Document, EffectTable, PlacementTable

Value = str | float
_UNKNOWN = -1


@dataclass(frozen=True)
class _Time:
    """A time as it is written, where names are looked for, and what it counts from."""

    value: Value
    level: Path
    since: Path | None = None


class _Circle(Exception):  # noqa: N818
    """Raised for times by name that depend on each other in a circle."""


def named_times(document: Document, log: FaultLog) -> dict[Path, int]:
    """Work out the times that a sheet gives by name, noting every fault.

    Returns
    -------
    dict
        Frames by path, of those alone; a keyframe's counts from its shot or
        overlay. What cannot be worked out is noted and marked as bad.
    """
    times = dict(_times(document))
    named = [path for path, time in times.items() if _is_named(time.value)]
    if not named or log.format is None:
        return {}
    known = _Times(document, log, times)
    found = {}
    for path in named:
        if log.suspect(path):
            continue
        try:
            frame = known.frame(path)
            since = times[path].since
            frame = frame if since is None else frame - known.frame(since)
        except _Circle:
            log.fault(path, f"depends on itself: {known.circle}. Give one of them a time.")
        except (TimeError, SettingError) as error:
            log.fault(path, error.demand)
        else:
            if frame >= 0:
                found[path] = frame
                continue
            log.fault(
                path, f"lies {-frame} frames before the beginning, got {times[path].value!r:.60}."
            )
        log.bad.add(path)
    return found


def _is_named(value: Value) -> bool:
    return isinstance(value, str) and bool(value.strip()) and not is_written(value)


def _times(document: Document) -> Iterator[tuple[Path, _Time]]:
    """Yield the points in time of a sheet."""
    yield ("sheet", "length"), _Time(document.sheet.length, ())
    for name, effect in document.effects.items():
        if effect.length is not None:
            yield ("effects", name, "length"), _Time(effect.length, ("effects", name))
    for level, table in _levels(document):
        for i, cue in enumerate(table.cues):
            path: Path = (*level, "cues", i)
            yield (*path, "at"), _Time(cue.at, level)
            yield from _keyframes(cue.placement, level, path, "at")
        for i, overlay in enumerate(table.overlays):
            path = (*level, "overlays", i)
            yield (*path, "in"), _Time(overlay.in_, level)
            if overlay.out is not None:
                yield (*path, "out"), _Time(overlay.out, level)
            yield from _keyframes(overlay.placement, level, path, "in")
    points: list[tuple[Path, Value | None]] = [
        *((("sound", i, "at"), sound.at) for i, sound in enumerate(document.sound)),
        *((("sheet", "stills", i), still) for i, still in enumerate(document.sheet.stills)),
        *((("remarks", i, "at"), remark.at) for i, remark in enumerate(document.remarks)),
        *((("sources", name, "at"), source.at) for name, source in document.sources.items()),
    ]
    yield from ((path, _Time(value, ())) for path, value in points if value is not None)


def _keyframes(
    placement: PlacementTable | None, level: Path, path: Path, since: str
) -> Iterator[tuple[Path, _Time]]:
    for n, frame in enumerate(placement.keyframes if placement else ()):
        here = (*path, "placement", "keyframes", n, "at")
        yield here, _Time(frame.at, level, (*path, since))


def _levels(document: Document) -> Iterator[tuple[Path, Document | EffectTable]]:
    """Yield the sheet and its effects, each with its path."""
    yield (), document
    for name, effect in document.effects.items():
        yield ("effects", name), effect


class _Times:
    """Times worked out as they are asked for, each once.

    Parameters
    ----------
    document : Document
    log : FaultLog
        With the format.
    times : dict
        As `_times` yields them.
    """

    def __init__(self, document: Document, log: FaultLog, times: dict[Path, _Time]) -> None:
        if log.format is None:
            msg = "times are worked out at a rate"
            raise AssertionError(msg)
        self._document, self._times, self._rate = document, times, log.format.rate
        self._known: dict[Path, int] = {}
        self._asked: list[Path] = []
        self._places = {level: self._named(level, table) for level, table in _levels(document)}
        self.circle = ""

    def frame(self, path: Path) -> int:
        """Work out a point, counted from the beginning of its level."""
        if path in self._known:
            return self._known[path]
        if path in self._asked:
            way = [*self._asked[self._asked.index(path) :], path]
            self._asked.clear()
            self.circle = " > ".join(show_path(one) for one in way)
            raise _Circle
        time = self._times[path]
        if not _is_named(time.value):
            self._known[path] = parse_time(time.value, self._rate, str(path[-1]))
            return self._known[path]
        self._asked.append(path)
        text = " ".join(str(time.value).split())
        try:
            frame = placed(
                self._places[time.level], text, self._rate, str(path[-1]), self._settled(time.level)
            )
        finally:
            if path in self._asked:
                self._asked.remove(path)
        self._known[path] = frame
        return frame

    def _named(self, level: Path, table: Document | EffectTable) -> Sequence[Place]:
        """List the shots and overlays of a level, their times not known yet."""
        found = []
        for i, cue in enumerate(table.cues):
            after = table.cues[i + 1] if i + 1 < len(table.cues) else None
            found.append(Place(
                f"Shot {i + 1}", called(("Shot", "Cue"), i, cue.name or cue.source or "", cue.name),
                cue.source or "", _UNKNOWN, _UNKNOWN, self._move(cue.transition),
                self._move(after.transition) if after else None,
                show_path((*level, "cues", i)),
            ))  # fmt: skip
        for i, over in enumerate(table.overlays):
            found.append(Place(
                f"Overlay {i + 1}", called(("Overlay",), i, over.name or over.source, over.name),
                over.source, _UNKNOWN, _UNKNOWN, self._move(over.transition_in),
                self._move(over.transition_out), show_path((*level, "overlays", i)),
            ))  # fmt: skip
        return found

    def _settled(self, level: Path) -> Callable[[Place, str], Place]:
        def settle(place: Place, edge: str) -> Place:
            """Work out the beginning of a place, or its end."""
            number = self._places[level].index(place)
            table = self._document if not level else self._document.effects[str(level[1])]
            cues = len(table.cues)
            if number >= cues:
                path: Path = (*level, "overlays", number - cues)
                if edge == "in":
                    return replace(place, start=self.frame((*path, "in")))
                out = (*path, "out")
                stop = self.frame(out) if out in self._times else self._end(level)
                return replace(place, stop=stop)
            if edge == "in":
                return replace(place, start=self.frame((*level, "cues", number, "at")))
            if number + 1 == cues:
                return replace(place, stop=self._end(level))
            after = self.frame((*level, "cues", number + 1, "at"))
            return replace(place, stop=after + (place.leave.length if place.leave else 0))

        return settle

    def _end(self, level: Path) -> int:
        """Length of a level; an effect that says none is as long as the sheet."""
        own = (*level, "length")
        return self.frame(own if own in self._times else ("sheet", "length"))

    def _move(self, table: TransitionTable | None) -> Transition:
        """Make a transition that has its length, and no more."""
        if table is None:
            return Transition()
        house = self._document.transitions.get(table.use) if table.use is not None else None
        kind = table.kind or (house.kind if house else None)
        if kind in (None, "cut"):
            return Transition()
        length = table.length if table.length is not None else house.length if house else None
        if length is None:
            return Transition("mix", count_rate(self._rate))
        try:
            return Transition("mix", parse_time(length, self._rate, "length"))
        except TimeError:
            return Transition()  # which is told where the transition is resolved
