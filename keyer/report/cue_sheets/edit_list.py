"""The base of a spot as an edit list after SMPTE 258M: cuts, dissolves and wipes by their codes.

The form is that of SMPTE 258M-1993 as it is handed down (from memory; its wipe codes are those
of the W3C's table): lines of ASCII, one statement each, numbered events, reels of eight
letters and figures at most, one pair of lines for a transition. What it has no statement for
here - overlays, sound, colours, settings of an edge - is told in notes.
"""

from __future__ import annotations

import re
import textwrap
import unicodedata
from collections.abc import Iterator
from dataclasses import dataclass
from fractions import Fraction

from keyer.errors import SettingError
from keyer.kinds.settings import Rgb
from keyer.kinds.timing import rate_name, timecode
from keyer.render.patterns import sheet_patterns
from keyer.render.plan import Plan
from keyer.report.cue_sheets.cues import CueSheet, source_words
from keyer.report.words import colour_words, cue_name, found_pattern, overlay_name, wipe_settings
from keyer.sheet.effect import Transition
from keyer.sheet.sheet import Cue, Sheet
from keyer.sheet.source import Clear, PlainColour

BLACK, OTHER = "BL", "AX"
"""Reels that are no source: black, and whatever comes from elsewhere."""

FASTEST = 30
"""Frames a second that its timecode counts at most."""

LONGEST = 999
"""Frames of a transition: three figures."""

_TITLE, _LINE = 70, 80


@dataclass(frozen=True)
class _Take:
    """One statement: what is recorded from where to where."""

    reel: str
    first: int
    frames: int
    record: int
    taken: int
    speed: Fraction = Fraction(1)


def edit_list(cues: CueSheet, plan: Plan) -> str:
    """Write the cues of a sheet as an edit list.

    Parameters
    ----------
    cues : CueSheet
    plan : Plan
        Of the same sheet; says which frames of a file are used.

    Returns
    -------
    str
        Lines of ASCII that end in CR LF. Source times count from the first
        frame of each file.

    Raises
    ------
    SettingError
        If the sheet has more than 30 frames a second, or a transition of more
        than 999 frames.
    """
    sheet = cues.sheet
    if sheet.format.rate > FASTEST:
        demand = (
            f"counts at most {FASTEST} frames a second, got {rate_name(sheet.format.rate)}. "
            "'keyer convert' makes a sheet of half the rate."
        )
        raise SettingError(demand, "an edit list")
    writer = _Writer(sheet, plan)
    mode = "DROP FRAME" if sheet.drop else "NON-DROP FRAME"
    title = _plain(sheet.title or sheet.name)[:_TITLE]
    lines = [f"TITLE: {title}", f"FCM: {mode}", *writer.events(), *writer.told(cues)]
    return "".join(f"{line}\r\n" for line in lines)


class _Writer:
    """Statements in order of time, with the reels that they name."""

    def __init__(self, sheet: Sheet, plan: Plan) -> None:
        self._sheet, self._plan = sheet, plan
        self._patterns = sheet_patterns(sheet)
        self._reels = _reels(sheet)
        self._colours: dict[str, None] = {}
        self._number = 0

    def events(self) -> Iterator[str]:
        """Give the statements of every cue, and of what fades as a whole."""
        sheet, out = self._sheet, self._sheet.fade_out
        end = sheet.length
        last = sheet.cues[-1]
        if out is not None and last.at + last.transition.length <= end - out.length:
            end -= out.length
        for cue in sheet.cues:
            stop = min(sheet.until(cue), end)
            yield from self._cue(cue, stop)
        if out is not None and end < sheet.length:
            black = self._colour(out.colour, sheet.length - end, end)
            before = self._of_cue(last, end, 0)
            yield from self._event(before, black, "D", out.length)
        elif out is not None:
            yield from _note(f"FADES OUT AS A WHOLE OVER {out.length} FRAMES")

    def _cue(self, cue: Cue, stop: int) -> Iterator[str]:
        """Give the statements of one cue up to a frame."""
        move, at = cue.transition, cue.at
        taken = self._of_cue(cue, at, stop - at)
        before = self._sheet.cues[cue.index - 1] if cue.index else None
        whole = self._sheet.fade_in if cue.index == 0 else None
        name = cue_name(cue)
        if whole is not None and not move.length:
            black = self._colour(whole.colour, 0, at)
            yield from self._event(black, taken, "D", whole.length, name)
        elif not move.length:
            yield from self._event(None, taken, "C", 0, name)
        elif before is None:
            yield from self._event(self._colour(move.colour, 0, at), taken, "D", move.length, name)
        elif move.kind == "fade" and cue.source is not None:
            yield from self._through(before, cue, stop)
        else:
            came = self._of_cue(before, at, 0)
            yield from self._event(came, taken, self._code(move), move.length, name)
            yield from self._said(move)
        if whole is not None and move.length:
            yield from _note(f"COMES UP AS A WHOLE OVER {whole.length} FRAMES")

    def _through(self, before: Cue, cue: Cue, stop: int) -> Iterator[str]:
        """Give a fade through a colour: into it in the first half, out of it in the second."""
        move, at = cue.transition, cue.at
        half = move.length // 2
        middle = at + half
        black = self._colour(move.colour, half, at)
        if half:
            yield from self._event(self._of_cue(before, at, 0), black, "D", half)
        taken = self._of_cue(cue, middle, stop - middle)
        colour = self._colour(move.colour, 0, middle)
        yield from self._event(colour, taken, "D", move.length - half, cue_name(cue))

    def _code(self, move: Transition) -> str:
        """Code of a transition: `W` and three figures for a wipe that has one."""
        pattern = found_pattern(move, self._patterns)
        if pattern is None or pattern.code is None or pattern.effect == "mix":
            return "D"
        return f"W{pattern.code:03d}"

    def _said(self, move: Transition) -> Iterator[str]:
        """Say what the code does not."""
        pattern = found_pattern(move, self._patterns)
        if move.kind == "wipe" and self._code(move) == "D":
            name = pattern.name if pattern else str(move.pattern)
            yield from _note(f"NO DISSOLVE BUT {name}, WHICH HAS NO CODE OF ITS OWN")
        elif move.kind in {"additive", "non-additive"}:
            yield from _note(f"{move.kind} MIX")
        settings = [one.text for one in wipe_settings(move, self._patterns, self._sheet.dials)]
        if settings:
            yield from _note(", ".join(settings))

    def _of_cue(self, cue: Cue, frame: int, frames: int) -> _Take:
        """Take so many frames of what a cue shows from a frame of the sheet on."""
        if cue.source is None:
            return self._colour(cue.transition.colour, frames, frame)
        reel = self._reels[cue.source]
        found = self._plan.seconds(cue.source, frame, cue.at)
        rate = self._sheet.format.rate
        first = 0 if found is None else round(found * rate)
        speed = Fraction(1) if found is None else self._sheet.sources[cue.source].speed
        return _Take(reel, first, round(frames * speed), frame, frames, speed)

    def _colour(self, rgb: Rgb, frames: int, frame: int) -> _Take:
        reel = OTHER if any(rgb) else BLACK
        if reel == OTHER:
            self._colours[colour_words(rgb)] = None
        return _Take(reel, 0, frames, frame, frames)

    def _event(
        self, before: _Take | None, taken: _Take, edit: str, length: int, name: str = ""
    ) -> Iterator[str]:
        """Give one event: a line for a cut, two for a transition."""
        if taken.taken <= 0:
            return
        if length > LONGEST:
            demand = f"counts at most {LONGEST} frames of a transition, got {length}. Shorten it."
            raise SettingError(demand, "an edit list")
        self._number += 1
        if before is not None:
            yield self._line(before, "C", 0)
        yield self._line(taken, edit, length)
        if taken.speed != 1:
            speed = self._sheet.format.rate * taken.speed
            start = timecode(taken.first, self._sheet.format.rate, drop=self._sheet.drop)
            yield f"M2   {taken.reel:<8}       {float(speed):05.1f}                {start}"
        if name and name not in self._sheet.sources:
            yield from _note(name)

    def _line(self, take: _Take, edit: str, length: int) -> str:
        rate, sheet = self._sheet.format.rate, self._sheet
        source = [
            timecode(frame, rate, drop=sheet.drop)
            for frame in (take.first, take.first + take.frames)
        ]
        record = [sheet.label(frame) for frame in (take.record, take.record + take.taken)]
        long = f"{length:03d}" if length else "   "
        head = f"{self._number:03d}  {take.reel:<8} V     {edit:<4} {long} "
        return head + " ".join(source + record)

    def told(self, cues: CueSheet) -> Iterator[str]:
        """Say what the reels are, and what lies over the base or is heard."""
        sheet = self._sheet
        for name, reel in self._reels.items():
            source = sheet.sources[name]
            yield from _note(f"REEL {reel} IS {name}: {source_words(sheet, source)}")
        if self._colours:
            yield from _note(f"REEL {OTHER} IS COLOUR: {', '.join(self._colours)}")
        for overlay in sheet.overlays:
            span = f"{sheet.label(overlay.start)} TO {sheet.label(overlay.stop)}"
            yield from _note(f"OVER IT {span}: {overlay_name(overlay)}, {overlay.source}")
        for name, words in cues.sounds:
            yield from _note(f"SOUND {name}: {words}")


def _reels(sheet: Sheet) -> dict[str, str]:
    """Name a reel for each source on the base: letters and figures, eight at most, no two alike."""
    found: dict[str, str] = {}
    for cue in sheet.cues:
        if cue.source is None or cue.source in found:
            continue
        content = sheet.sources[cue.source].content
        if isinstance(content, Clear) or (
            isinstance(content, PlainColour) and not any(content.rgb)
        ):
            found[cue.source] = BLACK
            continue
        bare = re.sub(r"[^A-Z0-9]", "", _plain(cue.source).upper())[:8] or "REEL"
        taken, reel, number = {*found.values(), BLACK, OTHER}, bare, 2
        while reel in taken:
            reel = f"{bare[: 8 - len(str(number))]}{number}"
            number += 1
        found[cue.source] = reel
    return found


def _plain(text: str) -> str:
    """Text as ASCII: marks on letters are dropped, what has no letter becomes a question mark."""
    bare = "".join(c for c in unicodedata.normalize("NFKD", text) if not unicodedata.combining(c))
    return re.sub(r"[^ -~]", "?", bare)


def _note(text: str) -> Iterator[str]:
    """Give a note in lines that are short enough."""
    for line in textwrap.wrap(_plain(text), _LINE - 2):
        yield f"* {line}"
