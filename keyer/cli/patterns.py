"""`keyer patterns`: the library of wipe patterns and backgrounds, as a list or on one sheet."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from keyer.cli.common import Force, Json, PatternFolders, print_json, print_table, wait_for_kernels
from keyer.cli.voice import say

if TYPE_CHECKING:
    from keyer.paper.page import Page


def register(app: typer.Typer) -> None:
    """Add the command."""
    app.command()(patterns)


def patterns(
    family: Annotated[
        str | None,
        typer.Option(
            "--family", metavar="NAME", help="Only these: edge, iris, clock, matrix, move."
        ),
    ] = None,
    backgrounds: Annotated[
        bool, typer.Option("--backgrounds", help="The moving backgrounds instead.")
    ] = False,
    chart: Annotated[
        Path | None,
        typer.Option("--chart", metavar="FILE", help="Draw them on one sheet instead."),
    ] = None,
    folders: PatternFolders = None,
    force: Force = False,
    json: Json = False,
) -> None:
    """List the wipe patterns: type/subtype, SMPTE code, and what the eye sees."""
    from keyer.errors import SettingError

    if not backgrounds:
        _patterns(family, chart, folders or [], force, json)
        return
    if family is not None:
        msg = f"family belongs to patterns, got {family!r} with --backgrounds. Leave one out."
        raise SettingError(msg)
    _backgrounds(chart, folders or [], force, json)


def _patterns(
    family: str | None, chart: Path | None, folders: list[Path], force: bool, json: bool
) -> None:
    from keyer.library import load_patterns

    library = load_patterns(folders)
    found = list(library.of_family(family) if family else library)
    if chart is not None:
        from keyer.report.boards.pattern_chart import pattern_chart

        _write(chart, lambda: pattern_chart(found), folders, force)
    if json:
        rows = [
            {
                "name": p.name,
                "type": p.type,
                "subtype": p.subtype,
                "code": p.code,
                "family": p.family,
                "summary": p.summary,
            }
            for p in found
        ]
        print_json({"patterns": rows})
    elif chart is not None:
        say(f"{chart}: {len(found)} patterns")
    else:
        print_table(
            ("pattern", "code", "what the eye sees"),
            ((p.name, str(p.code or ""), p.summary) for p in found),
        )


def _backgrounds(chart: Path | None, folders: list[Path], force: bool, json: bool) -> None:
    from keyer.library import load_patterns
    from keyer.library.looks import load_looks

    looks = list(load_looks(folders).values())
    if chart is not None:
        from keyer.report.boards.pattern_chart import look_chart

        _write(chart, lambda: look_chart(looks, load_patterns(folders)), folders, force)
    if json:
        rows = [{"name": p.name, "pattern": p.pattern, "summary": p.summary} for p in looks]
        print_json({"backgrounds": rows})
    elif chart is not None:
        say(f"{chart}: {len(looks)} backgrounds")
    else:
        print_table(("background", "what the eye sees"), ((p.name, p.summary) for p in looks))


def _write(path: Path, draw: Callable[[], Page], folders: list[Path], force: bool) -> None:
    """Draw a sheet of pictures once it is known that it can be written."""
    from keyer.media.files import Files
    from keyer.media.write import write_still
    from keyer.paper.raster import page_picture
    from keyer.render.inputs import pattern_inputs

    files = Files(pattern_inputs(folders), force=force)
    files.still(path)
    wait_for_kernels()
    write_still(path, page_picture(draw()), files)
