"""`keyer wipe A B`: one moment of a wipe in a pattern."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from keyer.cli.common import (
    Force,
    Json,
    LightOption,
    Output,
    PatternFolders,
    print_json,
    wait_for_kernels,
)
from keyer.cli.voice import say

if TYPE_CHECKING:
    from keyer.kinds.field import Modulation


def register(app: typer.Typer) -> None:
    """Add the command."""
    app.command()(wipe)


def read_pair(text: str, name: str) -> tuple[float, float]:
    """Read `X,Y`."""
    from keyer.errors import SettingError

    try:
        first, second = (float(part) for part in text.split(","))
    except ValueError:
        msg = f"{name} must be two numbers, X,Y, got {text!r}. For instance 50,50."
        raise SettingError(msg) from None
    return first, second


def read_wave(text: str) -> Modulation:
    """Read `WAVE,AMPLITUDE,WAVELENGTH[,PHASE[,SEED]]`, the phase in cycles."""
    from keyer.errors import SettingError
    from keyer.kinds.field import Modulation
    from keyer.kinds.ranges import check_setting

    wave, *numbers = (part.strip() for part in text.split(","))
    try:
        amplitude, wavelength, phase, seed = [*map(float, numbers), *(0.0, 0.0)[len(numbers) - 2 :]]
    except ValueError:
        msg = (
            "modulate must be WAVE,AMPLITUDE,WAVELENGTH[,PHASE[,SEED]], "
            f"got {text!r:.60}. For instance sine,3,20."
        )
        raise SettingError(msg) from None
    check_setting(Modulation, "seed", seed)
    return Modulation(wave, amplitude, wavelength, phase, seed=int(seed))  # type: ignore[arg-type]


def wipe(
    a: Annotated[Path, typer.Argument(metavar="A", help="The outgoing picture.")],
    b: Annotated[Path, typer.Argument(metavar="B", help="The incoming picture.")],
    output: Output,
    pattern: Annotated[
        str, typer.Option("--pattern", help="SMIL type/subtype, a type, or SMPTE wipe code.")
    ],
    patterns: PatternFolders = None,
    at: Annotated[float, typer.Option("--at", help="Progress: 0 is A, 1 is B.")] = 0.5,
    soft: Annotated[float, typer.Option("--soft", help="Soft edge, % of picture height.")] = 0.0,
    border: Annotated[float, typer.Option("--border", help="Border, % of picture height.")] = 0.0,
    border_colour: Annotated[
        str, typer.Option("--border-colour", help="#RRGGBB of the border.")
    ] = "#FFFFFF",
    border_soft: Annotated[
        float, typer.Option("--border-soft", help="Softness of its sides, % of picture height.")
    ] = 0.0,
    border_ramp: Annotated[
        str | None,
        typer.Option("--border-ramp", help="Second border colour, #RRGGBB, on B's side."),
    ] = None,
    border_source: Annotated[
        Path | None,
        typer.Option("--border-source", metavar="FILE", help="A third picture in the border."),
    ] = None,
    colour: Annotated[
        str, typer.Option("--colour", help="Colour of a fade pattern, #RRGGBB.")
    ] = "#000000",
    reverse: Annotated[
        bool, typer.Option("--reverse", help="Run the pattern the other way round.")
    ] = False,
    position: Annotated[
        str,
        typer.Option("--position", metavar="X,Y", help="Centre, % of picture width and height."),
    ] = "50,50",
    aspect: Annotated[
        float, typer.Option("--aspect", help="Width of the pattern; 2 makes it twice as wide.")
    ] = 1,
    rotate: Annotated[float, typer.Option("--rotate", help="Degrees clockwise.")] = 0.0,
    repeat: Annotated[
        str, typer.Option("--repeat", metavar="X,Y", help="Copies across and down.")
    ] = "1,1",
    mirror: Annotated[bool, typer.Option("--mirror", help="Turn every other copy over.")] = False,
    modulate: Annotated[
        str | None,
        typer.Option(
            "--modulate",
            metavar="WAVE,AMPLITUDE,WAVELENGTH[,PHASE[,SEED]]",
            help="Displace the edge: sine, triangle, square, saw or noise; % of picture height, "
            "phase in cycles.",
        ),
    ] = None,
    light: LightOption = "video",
    force: Force = False,
    json: Json = False,
) -> None:
    """Wipe from one picture to another."""
    wait_for_kernels()
    from keyer.kinds.field import Modifiers
    from keyer.kinds.settings import Edge, parse_colour
    from keyer.render.oneshot import wipe_files

    across, down = read_pair(repeat, "repeat")
    modifiers = Modifiers(
        reverse=reverse,
        position=read_pair(position, "position"),
        aspect=aspect,
        rotation=rotate,
        repeat=(across, down),  # type: ignore[arg-type]  # checked to be whole
        mirror=mirror,
        modulation=read_wave(modulate) if modulate else None,
    )
    ramp = parse_colour(border_ramp, "border-ramp") if border_ramp else None
    filled = parse_colour(border_colour, "border-colour")
    result = wipe_files(
        a,
        b,
        output,
        pattern=pattern,
        at=at,
        edge=Edge(soft, border, border_soft, filled, ramp),
        modifiers=modifiers,
        light=light,
        force=force,
        border_source=border_source,
        colour=parse_colour(colour, "colour"),
        folders=patterns or (),
    )
    if json:
        print_json(result)
    else:
        say(f"{output}: {result['pattern']} at {at:g}")
