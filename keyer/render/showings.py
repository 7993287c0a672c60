"""When titles are on air, as overlays or as the base, in a spot and in what it shows."""

from __future__ import annotations

from dataclasses import dataclass

from keyer.render.lettering import settled, title_steps
from keyer.render.levels import Level
from keyer.render.shown_title import on_air
from keyer.sheet.sheet import Overlay
from keyer.sheet.source import Title
from keyer.titles.checks import Reading, hardest, readings
from keyer.titles.moving import TimedTitle
from keyer.titles.steps import longest


@dataclass(frozen=True)
class Showing:
    """A title overlay while it is on air.

    Attributes
    ----------
    subject : str
        The cue or overlay, for findings.
    source : str
    start : int
        Frame on which it comes on air.
    first, last : int
        Frames on which it is fully there, both included.
    stop : int
        Frame on which it is gone.
    overlay : Overlay or None
        None: it is the base.
    """

    subject: str
    source: str
    start: int
    first: int
    last: int
    stop: int
    overlay: Overlay | None = None

    @property
    def on_air(self) -> int:
        """Number of frames on which the title is on air."""
        return self.stop - self.start


def showings(level: Level) -> list[Showing]:
    """Find every title on air in a level, as an overlay or as the base, in its own frames."""
    found, sheet = [], level.sheet
    for cue in sheet.cues:
        if cue.source is not None:
            build, leave = (
                longest(steps, sheet.format.rate) for steps in title_steps(sheet, cue.source)
            )
            stop = sheet.until(cue)
            first = cue.at + max(cue.transition.length, build)
            subject, last = level.named(cue), stop - leave - 1
            found.append(Showing(subject, cue.source, cue.at, first, last, stop))
    for overlay in sheet.overlays:
        if overlay.key is None:
            first, stop = settled(sheet, overlay)
            subject = level.named(overlay)
            found.append(
                Showing(
                    subject, overlay.source, overlay.start, first, stop - 1, overlay.stop, overlay
                )
            )
    titles = {n for n, source in sheet.sources.items() if isinstance(source.content, Title)}
    return [showing for showing in found if showing.source in titles]


def reading_on_air(level: Level, showing: Showing, title: TimedTitle) -> Reading:
    """Find the stretch that leaves the least time to read, in frames of the spot.

    A line can be read from when it is fully there.
    """
    if showing.overlay is not None:
        ends = showing.overlay.enter.length, showing.overlay.leave.length
    else:
        ends = level.sheet.base_at(showing.start).cue.transition.length, 0
    end = level.frames(showing.start, showing.stop - 1)[-1]
    found = [
        on_air(level, own, showing.start) or Reading(own.words, end + 1, end)
        for own in readings(title, showing.on_air, ends)
    ]
    return hardest(found, level.spot.format.rate)
