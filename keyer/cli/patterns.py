"""`keyer patterns`: the library of wipe patterns, as a list or on one sheet."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from keyer.cli.common import Force, Json, print_json, print_table, wait_for_kernels


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
    gallery: Annotated[
        Path | None,
        typer.Option("--gallery", metavar="FILE", help="Draw them on one sheet instead."),
    ] = None,
    folder: Annotated[
        list[Path] | None,
        typer.Option("--folder", metavar="DIR", help="Add your own patterns; may be repeated."),
    ] = None,
    force: Force = False,
    json: Json = False,
) -> None:
    """List the wipe patterns: type/subtype, SMPTE code, and what the eye sees."""
    from keyer.library import load_patterns

    library = load_patterns(folder or ())
    found = list(library.of_family(family) if family else library)
    if gallery is not None:
        wait_for_kernels()
        from keyer.library.gallery import draw_gallery
        from keyer.media.write import check_output, write_still
        from keyer.pixel.load import from_array

        check_output(gallery, force=force)
        write_still(gallery, from_array(draw_gallery(found)), force=force)
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
    elif gallery is not None:
        print(f"{gallery}: {len(found)} patterns")
    else:
        print_table(
            ("pattern", "code", "what the eye sees"),
            ((p.name, str(p.code or ""), p.summary) for p in found),
        )
