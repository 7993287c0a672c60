"""`keyer wipe A B`: one moment of a wipe in a pattern."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from keyer.cli.common import Force, Json, LightOption, Output, print_json, wait_for_kernels


def register(app: typer.Typer) -> None:
    """Add the command."""
    app.command()(wipe)


def read_pair(text: str, name: str) -> tuple[float, float]:
    """Read `X,Y`."""
    from keyer.errors import SettingError

    try:
        first, second = (float(part) for part in text.split(","))
    except ValueError:
        msg = f"{name} must be two numbers, X,Y, got {text!r}. The middle is 50,50."
        raise SettingError(msg) from None
    return first, second


def wipe(
    a: Annotated[Path, typer.Argument(metavar="A", help="The picture that goes.")],
    b: Annotated[Path, typer.Argument(metavar="B", help="The picture that comes.")],
    output: Output,
    pattern: Annotated[
        str, typer.Option("--pattern", help="SMIL type/subtype or SMPTE wipe code.")
    ],
    at: Annotated[float, typer.Option("--at", help="Progress: 0 is A, 1 is B.")] = 0.5,
    soft: Annotated[float, typer.Option("--soft", help="Soft edge, % of picture height.")] = 0.0,
    border: Annotated[float, typer.Option("--border", help="Border, % of picture height.")] = 0.0,
    border_colour: Annotated[
        str, typer.Option("--border-colour", help="#RRGGBB of the border.")
    ] = "#FFFFFF",
    border_soft: Annotated[
        float, typer.Option("--border-soft", help="Softness of its sides, % of picture height.")
    ] = 0.0,
    reverse: Annotated[
        bool, typer.Option("--reverse", help="Run the pattern the other way round.")
    ] = False,
    position: Annotated[
        str,
        typer.Option("--position", metavar="X,Y", help="Centre, % of picture width and height."),
    ] = "50,50",
    light: LightOption = "video",
    force: Force = False,
    json: Json = False,
) -> None:
    """Wipe from one picture to another."""
    wait_for_kernels()
    from keyer.kinds.field import Modifiers
    from keyer.kinds.settings import Edge, parse_colour
    from keyer.render.oneshot import wipe_files

    result = wipe_files(
        a,
        b,
        output,
        pattern=pattern,
        at=at,
        edge=Edge(soft, border, border_soft, parse_colour(border_colour, "border-colour")),
        modifiers=Modifiers(reverse=reverse, position=read_pair(position, "position")),
        light=light,
        force=force,
    )
    if json:
        print_json(result)
    else:
        print(f"{output}: {result['pattern']} at {at:g}")
