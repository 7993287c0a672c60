"""A proof of titles: each text to be read, how long it is and stands, and what it clashes with.

No picture is drawn. Each title is laid out and inked as it will be, so that what is said of its
size and its place is what the checks will say.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import asdict, dataclass
from fractions import Fraction
from functools import cached_property
from pathlib import Path
from typing import Any

from keyer.batch.summary import Judged, Kind, summary_of
from keyer.errors import KeyerError
from keyer.kinds.formats import VideoFormat
from keyer.kinds.timing import timecode
from keyer.kinds.verdicts import Judgement, Verdict
from keyer.measure.legibility import count_words, judge_passage, reading_seconds
from keyer.measure.title_rules import TitleRules
from keyer.render.lettering import timed
from keyer.render.levels import Level
from keyer.render.showings import Showing, reading_on_air
from keyer.render.shown_title import poses_of, shown_title
from keyer.titles.checks import check_title
from keyer.titles.coverage import clusters
from keyer.titles.foresee import empty_fields
from keyer.titles.ink import Canvas
from keyer.titles.inside import laid_out
from keyer.titles.layers import Drawn, bounds
from keyer.titles.layout import Layout
from keyer.titles.moving import TimedTitle, title_texts
from keyer.titles.read import DesignFile

Sketch = tuple[bool, float, float, float, float]
"""A part of a title: whether it is letters; left, top, width and height in percent."""


@dataclass(frozen=True, eq=False)
class Airing:
    """Where a sheet, or what it shows of others, has a title on air.

    Attributes
    ----------
    level : Level
    showing : Showing
        Of which the spot shows something.
    """

    level: Level
    showing: Showing

    @cached_property
    def shown(self) -> list[int]:
        """Frames of the spot on which it is seen."""
        return self.level.frames(self.showing.start, self.showing.stop - 1)

    @property
    def when(self) -> str:
        """First and last frame of the spot on which it is seen."""
        rate = self.level.spot.format.rate
        return f"{timecode(self.shown[0], rate)} to {timecode(self.shown[-1], rate)}"

    def drawn(self, title: TimedTitle) -> Drawn:
        """Draw it as the spot shows it when all of it is there."""
        level, showing = self.level, self.showing
        there = level.frames(showing.first, showing.last, whole=True)
        frames = there or level.frames(showing.first, showing.last) or self.shown
        frame = frames[len(frames) // 2 if title.moving else 0]
        drawn = title.at(level.own(frame) - showing.start, showing.on_air)
        return shown_title(level, drawn, poses_of(level, showing.overlay, frame))


@dataclass(frozen=True)
class ProofTitle:
    """One title to be read.

    Attributes
    ----------
    number : int
        Of its row, its page, or the title itself.
    name : str
        What its files are called, or the title on the sheet.
    when : str
        When it is on air; empty where that is not known.
    lines : tuple of str
        As they stand on screen, but in the order of reading.
    letters : int
        Without blanks.
    words : int
    needed : float
        Seconds that it takes to read.
    on_screen : float or None
        Seconds that it can be read; None where that is not known.
    verdicts : tuple of Verdict
    notes : tuple of str
    fault : str
        Why it cannot be drawn; empty if it can.
    sketch : tuple of Sketch
    """

    number: int
    name: str
    when: str
    lines: tuple[str, ...]
    letters: int
    words: int
    needed: float
    on_screen: float | None = None
    verdicts: tuple[Verdict, ...] = ()
    notes: tuple[str, ...] = ()
    fault: str = ""
    sketch: tuple[Sketch, ...] = ()

    @property
    def verdict(self) -> Judgement:
        """The worst of its verdicts; a title that cannot be drawn fails."""
        found = {one.verdict for one in self.verdicts} | ({"fails"} if self.fault else set())
        return "fails" if "fails" in found else "watch" if "watch" in found else "holds"

    def as_dict(self) -> dict[str, Any]:
        """As plain data for JSON."""
        plain = asdict(self)
        del plain["sketch"]
        return {**plain, "verdict": self.verdict}


@dataclass(frozen=True)
class Proof:
    """Titles to be read, and what they are held against.

    Attributes
    ----------
    what : str
        What was proofed, for the heading.
    noun : str
        What the numbers count: "title", "row" or "page".
    titles : tuple of ProofTitle
    video : VideoFormat
    rules : TitleRules
    inputs : tuple of Path
    notices : tuple of str
    """

    what: str
    noun: str
    titles: tuple[ProofTitle, ...]
    video: VideoFormat
    rules: TitleRules
    inputs: tuple[Path, ...]
    notices: tuple[str, ...] = ()

    @property
    def counts(self) -> dict[Judgement, int]:
        """Titles by verdict."""
        found: dict[Judgement, int] = {"fails": 0, "watch": 0, "holds": 0}
        for title in self.titles:
            found[title.verdict] += 1
        return found

    def summary(self) -> list[Kind]:
        """Gather what does not hold, by kind."""
        return summary_of(
            (
                Judged(one.number, one.name, [verdict.as_dict() for verdict in one.verdicts])
                for one in self.titles
            ),
            self.noun,
        )

    def as_dict(self) -> dict[str, Any]:
        """As plain data for JSON."""
        return {
            "what": self.what,
            "titles": [one.as_dict() for one in self.titles],
            "counts": dict(self.counts),
            "summary": [kind.as_dict() for kind in self.summary()],
            "zones": [zone.name for zone in self.rules.zones],
            "notices": list(self.notices),
        }


def proof_title(
    number: int,
    name: str,
    design: DesignFile,
    fields: Mapping[str, str],
    video: VideoFormat,
    rules: TitleRules,
    air: Airing | None = None,
) -> ProofTitle:
    """Proof one title.

    Parameters
    ----------
    number : int
    name : str
    design : DesignFile
    fields : mapping
        Field name to text.
    video : VideoFormat
        For which it is laid out.
    rules : TitleRules
    air : Airing, optional
        None: it is not known when it is shown.

    Returns
    -------
    ProofTitle
        With `fault` rather than an exception where it cannot be drawn.
    """
    when = "" if air is None else air.when
    try:
        values = design.design.values(fields)
    except KeyerError as error:
        said = tuple(text for text in fields.values() if text.strip())
        return _unfit(number, name, when, said, str(error))
    empty = empty_fields(design.design, values)
    if empty:
        said = tuple(text for text in fields.values() if text.strip())
        return _unfit(number, name, when, said, " ".join(empty))
    words = tuple(text for _, _, text in title_texts(design.design, values) if text.strip())
    canvas = Canvas(video.width, video.height, float(video.pixel_aspect))
    try:
        layout = laid_out(design.design, values, canvas, design.folder)
        title = timed(design, values, video, allow_flash=True)
    except KeyerError as error:
        return _unfit(number, name, when, words, str(error))
    on_screen: Fraction | None = None
    text, verdicts = " ".join(words), list[Verdict]()
    if air is not None and title.frames_needed is not None:
        passed = len({air.level.own(frame) for frame in air.shown})
        verdicts.append(judge_passage(passed, title.frames_needed))
    elif air is not None and words:
        reading = reading_on_air(air.level, air.showing, title)
        text, on_screen = reading.words, reading.seconds(air.level.spot.format.rate)
    drawn = title.at(title.fullest) if air is None else air.drawn(title)
    verdicts += check_title(
        drawn, None, safe=design.design.safe, rules=rules, text=text, on_screen=on_screen
    )
    lines = _lines(layout, words)
    return ProofTitle(
        number, name, when, lines, *_lengths(lines),
        None if on_screen is None else float(on_screen),
        tuple(verdicts), tuple(dict.fromkeys(drawn.notes)), "", tuple(_sketch(drawn)),
    )  # fmt: skip


def _unfit(number: int, name: str, when: str, lines: tuple[str, ...], fault: str) -> ProofTitle:
    return ProofTitle(
        number, name, when, lines, *_lengths(lines), fault=" ".join(fault.split())
    )  # fmt: skip


def _lengths(lines: tuple[str, ...]) -> tuple[int, int, float]:
    """Count letters and words, and the seconds that they take to read."""
    text = " ".join(lines)
    letters = sum(not cluster.isspace() for cluster in clusters(text))
    needed = reading_seconds(text) if text.strip() else 0.0
    return letters, math.ceil(count_words(text)), round(needed, 2)


def _lines(layout: Layout, words: tuple[str, ...]) -> tuple[str, ...]:
    """Lines as they stand on screen; where one reads from the right, texts as they were given."""
    boxes = sorted(layout.boxes, key=lambda laid: (laid.area.top, laid.area.left))
    lines = [placed.line for box in boxes for placed in box.lines]
    if any(piece.rtl for line in lines for piece in line.pieces):
        return tuple(" ".join(text.split()) for text in words)
    return tuple(said for line in lines if (said := line.text.strip()))


def _sketch(drawn: Drawn) -> list[Sketch]:
    """Where the parts of a title stand, panels before letters."""
    canvas, found = drawn.canvas, []
    for layer in drawn.layers:
        if layer.role == "shadow" or layer.opacity <= 0:
            continue
        left, top, right, bottom = bounds([layer.mark], canvas)
        place = (left / canvas.width, top / canvas.height,
                 (right - left) / canvas.width, (bottom - top) / canvas.height)  # fmt: skip
        rounded = tuple(round(100 * side, 2) for side in place)
        found.append((layer.role in {"letters", "outline"}, *rounded))
    return sorted(dict.fromkeys(found))  # type: ignore[arg-type]  # four numbers
