"""`keyer measure PICTURE`: numbers with verdicts, for a plate or for a matte."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from keyer.cli.common import Json, print_json, print_verdicts, wait_for_kernels


def register(app: typer.Typer) -> None:
    """Add the command."""
    app.command()(measure)


def measure(
    picture: Annotated[
        Path, typer.Argument(metavar="PICTURE", help="A plate, or a keyed picture.")
    ],
    matte: Annotated[
        Path | None, typer.Option("--matte", help="Its matte, white = subject.")
    ] = None,
    json: Json = False,
) -> None:
    """Measure a plate's backing or, with a matte, its coverage and spill."""
    wait_for_kernels()
    from keyer.pixel.kernels.jit import plainly
    from keyer.render.oneshot import measure_file

    with plainly():
        report = measure_file(picture, matte)
    if json:
        print_json(report)
    else:
        print_verdicts(report["verdicts"])
