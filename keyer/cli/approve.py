"""`keyer approve SHEET`: a version frozen as it was seen, so that a later change shows."""

from __future__ import annotations

from typing import Annotated

import typer

from keyer.cli.common import Json, Set, SheetFile, frame_counter, print_json, wait_for_kernels
from keyer.cli.voice import say


def register(app: typer.Typer) -> None:
    """Add the command."""
    app.command()(approve)


def approve(
    sheet: SheetFile,
    by: Annotated[str, typer.Option("--by", metavar="NAME", help="Who approved it.")] = "",
    note: Annotated[str, typer.Option("--note", metavar="TEXT", help="What was agreed.")] = "",
    values: Set = None,
    json: Json = False,
) -> None:
    """Keep a sheet as it was approved, in one file beside it.

    The file holds the sheet, a fingerprint of every file that it
    shows, a small picture of every frame that differs from the others, and the chosen stills.
    'keyer compare' takes it, and the cue sheet says whether anything has
    changed since. It is a note of what was seen, not a signature.
    """
    wait_for_kernels()
    from keyer.report.versions.approval import facts_of
    from keyer.report.versions.approve import approve_file
    from keyer.sheet.load import read_values

    made = approve_file(
        sheet,
        by=by,
        note=note,
        progress=frame_counter(),
        variables=read_values(sheet, values),
    )
    if json:
        print_json(facts_of(made))
        return
    data = facts_of(made)
    say(f"{made.path}: approved {made.words}")
    say(f"  {data['pictures']} pictures, {len(made.stills)} stills, {len(made.files)} files")
    say(f"  Sheet {made.digest}")
    say(f"  File, SHA-256 {made.seal}")
