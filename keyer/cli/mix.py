"""`keyer mix A B`: a mix of two pictures at one moment."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from keyer.cli.common import Force, Json, LightOption, Output, print_json, wait_for_kernels
from keyer.cli.voice import say


def register(app: typer.Typer) -> None:
    """Add the command."""
    app.command()(mix)


def mix(
    a: Annotated[Path, typer.Argument(metavar="A", help="The outgoing picture.")],
    b: Annotated[Path, typer.Argument(metavar="B", help="The incoming picture.")],
    output: Output,
    at: Annotated[float, typer.Option("--at", help="Progress: 0 is A, 1 is B.")] = 0.5,
    kind: Annotated[
        str, typer.Option("--kind", help="mix, additive (its full name) or non-additive.")
    ] = "mix",
    light: LightOption = "video",
    force: Force = False,
    json: Json = False,
) -> None:
    """Mix two pictures."""
    wait_for_kernels()
    from keyer.pixel.kernels.jit import plainly
    from keyer.render.oneshot import mix_files

    with plainly():
        result = mix_files(a, b, output, at=at, kind=kind, light=light, force=force)
    if json:
        print_json(result)
    else:
        say(f"{output}: {kind} at {at:g}")
