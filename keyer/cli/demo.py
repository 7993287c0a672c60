"""`keyer demo DIR`: a whole project to look at."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from keyer.cli.common import Json, notice, print_json, wait_for_kernels
from keyer.cli.voice import say

CAUTION = (
    "faults.toml flashes and media/stripes.png has stripes, on purpose: both can trigger seizures "
    "in people with photosensitive epilepsy. Do not show them to people."
)


def register(app: typer.Typer) -> None:
    """Add the command."""
    app.command()(demo)


def demo(
    folder: Annotated[Path, typer.Argument(metavar="DIR", help="Folder to make.")],
    json: Json = False,
) -> None:
    """Write a demo project into a new folder and render it.

    Its faults.toml flashes and its media/stripes.png has stripes, on purpose:
    both can trigger seizures in people with photosensitive epilepsy.
    """
    wait_for_kernels()
    from keyer.demo.project import write_demo

    written = write_demo(folder, notice)
    if json:
        files = [str(path) for path in written]
        print_json({"folder": str(folder), "files": files, "caution": CAUTION})
        return
    say(f"{folder}: {len(written)} files. Look at {folder / 'stills'} first,")
    say(f"then at {folder / 'sheet.toml'}, which made most of them, and {folder / 'numbers.json'}.")
    say(CAUTION)
