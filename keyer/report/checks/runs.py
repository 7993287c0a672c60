"""Looks at single frames joined into findings over stretches of time."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from keyer.kinds.limits import LIMITS
from keyer.report.checks.findings import SEVERITY, Finding, Limit, Look
from keyer.sheet.sheet import Sheet


class Runs:
    """Joins the looks of one check, one after the other; keeps no look that is over.

    Parameters
    ----------
    sheet : Sheet
        For timecode.
    check, unit : str
    limit : Limit
    subject : str
        What is looked at.
    gap : int
        Frames between two looks that still belong together.
    """

    def __init__(
        self,
        sheet: Sheet,
        check: str,
        unit: str,
        limit: Limit,
        *,
        subject: str = "",
        gap: int = 1,
    ) -> None:
        self._sheet = sheet
        self._check, self._unit, self._limit, self._subject = check, unit, limit, subject
        self._gap = gap
        self._sign = -1.0 if check in LIMITS and LIMITS[check].low_is_worse else 1.0
        self._done: list[Finding] = []
        self._all: list[Look] = []  # first, last and worst look of all
        self._bad: list[Look] = []  # first, last and worst of a stretch that does not hold

    def add(self, look: Look) -> None:
        """Take the next look, in order of time."""
        self._all = self._joined(self._all, look)
        if look.verdict == "holds":
            return
        if self._bad and look.began - self._bad[1].frame > self._gap:
            self._end()
        self._bad = self._joined(self._bad, look)

    def findings(self) -> list[Finding]:
        """Every stretch that does not hold; else one finding that all of it does."""
        self._end()
        if self._done or not self._all:
            return self._done
        return [self._finding(self._all)]

    def _rank(self, look: Look) -> tuple[int, float]:
        return SEVERITY[look.verdict], self._sign * look.value

    def _joined(self, kept: Sequence[Look], look: Look) -> list[Look]:
        if not kept:
            return [replace(look, first=look.began), look, look]
        return [kept[0], look, max(kept[2], look, key=self._rank)]

    def _end(self) -> None:
        if self._bad:
            self._done.append(self._finding(self._bad))
            self._bad = []

    def _finding(self, kept: Sequence[Look]) -> Finding:
        first, last, worst = kept
        label = self._sheet.label
        return Finding(
            self._check,
            worst.verdict,
            worst.value,
            self._unit,
            first.began,
            last.frame,
            worst.frame,
            label(first.began),
            label(last.frame),
            label(worst.frame),
            worst.place,
            self._limit,
            worst.remedy,
            self._subject,
        )
