"""`keyer compare OLD NEW`: what has changed from one version of a spot to another."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

import typer

from keyer.cli.common import Force, Json, Set, print_json, wait_for_kernels
from keyer.cli.voice import say

if TYPE_CHECKING:
    from keyer.report.versions.compare import Comparison


def register(app: typer.Typer) -> None:
    """Add the command."""
    app.command()(compare)


def compare(
    old: Annotated[
        str,
        typer.Argument(metavar="OLD", help="A sheet, or an approved version: its file or digest."),
    ],
    new: Annotated[Path, typer.Argument(metavar="NEW", help="The effect sheet as it is.")],
    output: Annotated[
        Path | None,
        typer.Option("-o", "--output", help="Board (.png, .pdf) or page (.html) to write."),
    ] = None,
    paper: Annotated[str, typer.Option("--paper", help="A3 or A4, landscape.")] = "A3",
    values: Set = None,
    force: Force = False,
    json: Json = False,
) -> None:
    """Say what has changed from one sheet to another, in words and in frames.

    Frames are compared by time. With -o, pairs of pictures stand side by
    side, at the frames where each change shows most.
    """
    wait_for_kernels()
    from keyer.report.versions.compare_files import compare_files
    from keyer.sheet.load import read_values

    made = compare_files(
        old, new, output, paper=paper, force=force, variables=read_values(new, values)
    )
    if json:
        print_json(_data(made, output))
        return
    from keyer.report.versions.compare_words import (
        change_lines,
        count_words,
        length_words,
        run_words,
    )

    for line in change_lines(made.changes):
        say(line)
    for text in (count_words(made), length_words(made)):
        if text:
            say(text)
    for run in made.runs:
        say(f"  {run_words(made, run)}")
    if output is not None:
        say(output)


def _data(made: Comparison, output: Path | None) -> dict[str, Any]:
    return {
        "changes": [vars(change) for change in made.changes],
        "frames": made.new.length,
        "differing": made.differing,
        "every": made.step,
        "runs": [
            {
                "first": run.first,
                "last": run.last,
                "most": run.most,
                "timecode": made.new.label(run.most),
                "seen_percent": run.difference.seen_percent,
                "mean_difference": run.difference.mean,
                "largest_codes": run.difference.largest,
            }
            for run in made.runs
        ],
        "output": None if output is None else str(output),
    }
