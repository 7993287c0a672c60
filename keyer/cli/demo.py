"""`keyer demo DIR`: a whole project to look at."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from keyer.cli.common import Json, notice, print_json, wait_for_kernels


def register(app: typer.Typer) -> None:
    """Add the command."""
    app.command()(demo)


def demo(
    folder: Annotated[Path, typer.Argument(metavar="DIR", help="Folder to make.")],
    json: Json = False,
) -> None:
    """Write a demo project into a new folder and render it."""
    wait_for_kernels()
    from keyer.demo.project import write_demo

    written = write_demo(folder, notice)
    if json:
        print_json({"folder": str(folder), "files": [str(path) for path in written]})
        return
    print(f"{folder}: {len(written)} files. Look at {folder / 'stills'} first,")
    print(
        f"then at {folder / 'sheet.toml'}, which made most of them, and {folder / 'numbers.json'}."
    )
