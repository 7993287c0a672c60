"""`keyer convert SHEET --format FORMAT`: the same spot at another rate, size or shape."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

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
    app.command()(convert)


def convert(
    sheet: SheetFile,
    form: Annotated[
        str, typer.Option("--format", metavar="FORMAT", help="1080p29.97, 1080x1920@25 and so on.")
    ],
    output: Output,
    lengths: Annotated[
        str,
        typer.Option("--lengths", help="What transitions and fades keep: seconds or frames."),
    ] = "seconds",
    board: Annotated[
        Path | None,
        typer.Option("--board", help="Show both side by side, .png or .pdf, and look at titles."),
    ] = None,
    values: Set = None,
    force: Force = False,
    json: Json = False,
) -> None:
    """Convert a sheet to another format, and list every rounding.

    Times move to the nearest frame; transitions begin and end on such a frame.
    A whole number of seconds of timecode stays one: 30 s are 900 frames at
    29.97. Settings in pixels are scaled.
    """
    wait_for_kernels()
    from keyer.report.versions.convert_files import convert_files
    from keyer.sheet.load import read_values

    made = convert_files(
        sheet,
        output,
        form,
        lengths=lengths,
        board=board,
        force=force,
        variables=read_values(sheet, values),
    )
    if json:
        data = {
            "output": str(output),
            "format": made.sheet.format.name,
            "frames": made.sheet.length,
            "roundings": [
                {**vars(one), "seconds": float(one.seconds)} for one in made.roundings
            ],
            "lost": list(made.lost),
            "titles": list(made.titles),
            "notices": list(made.notices),
        }  # fmt: skip
        print_json(data)
        return
    say(f"{output}: {made.sheet.format.name}, {made.sheet.length} frames")
    for line in (*made.roundings, *made.lost, *made.titles):
        say(f"  {line}")
    if not made.roundings:
        say("  No time had to be rounded.")
    for text in made.notices:
        notice(text)
