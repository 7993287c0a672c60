"""What a station's rules ask besides: black at head and tail, and limits of its own."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from keyer.documents.faults import nearest, sheet_error
from keyer.errors import Fault
from keyer.kinds.check_names import NAMES
from keyer.measure.cells import luminance
from keyer.report.checks.findings import Finding, Limit, Look, Series
from keyer.report.checks.runs import Runs
from keyer.report.checks.time_checks import BLACK
from keyer.report.checks.view import View
from keyer.report.words import frames_words
from keyer.sheet.sheet import Sheet
from keyer.sheet.station import OwnLimit, Span, Station


class EndsCheck:
    """Black before the first picture and after the last one, asked for or not."""

    def __init__(self, sheet: Sheet, station: Station) -> None:
        self._sheet, self._station = sheet, station
        self._first: int | None = None
        self._last = -1

    def look(self, view: View) -> None:
        """Look at the next frame."""
        if luminance(view.coarse).max() >= BLACK:
            self._first = view.index if self._first is None else self._first
            self._last = view.index

    def findings(self) -> list[Finding]:
        """Give one finding for each end of which the rules speak."""
        length = self._sheet.length
        head = length if self._first is None else self._first
        tail = length - 1 - self._last
        station, found = self._station, []
        if station.head is not None:
            found.append(self._end("head", station.head, head, (0, max(head - 1, 0))))
        if station.tail is not None:
            found.append(self._end("tail", station.tail, tail, (self._last + 1, length - 1)))
        return found

    def _end(self, name: str, asked: Span, found: int, stretch: tuple[int, int]) -> Finding:
        least, most = asked
        said = frames_words(least) if least == most else f"{least} to {frames_words(most)}"
        limit = Limit(f"{said} of black at the {name}", self._station.source)
        runs = Runs(self._sheet, f"timing.{name}_black", "frames", limit)
        remedy = ""
        if found < least:
            remedy = f"Put {frames_words(least - found)} more of black at the {name}."
        elif found > most:
            remedy = f"Take {frames_words(found - most)} of black away at the {name}."
        first, last = min(stretch), max(stretch)
        look = Look(last, "fails" if remedy else "holds", float(found), remedy=remedy, first=first)
        runs.add(look)
        return runs.findings()[0]

    def series(self) -> list[Series]:
        """Return no series: this check measures nothing over time."""
        return []


def held_to(station: Station, findings: Sequence[Finding]) -> list[Finding]:
    """Hold findings against the station's own limits, which can only be stricter.

    Parameters
    ----------
    station : Station
    findings : sequence of Finding
        All of them, those that hold too: each has its worst value.

    Returns
    -------
    list of Finding
        What lies beyond a limit of the station fails by it; what failed before still does.

    Raises
    ------
    SheetError
        If a limit names no check.
    """
    unknown = [
        Fault(f"limits[{n}].check", None, f"no check is called {one.check!r}."
              f"{nearest(one.check, NAMES)}")
        for n, one in enumerate(station.limits) if one.check not in NAMES
    ]  # fmt: skip
    if unknown:
        raise sheet_error(station.file.name, unknown)
    held = list(findings)
    for limit in station.limits:
        held = [_beyond(one, limit, station) if one.check == limit.check else one for one in held]
    return held


def _beyond(finding: Finding, limit: OwnLimit, station: Station) -> Finding:
    low = limit.least is not None and finding.value < limit.least
    high = limit.most is not None and finding.value > limit.most
    if finding.verdict == "fails" or not (low or high):
        return finding
    unit = "" if finding.unit.startswith(":") else " "
    sides = [("at least", limit.least), ("at most", limit.most)]
    said = " and ".join(
        f"{side} {value:g}{unit}{finding.unit}" for side, value in sides if value is not None
    )
    remedy = limit.note or f"Bring it to {said}. {finding.remedy}".strip()
    return replace(finding, verdict="fails", limit=Limit(said, station.source), remedy=remedy)
