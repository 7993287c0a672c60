"""Checks of titles over the picture that lies behind them: contrast, size, place, reading time."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from keyer.kinds.arrays import Planes
from keyer.kinds.limits import LIMITS as BOUNDS
from keyer.kinds.verdicts import Verdict
from keyer.measure.cells import WHOLE, Place, place_of
from keyer.measure.legibility import (
    EASY_WORDS_A_MINUTE,
    HARD_WORDS_A_MINUTE,
    SHORT_TITLE,
    SHORTEST_TITLE,
    judge_passage,
    judge_reading_time,
)
from keyer.measure.safe_areas import SAFE_AREAS
from keyer.render.lettering import title_parts
from keyer.render.levels import Level
from keyer.render.plan import Plan
from keyer.render.showings import Showing, reading_on_air, showings
from keyer.render.shown_title import Stand, poses_of, shown_title
from keyer.render.sinks.pictures import picture
from keyer.report.checks.findings import Finding, Limit, Look, Series
from keyer.report.checks.key_checks import looked_at
from keyer.report.checks.runs import Runs
from keyer.report.checks.view import View
from keyer.sheet.source import Title
from keyer.titles.checks import check_place, check_title
from keyer.titles.layers import Drawn, bounds
from keyer.titles.moving import TimedTitle, title_texts

LIMITS = {
    **{
        name: Limit(BOUNDS[name].words, BOUNDS[name].source)
        for name in ("title.contrast", "title.letter_height")
    },
    "title.reading_time": Limit(
        f"{EASY_WORDS_A_MINUTE} words a minute and {SHORT_TITLE:g} s; fails above "
        f"{HARD_WORDS_A_MINUTE} words a minute or under {SHORTEST_TITLE:g} s",
        "BBC R&D, quoting Ofcom (160 to 180, over 200 is hard); common practice (from memory)",
    ),
    "title.passage": Limit("all of a crawl or roll passes while it is on air", "common practice"),
}
"""What each measure of a title is held against, in words, unless a design or a station says it."""


def title_text(title: Title) -> str:
    """All that there is to read in a title, its fields filled in."""
    design, fields, _ = title_parts(title)
    values = design.design.values(fields)
    texts = (words for _, _, words in title_texts(design.design, values))
    return " ".join(text for text in texts if text.strip())


def title_checks(level: Level, plan: Plan) -> list[TitleCheck]:
    """Make the checks of all titles of a level that are on air; the plan is the spot's."""
    found = []
    for showing in showings(level):
        title = level.plan(plan).title(showing.source)
        if title is not None and level.frames(showing.start, showing.stop - 1):
            found.append(TitleCheck(level, plan, title, showing))
    return found


@dataclass(frozen=True, eq=False)
class _Known:
    """What was measured of a title as it stands at rest in the poses of the sheet."""

    drawn: Drawn
    poses: list[Stand]
    verdicts: list[Verdict]
    place: Place


class TitleCheck:
    """One title while it is fully there.

    Parameters
    ----------
    level : Level
        In which it is shown; it is measured where the spot shows it.
    plan : Plan
        Of the spot.
    title : TimedTitle
    showing : Showing
    """

    def __init__(self, level: Level, plan: Plan, title: TimedTitle, showing: Showing) -> None:
        self._level, self._plan, self._title, self._showing = level, plan, title, showing
        self._sheet = level.spot
        self._rules = level.spot.title_rules
        self._shown = level.frames(showing.start, showing.stop - 1)
        self._looks = looked_at(level, showing.first, showing.last, whole=True)
        there = level.frames(showing.first, showing.last)
        partly = set(self._shown).difference(there) if title.steps else set()
        self.frames = sorted(self._looks | partly)
        """Those of the spot on which it is looked at."""
        self._safe = self._rules.safe or SAFE_AREAS[title.design.safe]
        self._runs: dict[str, Runs] = {}
        self._contrasts: list[tuple[int, float]] = []
        self._known: _Known | None = None
        self._judge_time()

    def _judge_time(self) -> None:
        showing = self._showing
        needed = self._title.frames_needed
        if needed is not None:
            passed = len({self._level.own(frame) for frame in self._shown})
            there = self._level.frames(showing.first, showing.last) or self._shown
            verdict, first, last = judge_passage(passed, needed), there[0], there[-1]
        elif any(words.strip() for _, _, words in self._title.texts):
            verdict, first, last = self._reading()
        else:
            return  # a logo alone is not read
        last = max(last, self._shown[0])
        self._add(last, verdict, first=min(first, last))

    def _reading(self) -> tuple[Verdict, int, int]:
        """Judge the time to read, from when each line is fully there; the worst of them."""
        one = reading_on_air(self._level, self._showing, self._title)
        rate = self._sheet.format.rate
        return judge_reading_time(one.words, one.seconds(rate)), one.first, one.last

    def look(self, view: View) -> None:
        """Take the next frame; measures several a second, and the first and last."""
        if not view.same:
            self._known = None
        if view.index not in self.frames:
            return
        drawn = self._title.at(
            self._level.own(view.index) - self._showing.start, self._showing.on_air
        )
        if view.index not in self._looks:
            self._look_partly(view, drawn)
            return
        poses, known = poses_of(self._level, self._showing.overlay, view.index), self._known
        if known is None or known.drawn is not drawn or known.poses != poses:
            seen = shown_title(self._level, drawn, poses)
            verdicts = self._verdicts(view, seen)
            known = self._known = _Known(drawn, poses, verdicts, _place(seen))
        for verdict in known.verdicts:
            self._add(view.index, verdict, place=known.place)

    def _look_partly(self, view: View, drawn: Drawn) -> None:
        """See that what comes and goes in steps stays where it may be on its way."""
        drawn = shown_title(
            self._level, drawn, poses_of(self._level, self._showing.overlay, view.index)
        )
        for verdict in check_place(drawn, self._safe, self._rules):
            if not self._title.moving:
                self._add(view.index, verdict, place=_place(drawn))

    def _verdicts(self, view: View, drawn: Drawn) -> list[Verdict]:
        return check_title(
            drawn, self._behind(view, drawn), safe=self._title.design.safe, rules=self._rules
        )

    def _behind(self, view: View, drawn: Drawn) -> Planes | None:
        """Work out what lies behind a title, in its rows and a little beyond; else black."""
        overlay = self._showing.overlay
        path = f"{self._level.sheet.prefix}overlays[{overlay.index}]" if overlay else None
        below = self._level.behind(self._plan, view.index, path)
        if below is None:
            return None
        # only the rows that are written cost memory
        behind: Planes = np.zeros((3, view.frame.height, view.frame.width), np.float32)
        _, top, _, bottom = bounds((layer.mark for layer in drawn.layers), drawn.canvas)
        sizes = [layer.size for layer in drawn.layers if layer.role == "letters"]
        margin = round(max(sizes, default=0.0) * drawn.canvas.unit / 2) + 1
        rows = (max(top - margin, 0), min(bottom + margin, behind.shape[1]))
        found = picture(below, self._plan.evaluator, np.float32, window=rows)
        behind[:, rows[0] : rows[1]] = found.planes
        return behind

    def _add(
        self, index: int, verdict: Verdict, *, place: Place = WHOLE, first: int | None = None
    ) -> None:
        name = verdict.measure
        if name not in self._runs:
            self._runs[name] = Runs(
                self._sheet,
                name,
                verdict.unit,
                self._limit(name),
                subject=self._showing.subject,
                gap=round(self._sheet.format.rate),
            )
        self._runs[name].add(
            Look(index, verdict.verdict, float(verdict.value), place, verdict.remedy, first)
        )
        if name == "title.contrast":
            self._contrasts.append((index, float(verdict.value)))

    def _limit(self, name: str) -> Limit:
        rules, safe = self._rules, self._safe
        if name == "title.zone":
            return Limit(f"kept free: {', '.join(zone.name for zone in rules.zones)}", rules.source)
        if name == "title.letter_height" and rules.smallest is not None:
            return Limit(f"at least {rules.smallest:g} % of the picture height", rules.source)
        if name == "title.largest_letters" and rules.largest is not None:
            return Limit(f"at most {rules.largest:g} % of the picture height", rules.source)
        if name in LIMITS:
            return LIMITS[name]
        inside, outside = 100 * safe.title, 100 * safe.action
        return Limit(f"within {inside:g} % of both sides; fails beyond {outside:g} %", safe.source)

    def findings(self) -> list[Finding]:
        """Give the stretches in which the title does not hold, with the worst frame of each."""
        return [finding for runs in self._runs.values() for finding in runs.findings()]

    def series(self) -> list[Series]:
        """Return the worst contrast on each frame looked at."""
        if not self._contrasts:
            return []
        frames, values = zip(*self._contrasts, strict=True)
        return [Series(f"{self._showing.subject}: title.contrast", ":1", frames, values, 3.0)]


def _place(drawn: Drawn) -> Place:
    left, top, right, bottom = bounds((layer.mark for layer in drawn.layers), drawn.canvas)
    width, height = drawn.canvas.width, drawn.canvas.height
    return place_of(left / width, top / height, right / width, bottom / height)
