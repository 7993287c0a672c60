"""`keyer remake PICTURE`: a chosen picture made again, from what it says about itself."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from keyer.cli.common import Force, Json, Output, notice, print_json, wait_for_kernels
from keyer.cli.voice import say

if TYPE_CHECKING:
    from keyer.report.versions.remake import Remade

FAILED = 4
"""Exit code when the picture is not what it was."""


def register(app: typer.Typer) -> None:
    """Add the command."""
    app.command()(remake)


def remake(
    picture: Annotated[
        Path, typer.Argument(metavar="PICTURE", help="PNG written by keyer still or board.")
    ],
    output: Output,
    cell: Annotated[
        int | None, typer.Option("--cell", help="Make only this number of a board, at full size.")
    ] = None,
    folder: Annotated[
        Path | None,
        typer.Option("--folder", help="Folder of the sheet's files. Default: the picture's."),
    ] = None,
    force: Force = False,
    json: Json = False,
) -> int:
    """Make a picture again: a still, a board, or one picture of a board.

    Says whether files of its sheet have changed since, and whether the
    picture is the same to the last bit. Exits with 4 if it is not.
    """
    wait_for_kernels()
    from keyer.report.versions.remake import remake_file

    made = remake_file(picture, output, cell=cell, folder=folder, force=force)
    if json:
        data = {
            "output": str(made.output),
            "what": made.what,
            "same": made.same,
            "changed": list(made.changed),
            "differing_percent": made.differing_percent,
            "largest_difference": made.largest_difference,
            "notices": list(made.notices),
        }
        print_json(data)
    else:
        _print(made)
    for text in made.notices:
        notice(text)
    if made.same:
        return 0
    notice(f"{output} differs from the picture that it was: {_what_differs(made)}.")
    return FAILED


def _what_differs(made: Remade) -> str:
    changed = f"{', '.join(made.changed)} changed since" if made.changed else ""
    differs = f"{made.differing_percent or 0:.3g} % of the pixels differ"
    return " and ".join(
        part for part in (changed, differs if made.differing_percent else "") if part
    )


def _print(made: Remade) -> None:
    say(f"{made.output}: {made.what}")
    for name in made.changed:
        say(f"  {name} has changed since")
    if made.differing_percent is None:
        return
    if made.differing_percent:
        say(
            f"  {made.differing_percent:.3g} % of the pixels differ, by up to "
            f"{made.largest_difference} codes"
        )
    else:
        say("  the same picture, to the last bit")
