"""`keyer cues SHEET`: the cue sheet, one row an event."""

from __future__ import annotations

import typer

from keyer.cli.common import (
    Force,
    Json,
    Output,
    Set,
    SheetFile,
    notice,
    print_json,
    wait_for_kernels,
)
from keyer.cli.voice import say


def register(app: typer.Typer) -> None:
    """Add the command."""
    app.command()(cues)


def cues(
    sheet: SheetFile,
    output: Output,
    values: Set = None,
    force: Force = False,
    json: Json = False,
) -> None:
    """Write the cue sheet: a page to print (.html), a table (.csv), or an edit list (.edl).

    A key that sets itself is listed with the settings that it found.
    """
    wait_for_kernels()
    from keyer.report.cue_sheets.cue_files import cue_files
    from keyer.sheet.load import read_values

    asked = read_values(sheet, values)
    made = cue_files(sheet, output, force=force, variables=asked)
    count = len(made.events) + sum(len(one.events) for one in made.inner)
    if json:
        data = {"output": str(output), "events": count, "notices": list(made.notices)}
        print_json(data)
    else:
        say(f"{output}: {count} event{'' if count == 1 else 's'}")
    for text in made.notices:
        notice(text)
