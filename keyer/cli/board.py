"""`keyer board SHEET`: a storyboard, or a board of variations, to print or to mail."""

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
    app.command()(board)


def board(
    sheet: SheetFile,
    output: Output,
    vary: Annotated[
        list[str] | None,
        typer.Option("--vary", metavar="KEY=V1,V2", help="A key of the sheet and its values."),
    ] = None,
    at: Annotated[
        str | None,
        typer.Option("--at", help="Time of the variations. Default: half way through each."),
    ] = None,
    paper: Annotated[str, typer.Option("--paper", help="A3 or A4, landscape.")] = "A3",
    zones: Annotated[
        bool, typer.Option("--zones", help="Draw what the station's rules keep free.")
    ] = False,
    values: Set = None,
    force: Force = False,
    json: Json = False,
) -> None:
    """Draw a storyboard; with --vary a board of variations to choose from.

    A PDF has the size of the paper; a PNG has 200 dpi, further pages
    are numbered. KEY is a path of the sheet, such as
    cues[1].transition.pattern; with several --vary every combination is shown.
    """
    wait_for_kernels()
    from keyer.report.boards.board_files import board_files
    from keyer.sheet.load import read_values

    written, made = board_files(
        sheet,
        output,
        vary or [],
        at=at,
        paper=paper,
        force=force,
        zones=zones,
        variables=read_values(sheet, values),
    )
    if json:
        files = [str(path) for path in written]
        print_json({"outputs": files, "cells": made.cells, "notices": list(made.notices)})
    else:
        for path in written:
            say(path)
        count = len(made.cells)
        words = "1 picture" if count == 1 else f"{count} pictures"
        say(f"{words}; 'keyer remake' makes one again from a PNG by its number.")
    for text in made.notices:
        notice(text)
