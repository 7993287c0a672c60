"""Checks of the finished picture: signal levels, flashes, stripes."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import replace

from keyer.measure.cells import WHOLE, Grid
from keyer.measure.flash import (
    AREA,
    LONG_SECONDS,
    MOST_A_SECOND,
    Flashing,
    FlashMeter,
    judge_flashing,
)
from keyer.measure.levels import HIGHEST, LOWEST, R103, Allowed, Levels, judge_levels
from keyer.measure.repeat_meter import Repeating, judge_repeats
from keyer.measure.stripe_meter import StripeMeter, Stripes, judge_stripes
from keyer.measure.stripes import AREA_CHANGING, AREA_STEADY, MOST_PAIRS, SECONDS
from keyer.report.checks.findings import SEVERITY, Finding, Limit, Look, Series
from keyer.report.checks.runs import Runs
from keyer.report.checks.view import View
from keyer.sheet.sheet import Sheet

_MOST = f"{MOST_A_SECOND:g} {{kind}}flashes in any second, or {100 * AREA:g} % of "
_FIELD = f"{_MOST}any 10-degree field"
_PICTURE = f"{_MOST}the picture; watch: more than {LONG_SECONDS} s of flashing"
_WCAG = "WCAG 2.3.1"
_BT1702 = "ITU-R BT.1702 (figures partly from memory)"


def _levels(allowed: Allowed, source: str, codes: str = "") -> Limit:
    return Limit(
        f"R, G, B and Y from {allowed.lowest:g} to {allowed.highest:g} %{codes}, but for "
        f"{allowed.area_percent:g} % of the picture, filtered",
        source,
    )


LIMITS = {
    "levels.range": _levels(
        replace(R103, lowest=round(R103.lowest), highest=round(R103.highest)),
        "EBU R 103 v3.0; tolerance as in EBU QC 0051B",
        f" (codes {LOWEST} to {HIGHEST} of ten bits)",
    ),
    "flash.general": Limit(_FIELD.format(kind=""), _WCAG),
    "flash.red": Limit(_FIELD.format(kind="red "), _WCAG),
    "flash.general_picture": Limit(_PICTURE.format(kind=""), _BT1702),
    "flash.red_picture": Limit(_PICTURE.format(kind="red "), _BT1702),
    "stripes.pattern": Limit(
        f"{MOST_PAIRS} pairs of a light and a dark stripe, or rows of repetitive elements, for "
        f"{float(SECONDS):g} s, or {100 * AREA_STEADY:g} % of the picture "
        f"({100 * AREA_CHANGING:g} % if they flash, reverse, oscillate or turn back)",
        "ITU-R BT.1702 (figures from memory); half a second, 50 cd/m2 and a quarter: Wilkins, "
        "Emmett, Harding 2005",
    ),
}
"""What each measure of the picture is held against, in words."""


def allowed_levels(sheet: Sheet) -> Allowed:
    """Levels that a picture of a sheet may have: the station's, or those of EBU R 103."""
    levels = sheet.station.levels if sheet.station else None
    return levels or R103


class LevelsCheck:
    """Signal levels of every frame, as the picture is before a file limits it."""

    def __init__(self, sheet: Sheet) -> None:
        self._allowed, limit = allowed_levels(sheet), LIMITS["levels.range"]
        if self._allowed is not R103 and sheet.station is not None:
            limit = _levels(self._allowed, sheet.station.source)
        self._runs = Runs(sheet, "levels.range", "% of picture", limit)
        self._levels: list[Levels] = []

    def look(self, view: View) -> None:
        """Look at the next frame."""
        levels = view.levels
        self._levels.append(levels)
        verdict = judge_levels(levels, self._allowed)
        self._runs.add(
            Look(view.index, verdict.verdict, verdict.value, levels.place, verdict.remedy)
        )

    def findings(self) -> list[Finding]:
        """Give the stretches that lie outside."""
        return self._runs.findings()

    def series(self) -> list[Series]:
        """Luma's lowest and highest level, and the area outside."""
        frames = tuple(range(len(self._levels)))

        def along(name: str, value: Callable[[Levels], float], unit: str = "%") -> Series:
            limit = self._allowed.area_percent if name == "levels.outside" else None
            return Series(name, unit, frames, tuple(map(value, self._levels)), limit)

        return [
            along("levels.lowest_luma", lambda levels: levels.lowest[3]),
            along("levels.highest_luma", lambda levels: levels.highest[3]),
            along("levels.outside", lambda levels: levels.outside_percent, "% of picture"),
        ]


def _flash_remedy(flashing: Flashing, *, red: bool) -> str:
    tested = "Then have it tested as the broadcaster asks."
    what = "red flashes" if red else "flashes"
    slower = "take the red's saturation down" if red else "let it change by less than 0.1 of white"
    if flashing.flashes > MOST_A_SECOND:
        return (
            f"{flashing.flashes:g} {what} in a second: make it three or less, {slower}, or make "
            f"it smaller. {tested}"
        )
    if flashing.share > AREA / 2:
        share = 100 * flashing.share
        return (
            f"More than three {what} in a second over {share:.1f} % of the area; "
            f"{100 * AREA:g} % is the limit: slow it down, or {slower}. {tested}"
        )
    if flashing.flashes == MOST_A_SECOND:
        return f"Three {what} in a second are the most that may be: slow it down. {tested}"
    return (
        f"It flashes for more than {LONG_SECONDS} seconds, at {flashing.flashes:g} {what} "
        f"in a second: let it rest for a second, or {slower}. {tested}"
    )


class FlashCheck:
    """General and red flashes of every frame."""

    def __init__(self, sheet: Sheet, grid: Grid) -> None:
        self._rate = rate = sheet.format.rate
        self._meter = FlashMeter(grid, rate)
        self._second = math.ceil(rate) - 1
        self._runs = {
            name: Runs(sheet, check, "flashes a second", LIMITS[check], gap=self._second)
            for check in LIMITS
            for name in [check.removeprefix("flash.")]
            if name != check
        }
        self._counts: dict[str, list[float]] = {"general": [], "red": []}

    def look(self, view: View) -> None:
        """Look at the next frame."""
        reading = self._meter.add(view.fine, view.screen)
        for name, runs in self._runs.items():
            flashing: Flashing = getattr(reading, name)
            whole = name.endswith("picture")
            verdict = judge_flashing(flashing, self._rate if whole else None)
            remedy = ""
            if verdict != "holds":
                remedy = _flash_remedy(flashing, red=name.startswith("red"))
            place = WHOLE if whole else flashing.place
            # a `watch` for the area is told by how fast that area flashes
            small = verdict == "watch" and flashing.share > AREA / 2
            value = max(flashing.flashes, flashing.faster) if small else flashing.flashes
            first = max(0, view.index - self._second)
            runs.add(Look(view.index, verdict, value, place, remedy, first))
            if name in self._counts:
                self._counts[name].append(flashing.flashes)

    def findings(self) -> list[Finding]:
        """Give the stretches that flash."""
        return [finding for runs in self._runs.values() for finding in runs.findings()]

    def series(self) -> list[Series]:
        """Return the flashes in the second up to each frame."""
        return [
            Series(
                f"flash.{name}",
                "flashes a second",
                tuple(range(len(counts))),
                tuple(counts),
                float(MOST_A_SECOND),
            )
            for name, counts in self._counts.items()
        ]


def _stripes_remedy(stripes: Stripes) -> str:
    how = "that change" if stripes.changing else "standing or drifting"
    return (
        f"{stripes.pairs:.0f} pairs of stripes {how}. Show them smaller or for less than "
        "half a second, soften them, or bring light and dark nearer to each other."
    )


def _repeats_remedy(repeating: Repeating) -> str:
    what = (
        f"About {repeating.pairs:.0f} rows of elements that repeat."
        if repeating.pairs > 0
        else "Stripes, dots or squares finer than can be counted: not measured."
    )
    return (
        f"{what} Show them smaller or for less than half a second, soften them, or bring light and "
        "dark nearer to each other; then have it tested as the broadcaster asks."
    )


class StripesCheck:
    """Hazardous stripes of every frame, and rows of elements that repeat."""

    def __init__(self, sheet: Sheet) -> None:
        self._rate = sheet.format.rate
        self._meter = StripeMeter(self._rate)
        gap = math.ceil(self._rate / 2)
        self._runs = Runs(
            sheet, "stripes.pattern", "% of picture", LIMITS["stripes.pattern"], gap=gap
        )
        self._areas: list[float] = []

    def look(self, view: View) -> None:
        """Look at the next frame."""
        stripes = self._meter.add(view.screen)
        repeating = view.repeating
        verdict = judge_stripes(stripes, self._rate)
        again = judge_repeats(repeating, self._rate)
        worse = SEVERITY[again] > SEVERITY[verdict]
        found: Stripes | Repeating = repeating if repeating.area > stripes.area else stripes
        remedy, first = "", view.index
        if worse:
            verdict, found, remedy = again, repeating, _repeats_remedy(repeating)
        elif verdict != "holds":
            found, remedy = stripes, _stripes_remedy(stripes)
        if verdict != "holds":
            first = view.index - found.lasting + 1
        area = 100 * found.area
        self._areas.append(area)
        self._runs.add(Look(view.index, verdict, area, found.place, remedy, first))

    def findings(self) -> list[Finding]:
        """Give the stretches with stripes."""
        return self._runs.findings()

    def series(self) -> list[Series]:
        """Return the area under stripes of every frame, in percent."""
        frames = tuple(range(len(self._areas)))
        limit = 100 * AREA_STEADY
        return [Series("stripes.area", "% of picture", frames, tuple(self._areas), limit)]
