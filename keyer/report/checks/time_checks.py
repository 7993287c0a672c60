"""Checks of timing: length, sources that run out, black, stray single frames."""

from __future__ import annotations

from collections import deque
from dataclasses import dataclass
from fractions import Fraction

import numpy as np
from numpy.typing import NDArray

from keyer.kinds.timing import count_rate, rate_name, timecode
from keyer.kinds.verdicts import Judgement
from keyer.measure.cells import light_of, luminance
from keyer.render.endings import Ending
from keyer.render.levels import Level, levels
from keyer.render.patterns import sheet_patterns
from keyer.render.plan import Plan
from keyer.report.checks.findings import Finding, Limit, Look, Series
from keyer.report.checks.runs import Runs
from keyer.report.checks.view import View
from keyer.report.words import faded_colour
from keyer.sheet.sheet import Cue, Sheet
from keyer.sheet.source import Clear, PlainColour
from keyer.sheet.station import Station

SPOTS = (10, 15, 20, 30, 60)
"""Usual lengths of a commercial in seconds; common practice, from memory."""

BLACK = float(light_of(np.array(0.05)))
"""Relative luminance under which all cells of a black frame lie: 5 % of the signal; ours."""

GAP_SECONDS = Fraction(1, 2)
"""Black up to this long within the spot is a gap, longer black may be meant; ours."""

CHANGED = 0.04
"""Mean change of the cells' signal that makes another picture; ours, from trials."""

_LENGTH = Limit(
    f"{', '.join(map(str, SPOTS))} s by timecode, to the frame", "common practice (from memory)"
)
_BLACK = Limit("no black but in a fade, as a colour that the sheet asks for, or at the end", "ours")
_STRAY = Limit("no picture for a single frame", "common practice (from memory)")
_LAST = Limit("the last frame is past every transition", "common practice (from memory)")
_ENDS = Limit("a clip lasts as long as it is on air", "common practice (from memory)")


def check_length(sheet: Sheet) -> Finding:
    """Compare the sheet's length with the usual lengths of spots.

    Returns
    -------
    Finding
        The verdict is `watch` within half a second of a usual length; fails where the
        station's rules name none that it has. Timecode counts 30 frames a
        second at 29.97.
    """
    if sheet.station is not None and sheet.station.lengths:
        return _station_length(sheet, sheet.station)
    count = count_rate(sheet.format.rate)
    nearest = min(SPOTS, key=lambda seconds: abs(sheet.length - seconds * count))
    off = sheet.length - nearest * count
    runs = Runs(sheet, "timing.length", "frames", _LENGTH)
    verdict: Judgement = "watch" if 0 < abs(off) <= count / 2 else "holds"
    how = "too long" if off > 0 else "too short"
    remedy = (
        f"{sheet.length} frames are {abs(off)} {how} for {nearest} s at "
        f"{rate_name(sheet.format.rate)} frames a second ({nearest * count})."
    )
    runs.add(
        Look(
            sheet.length - 1,
            verdict,
            float(sheet.length),
            remedy=remedy if verdict != "holds" else "",
            first=0,
        )
    )
    return runs.findings()[0]


def _station_length(sheet: Sheet, station: Station) -> Finding:
    """Hold the length against those of the station, to the frame."""
    rate = sheet.format.rate
    said = ", ".join(timecode(length, rate, drop=False) for length in station.lengths)
    limit = Limit(f"{said}, to the frame", station.source)
    runs = Runs(sheet, "timing.length", "frames", limit)
    near = min(station.lengths, key=lambda length: abs(sheet.length - length))
    off, remedy = sheet.length - near, ""
    if off:
        remedy = (
            f"{sheet.length} frames are {abs(off)} too {'long' if off > 0 else 'short'} for "
            f"{timecode(near, rate, drop=False)} ({near} frames), the nearest length "
            "that the station takes."
        )
    runs.add(
        Look(sheet.length - 1, "fails" if off else "holds", float(sheet.length), remedy=remedy,
             first=0)
    )  # fmt: skip
    return runs.findings()[0]


def _in_transition(sheet: Sheet, ending: Ending) -> bool:
    """Whether a clip is still needed for a transition when it has ended."""
    spans = [(cue.at, cue.at + cue.transition.length) for cue in sheet.cues]
    if ending.path.startswith("overlays"):
        overlay = next(o for o in sheet.overlays if f"overlays[{o.index}]" == ending.path)
        spans = [
            (overlay.start, overlay.start + overlay.enter.length),
            (overlay.stop - overlay.leave.length, overlay.stop),
        ]
    return any(start < ending.gone and ending.frame < stop for start, stop in spans)


def check_endings(sheet: Sheet, plan: Plan) -> list[Finding]:
    """Find sources that run out, and transitions longer than their source.

    Parameters
    ----------
    sheet : Sheet
    plan : Plan
        Of the sheet.

    Returns
    -------
    list of Finding
        Each fails, unless the source has `freeze = true`.
    """
    found = []
    every = [(level, ending) for level in levels(sheet) for ending in level.plan(plan).endings]
    for level, ending in every:
        short = level.frames(ending.frame, ending.gone - 1)
        if not short:
            continue
        subject = f"{level.path}{ending.path} {ending.source}"
        runs = Runs(sheet, "timing.source_end", "frames short", _ENDS, subject=subject)
        what = "ends while it is on air; its last picture stays."
        if _in_transition(level.sheet, ending):
            what = "is over before its transition is."
        remedy = f"{ending.source} {what} Set loop or freeze, start it earlier, or cut earlier."
        runs.add(Look(short[-1], "fails", float(len(short)), remedy=remedy, first=short[0]))
        found += runs.findings()
    return found


def check_last_frame(sheet: Sheet) -> list[Finding]:
    """Find transitions that end with the sheet, and so are not quite over on its last frame.

    Returns
    -------
    list of Finding
        The verdict is `watch`: on the last of its n frames a transition is n / (n + 1) done.
    """
    last, found = sheet.length - 1, []
    cue = sheet.base_at(last).cue
    ends = [(f"cues[{cue.index}]", cue.name or cue.source or "colour", cue.transition, cue.at)]
    ends += [
        (f"overlays[{o.index}]", o.name or o.source, o.leave, o.stop - o.leave.length)
        for o in sheet.overlays
        if o.stop == sheet.length
    ]
    for path, name, transition, began in ends:
        if not transition.length or began + transition.length <= last:
            continue
        share = 100 * transition.progress(last - began)
        remedy = (
            f"Its {transition.length} frames end with the sheet, so the last frame is {share:.1f} %"
            " there: the outgoing picture still shows. Begin it a frame earlier."
        )
        runs = Runs(sheet, "timing.last_frame", "% there", _LAST, subject=f"{path} {name}")
        runs.add(Look(last, "watch", round(share, 1), remedy=remedy))
        found += runs.findings()
    return found


def wanted_black(sheet: Sheet, frame: int) -> bool:
    """Whether the sheet itself asks for black on a frame: by a fade, or by a colour on the base."""
    if sheet.gone(frame)[1] > 0:
        return True
    base = sheet.base_at(frame)
    fading = base.progress is not None and bool(
        faded_colour(base.cue.transition, sheet_patterns(sheet))
    )
    return fading or any(_black(sheet, cue) for cue in (base.cue, base.before) if cue)


def _black(sheet: Sheet, cue: Cue) -> bool:
    """Whether a cue shows no picture but black, or the colour of its fade."""
    if cue.source is None:
        return True
    content = sheet.sources[cue.source].content
    if isinstance(content, PlainColour):
        light = light_of(np.array(content.rgb, np.float32)).astype(np.float32)
        return luminance(light[:, np.newaxis, np.newaxis]).item() < BLACK
    return isinstance(content, Clear)


def _of_base(level: Level) -> bool:
    """Whether a level is the base of the spot, or shown in its place."""
    return level.outer is None or (isinstance(level.row, Cue) and _of_base(level.outer))


class BlackCheck:
    """Black frames that no fade, no colour of the sheet and not its end accounts for."""

    def __init__(self, sheet: Sheet) -> None:
        self._sheet = sheet
        self._bases = [level for level in levels(sheet) if _of_base(level)]
        self._runs: list[tuple[int, int]] = []
        self._lights: list[float] = []

    def look(self, view: View) -> None:
        """Look at the next frame."""
        light = luminance(view.coarse)
        self._lights.append(round(100 * float(light.mean()), 3))
        if light.max() >= BLACK or any(
            wanted_black(base.sheet, base.own(view.index))
            for base in self._bases
            if base.due[view.index] >= 0
        ):
            return
        if self._runs and self._runs[-1][1] == view.index - 1:
            self._runs[-1] = (self._runs[-1][0], view.index)
        else:
            self._runs.append((view.index, view.index))

    def findings(self) -> list[Finding]:
        """Give every stretch of black but the one that ends the spot; long ones may be meant."""
        runs = Runs(self._sheet, "timing.black", "frames", _BLACK, gap=0)
        short = self._sheet.format.rate * GAP_SECONDS
        end = self._sheet.length - 1
        head = self._sheet.station is None or self._sheet.station.head is None
        gaps = [(a, b) for a, b in self._runs if (b < end or a == 0) and (head or a > 0)]
        if not gaps:
            runs.add(Look(end, "holds", 0.0, first=0))
        for first, last in gaps:
            count = last - first + 1
            verdict: Judgement = "fails" if count <= short else "watch"
            remedy = f"{count} black frames: close the gap, or fade to black if it is meant."
            runs.add(Look(last, verdict, float(count), remedy=remedy, first=first))
        return runs.findings()

    def series(self) -> list[Series]:
        """Return the mean relative luminance of every frame."""
        frames = tuple(range(len(self._lights)))
        return [Series("light.mean", "% of white", frames, tuple(self._lights))]


@dataclass(frozen=True, eq=False)
class _Shot:
    """A frame's cells, as signal, and how far they are from those of the frame before."""

    index: int
    cells: NDArray[np.float32]
    change: float


def _changing(sheet: Sheet, frame: int) -> bool:
    """Whether a transition is going on."""
    if sheet.base_at(frame).progress is not None:
        return True
    seen = (overlay for overlay in sheet.overlays if overlay.seen(frame))
    return any(overlay.presence(frame) is not None for overlay in seen)


class StrayCheck:
    """Pictures that are there for a single frame.

    A frame is stray if it differs from both its neighbours, three times as much
    as those from the frames beyond them; frames in a transition are not.
    """

    def __init__(self, sheet: Sheet) -> None:
        self._sheet = sheet
        self._levels = levels(sheet)
        self._shots: deque[_Shot] = deque(maxlen=5)
        self._runs = Runs(sheet, "timing.stray_frame", "% of white", _STRAY, gap=0)

    def look(self, view: View) -> None:
        """Take the next frame; judges the one two frames before."""
        if view.same and self._shots:
            shot = _Shot(view.index, self._shots[-1].cells, 0.0)
        else:
            # a square root is near enough to the curve of the signal
            cells = np.sqrt(view.coarse)
            before = self._shots[-1].cells if self._shots else cells
            shot = _Shot(view.index, cells, float(np.abs(cells - before).mean()))
        self._shots.append(shot)
        if view.index >= 2:
            self._judge(view.index - 2)
        if view.index == self._sheet.length - 1:
            for index in range(max(view.index - 1, 0), self._sheet.length):
                self._judge(index)

    def _shot(self, index: int) -> _Shot | None:
        return next((shot for shot in self._shots if shot.index == index), None)

    def _judge(self, index: int) -> None:
        here, after, later = (self._shot(index + step) for step in range(3))
        before = self._shot(index - 1)
        if here is None:
            return
        steps = [here.change] if before else []
        steps += [after.change] if after else []
        strange = bool(steps) and min(steps) > CHANGED and (before or after)
        beside = [shot.change for shot in (before, later) if shot is not None]
        quiet = all(change < min(steps) / 3 for change in beside) if strange else False
        if not quiet or self._moving(index):
            self._runs.add(Look(index, "holds", 0.0))
            return
        value = 100 * max(steps)
        returns = before is not None and after is not None and _near(before, after)
        remedy = (
            "One frame that is neither the picture before nor the one after: trim the source "
            "or move the cut by a frame."
        )
        if returns:
            remedy = "One frame of another picture: take it out, unless a light flashed."
        verdict: Judgement = "watch" if returns else "fails"
        self._runs.add(Look(index, verdict, round(value, 1), remedy=remedy))

    def _moving(self, index: int) -> bool:
        """Whether a transition is going on about a frame."""
        frames = range(max(index - 1, 0), min(index + 2, self._sheet.length))
        return any(
            _changing(level.sheet, level.own(frame))
            for frame in frames
            for level in self._levels
            if level.due[frame] >= 0
        )

    def findings(self) -> list[Finding]:
        """Give every stray frame."""
        return self._runs.findings()

    def series(self) -> list[Series]:
        """Return no series: this check measures nothing over time."""
        return []


def _near(first: _Shot, second: _Shot) -> bool:
    return float(np.abs(first.cells - second.cells).mean()) < CHANGED
