"""`keyer still SHEET --at TIME`: frames of a sheet as pictures."""

from __future__ import annotations

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
    app.command()(still)


def still(
    sheet: SheetFile,
    at: Annotated[
        list[str],
        typer.Option("--at", help='Frames, seconds (2.4s), timecode, or "Shot 2 + 12".'),
    ],
    output: Output,
    show: Annotated[
        str,
        typer.Option(
            "--show",
            help="picture, matte, key-signal, subject, spill or source; zones: the picture with "
            "what the station's rules keep free.",
        ),
    ] = "picture",
    kind: Annotated[
        str,
        typer.Option(
            "--kind",
            help="over: as on air; alpha: what is clear stays so; keyfill: files -fill and -key.",
        ),
    ] = "over",
    values: Set = None,
    force: Force = False,
    json: Json = False,
) -> None:
    """Render stills of a sheet: into a file, or several into a folder."""
    wait_for_kernels()
    from keyer.render.stills import render_files
    from keyer.sheet.load import read_values

    written, notices = render_files(
        sheet,
        at,
        output,
        show=show,
        force=force,
        kind=kind,
        variables=read_values(sheet, values),
    )
    if json:
        print_json({"stills": written, "notices": notices})
    else:
        for entry in written:
            say(f"{entry['output']}: frame {entry['frame']}, {entry['timecode']}")
    for text in notices:
        notice(text)
