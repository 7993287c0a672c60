"""`keyer sheet`: whether a sheet holds as it is written, and the schema for editors."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from keyer.cli.common import Json, Set, print_json
from keyer.cli.voice import say
from keyer.errors import SettingError


def register(app: typer.Typer) -> None:
    """Add the command."""
    app.command()(sheet)


def sheet(
    path: Annotated[
        Path | None, typer.Argument(metavar="SHEET", help="The effect sheet to read.")
    ] = None,
    schema: Annotated[
        bool, typer.Option("--schema", help="Print the JSON Schema of sheets, for editors.")
    ] = False,
    values: Set = None,
    json: Json = False,
) -> None:
    """Read a sheet and say whether it is valid; no picture is opened or rendered.

    With --schema, print what an editor needs to check and complete sheets as
    they are typed (JSON Schema, draft 2020-12).
    """
    if schema:
        from keyer.sheet.reference import json_schema

        print_json(json_schema())
        return
    if path is None:
        msg = "SHEET is missing. Name an effect sheet, or use --schema."
        raise SettingError(msg)
    from keyer.sheet.load import load_sheet, read_values

    asked = read_values(path, values)
    found = load_sheet(path, variables=asked)
    data = {
        "title": found.title,
        "format": found.format.name,
        "frames": found.length,
        "sources": len(found.sources),
        "cues": len(found.cues),
        "overlays": len(found.overlays),
    }
    if json:
        print_json(data)
        return
    say(
        f"{path}: {found.format.name}, {_many(found.length, 'frame')}, "
        f"{_many(len(found.sources), 'source')}, {_many(len(found.cues), 'cue')}, "
        f"{_many(len(found.overlays), 'overlay')}. The sheet is valid; "
        "'keyer check' looks at the pictures."
    )


def _many(count: int, thing: str) -> str:
    return f"{count} {thing}{'' if count == 1 else 's'}"
