"""`keyer check SHEET`: what will not pass, where, and what to do about it."""

from __future__ import annotations

from collections import Counter
from typing import TYPE_CHECKING

import typer

from keyer.cli.common import (
    Json,
    Set,
    SheetFile,
    frame_counter,
    notice,
    print_json,
    print_table,
    wait_for_kernels,
)
from keyer.cli.voice import say
from keyer.kinds.figures import figures

if TYPE_CHECKING:
    from keyer.report.checks.check import CheckReport
    from keyer.report.checks.findings import Finding

FAILED = 4
"""Exit code when anything fails."""


def register(app: typer.Typer) -> None:
    """Add the command."""
    app.command()(check)


def check(
    sheet: SheetFile,
    values: Set = None,
    json: Json = False,
) -> int:
    """Check every frame of a sheet: levels, flashes, stripes, keys, titles and timing.

    Flashing pictures and stripes can trigger seizures in people with
    photosensitive epilepsy. The checks for them are an aid and no clearance:
    broadcast needs the approved test that the broadcaster names, local rules
    go first, and people at risk must be warned before they see such pictures.
    Exits with 4 if anything fails.
    """
    wait_for_kernels()
    from keyer.report.checks.check import check_file
    from keyer.sheet.load import read_values

    report = check_file(sheet, frame_counter(), read_values(sheet, values))
    if json:
        print_json(report.as_dict())
    else:
        _print(report)
    for text in report.notices:
        notice(text)
    if report.verdict != "fails":
        return 0
    failing = sorted({finding.check for finding in report.findings if finding.verdict == "fails"})
    notice(f"{sheet} does not pass: {', '.join(failing)}. Each finding above says what to do.")
    return FAILED


def _when(finding: Finding) -> str:
    if finding.first == finding.last:
        return finding.first_timecode
    text = f"{finding.first_timecode} to {finding.last_timecode}"
    return text if finding.verdict == "holds" else f"{text}, worst {finding.worst_timecode}"


def _subject(finding: Finding) -> str:
    """Say what is meant: by its path in the sheet, within effects in words."""
    from keyer.kinds.check_names import subject_name

    of_the_sheet = finding.subject.startswith(("cues[", "overlays[", "sound["))
    return finding.subject if of_the_sheet else subject_name(finding.subject)


def _where(finding: Finding) -> str:
    place = finding.place
    if (place.width, place.height) == (100.0, 100.0):
        return ""
    right, bottom = place.left + place.width, place.top + place.height
    return f"{place.left:.0f} to {right:.0f} % across, {place.top:.0f} to {bottom:.0f} % down"


def _value(finding: Finding) -> str:
    between = "" if finding.unit.startswith(":") else " "
    return f"{figures(finding.check, finding.value, 4)}{between}{finding.unit}"


def _print(report: CheckReport) -> None:
    from keyer.kinds.cautions import CAUTION
    from keyer.report.checks.view import LOOKS_A_SECOND

    bad = [finding for finding in report.findings if finding.verdict != "holds"]
    for finding in bad:
        subject = f", {_subject(finding)}" if finding.subject else ""
        say(f"{finding.verdict}: {finding.check}{subject}")
        where = _where(finding)
        say(f"  when   {_when(finding)}")
        if where:
            say(f"  where  {where}")
        if finding.unit:
            say(f"  value  {_value(finding)}")
        say(f"  limit  {finding.limit.text}")
        say(f"  after  {finding.limit.source}")
        say(f"  remedy {finding.remedy}")
    held = [finding for finding in report.findings if finding.verdict == "holds"]
    if held:
        print_table(
            ("holds", "worst value", ""),
            dict.fromkeys((f.check, _value(f), _subject(f)) for f in held),
        )
    counts = Counter(finding.verdict for finding in report.findings)
    say(
        f"{report.frames} frames of {report.format}: {counts['fails']} findings fail, "
        f"{counts['watch']} need a look. Keys and titles were looked at {LOOKS_A_SECOND} times a "
        "second, all else on every frame."
    )
    if report.station:
        say(f"Held against the rules of {report.station}.")
    say(CAUTION)
