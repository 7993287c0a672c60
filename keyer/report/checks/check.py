"""The check: one walk over every frame of a sheet's render.

Nothing is kept of a frame but a few numbers, so memory does not grow with the
length but for the measurements over time.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from contextlib import ExitStack, closing
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from keyer.kinds.cautions import CAUTION
from keyer.kinds.verdicts import Judgement
from keyer.measure.cells import make_grid
from keyer.render.ahead import Ahead
from keyer.render.levels import MOST_LEVELS, levels
from keyer.render.plan import Plan
from keyer.render.session import Session
from keyer.report.checks.findings import SEVERITY, Finding, Series
from keyer.report.checks.key_checks import KeyCheck, without_backing
from keyer.report.checks.overlay_checks import SeenCheck, check_staying
from keyer.report.checks.picture_checks import (
    FlashCheck,
    LevelsCheck,
    StripesCheck,
    allowed_levels,
)
from keyer.report.checks.sound_checks import check_sound
from keyer.report.checks.station_checks import EndsCheck, held_to
from keyer.report.checks.time_checks import (
    BlackCheck,
    StrayCheck,
    check_endings,
    check_last_frame,
    check_length,
)
from keyer.report.checks.title_checks import title_checks
from keyer.report.checks.view import LOOKS_A_SECOND, Inspector, Viewer
from keyer.report.checks.within import named_within
from keyer.sheet.load import load_sheet
from keyer.sheet.sheet import Sheet
from keyer.sheet.variables import Value

_MANY = (
    f"Effects are shown more than {MOST_LEVELS} times: within the first {MOST_LEVELS}, keys, "
    "titles and sources are looked at one by one; all else is looked at everywhere."
)

Progress = Callable[[int, int], None]
"""Called with the frames done and the frames in all."""


@dataclass(frozen=True)
class CheckReport:
    """What a check of a sheet found.

    Attributes
    ----------
    title : str
    digest : str
        Of what the sheet says.
    format : str
    frames : int
        How many were looked at.
    verdict : {"holds", "watch", "fails"}
        The worst of all findings.
    findings : tuple of Finding
        The worst first, then in order of time.
    series : tuple of Series
        Measurements over time, for plots.
    notices : tuple of str
        What had to be assumed.
    station : str
        Whose rules it was held against; empty: nobody's own.
    """

    title: str
    digest: str
    format: str
    frames: int
    verdict: Judgement
    findings: tuple[Finding, ...]
    series: tuple[Series, ...]
    notices: tuple[str, ...]
    station: str = ""

    def as_dict(self) -> dict[str, Any]:
        """As plain data for JSON; the series are left out."""
        return {
            "title": self.title,
            "digest": self.digest,
            "format": self.format,
            "frames": self.frames,
            "verdict": self.verdict,
            "station": self.station,
            "findings": [finding.as_dict() for finding in self.findings],
            "looks_a_second": {"keys and titles": LOOKS_A_SECOND, "all else": "every frame"},
            "caution": CAUTION,
            "notices": list(self.notices),
        }


def _inspectors(sheet: Sheet, plan: Plan) -> list[Inspector]:
    video = sheet.format
    grid = make_grid(video.width, video.height, float(video.pixel_aspect))
    found: list[Inspector] = [
        LevelsCheck(sheet),
        FlashCheck(sheet, grid),
        StripesCheck(sheet),
        BlackCheck(sheet),
        StrayCheck(sheet),
        SeenCheck(sheet, plan),
    ]
    if sheet.station is not None:
        found.append(EndsCheck(sheet, sheet.station))
    for level in levels(sheet):
        keyed = (one for one in level.sheet.overlays if one.key is not None)
        found += [KeyCheck(level, plan, one) for one in keyed]
        found += title_checks(level, plan)
    return found


def _order(finding: Finding) -> tuple[int, int, str]:
    return -SEVERITY[finding.verdict], finding.first, finding.check


def check_sheet(sheet: Sheet, progress: Progress | None = None) -> CheckReport:
    """Check every frame of a sheet.

    Raises
    ------
    SheetError, InputFileError
        If the sheet cannot be planned, or a file breaks while it is read.
    """
    video = sheet.format
    with ExitStack() as stack:
        session = stack.enter_context(closing(Session()))
        whole = stack.enter_context(Plan(sheet, session))
        findings, seen = without_backing(sheet, whole)
        findings += [check_length(sheet), *check_endings(sheet, whole), *check_last_frame(sheet)]
        findings += check_staying(sheet)
        of_sound, told_of_sound = check_sound(sheet)
        findings += of_sound
        shown = levels(sheet)
        told = {  # those are findings
            "".join(f"{name}: " for name in level.home) + ending.notice
            for level in shown
            for ending in level.plan(whole).endings
        }
        own = (notice for notice in whole.notices if notice not in told)
        notices = (*own, *told_of_sound, *([_MANY] if len(shown) == MOST_LEVELS else []))
        plan = stack.enter_context(Plan(seen, session))
        viewer = Viewer(video, plan.evaluator, allowed_levels(seen))
        inspectors = _inspectors(seen, plan)
        frames = stack.enter_context(Ahead(plan.fetched(range(sheet.length))))
        for view in stack.enter_context(Ahead(viewer.views(frames))):
            for inspector in inspectors:
                inspector.look(view)
            if progress is not None:
                progress(view.index + 1, sheet.length)
        findings += [finding for inspector in inspectors for finding in inspector.findings()]
    findings = [named_within(finding, shown) for finding in findings]
    if sheet.station is not None:
        findings = held_to(sheet.station, findings)
    findings.sort(key=_order)
    return CheckReport(
        sheet.title,
        sheet.digest,
        video.name,
        sheet.length,
        findings[0].verdict,
        tuple(findings),
        tuple(series for inspector in inspectors for series in inspector.series()),
        notices,
        sheet.station.name if sheet.station else "",
    )


def check_file(
    path: Path, progress: Progress | None = None, variables: Mapping[str, Value] | None = None
) -> CheckReport:
    """Check a sheet from its file; as `check_sheet`, with variables as for `load_sheet`."""
    return check_sheet(load_sheet(path, variables=variables), progress)
