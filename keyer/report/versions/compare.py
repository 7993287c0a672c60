"""Two versions of a spot held against each other: in words, in frames, and where it shows most."""

from __future__ import annotations

import itertools
import math
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import Protocol

import numpy as np
from numpy.typing import NDArray

from keyer.documents.locate import read_path
from keyer.kinds import stopping
from keyer.measure.difference import Difference, picture_difference
from keyer.render.plan import Plan
from keyer.report.boards.board import frame_pixels
from keyer.report.versions.changes import Change, sheet_changes
from keyer.sheet.place_names import Place, places
from keyer.sheet.sheet import Sheet

MOST_LOOKS = 120
"""Pairs of pictures that are worked out at most; of more that may differ, every so-manieth."""

MOST_PAIRS = 12
"""Pairs that are shown."""

Pixels = NDArray[np.uint8]


class Side(Protocol):
    """Contract of a version that is compared: its sheet, signatures and pictures."""

    @property
    def sheet(self) -> Sheet:
        """The version's sheet."""

    def signature(self, frame: int) -> bytes:
        """Digest of a frame: equal ones, on both sides, are the same picture."""

    def pixels(self, frame: int) -> Pixels:
        """Work a frame out, (H, W, 3) uint8."""


class Planned:
    """A version whose sources are at hand."""

    def __init__(self, plan: Plan) -> None:
        self._plan = plan

    @property
    def sheet(self) -> Sheet:
        """The version's sheet."""
        return self._plan.sheet

    def signature(self, frame: int) -> bytes:
        """Digest of a frame."""
        return self._plan.frame(frame).signature

    def pixels(self, frame: int) -> Pixels:
        """Work a frame out."""
        return frame_pixels(self._plan, frame)


@dataclass(frozen=True)
class Run:
    """A run of frames that look different in the two versions.

    Attributes
    ----------
    first, last : int
        Of the new version.
    most : int
        Where it shows most.
    difference : Difference
        There.
    """

    first: int
    last: int
    most: int
    difference: Difference


@dataclass(frozen=True, eq=False)
class Pair:
    """One frame before and now.

    Attributes
    ----------
    frame : int
        Of the new version.
    before, now : (H, W, 3) uint8
    difference : Difference
    changes : tuple of Change
        That are on air there.
    """

    frame: int
    before: Pixels
    now: Pixels
    difference: Difference
    changes: tuple[Change, ...]


@dataclass(frozen=True, eq=False)
class Comparison:
    """Result of a comparison: changes in words, and runs of frames that look different.

    Attributes
    ----------
    old, new : Sheet
    called : str
        What the old version is called.
    changes : tuple of Change
    runs : tuple of Run
    pairs : tuple of Pair
        In order of time.
    step : int
        1: every frame that may differ was looked at; else every `step`-th.
    """

    old: Sheet
    new: Sheet
    called: str
    changes: tuple[Change, ...]
    runs: tuple[Run, ...]
    pairs: tuple[Pair, ...]
    step: int

    @property
    def differing(self) -> int:
        """How many frames look different."""
        return sum(run.last - run.first + 1 for run in self.runs)


def compare(old: Side, new: Side, called: str, files: Iterable[Change] = ()) -> Comparison:
    """Compare two versions of a sheet, in words and frame by frame.

    Pictures are worked out only where signatures differ.

    Parameters
    ----------
    old, new : Side
    called : str
        What the old version is called.
    files : iterable of Change
        What is known to have changed beside the sheet.

    Raises
    ------
    KeyerError
        If a picture cannot be worked out.
    """
    changes = (*sheet_changes(old.sheet, new.sheet), *files)
    match = _matcher(old.sheet, new.sheet)
    maybe = {frame: match(frame) for frame in range(new.sheet.length)}
    names = {
        frame: (old.signature(before), new.signature(frame))
        for frame, before in maybe.items()
        if before is not None
    }
    suspects = [frame for frame, (one, other) in names.items() if one != other]
    step = max(math.ceil(len({names[frame] for frame in suspects}) / MOST_LOOKS), 1)
    known: dict[tuple[bytes, bytes], Difference] = {}
    found: dict[int, Difference] = {}
    for frame in _looked_at(suspects, step, names):
        stopping.go_on()
        name, before = names[frame], maybe[frame]
        if name not in known and before is not None:
            known[name] = picture_difference(old.pixels(before), new.pixels(frame))
        found[frame] = known[name]
    runs = tuple(_runs(suspects, found, whole=step == 1))
    pairs = tuple(_pairs(old, new, changes, found, maybe))
    return Comparison(old.sheet, new.sheet, called, changes, runs, pairs, step)


def _matcher(old: Sheet, new: Sheet) -> Callable[[int], int | None]:
    """Make what finds what was on air at the time of a frame; None past the end."""
    ratio = old.format.rate / new.format.rate

    def match(frame: int) -> int | None:
        before = math.floor(frame * ratio)
        return before if before < old.length else None

    return match


def _looked_at(
    suspects: Sequence[int], step: int, names: Mapping[int, tuple[bytes, bytes]]
) -> Iterator[int]:
    """Yield the frames to be worked out: every so-manieth new pair, and all like one of those."""
    seen: dict[tuple[bytes, bytes], bool] = {}
    for frame in suspects:
        name = names[frame]
        if name not in seen:
            seen[name] = len(seen) % step == 0
        if seen[name]:
            yield frame


def _runs(
    suspects: Sequence[int], found: Mapping[int, Difference], *, whole: bool
) -> Iterator[Run]:
    """Gather frames that differ; where all were looked at, only those that were seen to."""
    frames = [frame for frame in suspects if not whole or found[frame].differs]
    for _, group in itertools.groupby(enumerate(frames), lambda one: one[1] - one[0]):
        run = [frame for _, frame in group]
        looks = [frame for frame in run if frame in found and found[frame].differs]
        if looks:
            most = max(looks, key=lambda frame: found[frame].mean)
            yield Run(run[0], run[-1], most, found[most])


def _pairs(
    old: Side,
    new: Side,
    changes: Sequence[Change],
    found: Mapping[int, Difference],
    matched: Mapping[int, int | None],
) -> Iterator[Pair]:
    """Choose the frames that show every change best, and give them with their pictures."""
    differing = {frame: one.mean for frame, one in found.items() if one.differs}
    if not differing:
        return
    spans = {change: _span(change, old.sheet, new.sheet) for change in changes}
    chosen = {max(differing, key=lambda frame: differing[frame])}
    for first, stop in spans.values():
        inside = [frame for frame in differing if first <= frame < stop]
        if inside:
            chosen.add(max(inside, key=lambda frame: differing[frame]))
    shown = sorted(chosen, key=lambda frame: -differing[frame])[:MOST_PAIRS]
    for frame in sorted(shown):
        before = matched[frame]
        if before is not None:
            here = tuple(c for c, (first, stop) in spans.items() if first <= frame < stop)
            yield Pair(frame, old.pixels(before), new.pixels(frame), found[frame], here)


def _span(change: Change, old: Sheet, new: Sheet) -> tuple[int, int]:
    """Frames on which what has changed is on air, before or now."""
    steps = read_path(change.path)
    spans = []
    for sheet in (old, new):
        for place in places(sheet):
            listed = isinstance(steps[1], int) and change.path.startswith(place.path)
            shown = steps[0] == "sources" and place.source == steps[1]
            if listed or shown:
                spans.append(_part(place, steps[2:3]))
    if spans:
        return min(first for first, _ in spans), max(stop for _, stop in spans)
    return (0, 0) if steps[0] == "sound" else (0, new.length)


def _part(place: Place, steps: Sequence[str | int]) -> tuple[int, int]:
    """Frames of a place: those in which it comes or goes, where only that has changed."""
    key = steps[0] if steps else ""
    if key in {"transition", "transition_in", "at", "in"}:
        return place.start, place.start + max(place.enter.length, 1)
    if key in {"transition_out", "out"} and place.leave is not None:
        return place.stop - max(place.leave.length, 1), place.stop
    return place.start, place.stop
