"""`keyer report SHEET`: everything about a spot on one page."""

from __future__ import annotations

from typing import Annotated

import typer

from keyer.cli.common import (
    Force,
    Json,
    Output,
    Set,
    SheetFile,
    frame_counter,
    notice,
    print_json,
    wait_for_kernels,
)
from keyer.cli.voice import say


def register(app: typer.Typer) -> None:
    """Add the command."""
    app.command()(report)


def report(
    sheet: SheetFile,
    output: Output,
    at: Annotated[
        list[str] | None,
        typer.Option(
            "--at", help="Times for waveform and vectorscope. Default: each shot's middle."
        ),
    ] = None,
    values: Set = None,
    force: Force = False,
    json: Json = False,
) -> None:
    """Write one page about a spot: pictures, keys, levels, findings and the cue sheet.

    The page is one HTML file that needs no network. Every frame is checked, as
    'keyer check' does. Flashing pictures and stripes can trigger seizures in
    people with photosensitive epilepsy; the checks for them are an aid and no
    clearance.
    """
    wait_for_kernels()
    from keyer.kinds.cautions import CAUTION
    from keyer.report.report import report_file
    from keyer.sheet.load import read_values

    asked = read_values(sheet, values)
    check = report_file(
        sheet, output, at=at or [], force=force, progress=frame_counter(), variables=asked
    )
    if json:
        findings = [one.as_dict() for one in check.findings]
        data = {"output": str(output), "verdict": check.verdict, "findings": findings}
        print_json(data | {"caution": CAUTION, "notices": list(check.notices)})
    else:
        say(f"{output}: {check.frames} frames, {check.verdict}")
        say(CAUTION)
    for text in check.notices:
        notice(text)
