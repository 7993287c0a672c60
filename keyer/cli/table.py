"""`keyer table DESIGN ROWS`: many rows of a table in one picture."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from keyer.cli.common import (
    Force,
    Json,
    named_texts,
    notice,
    print_json,
    print_verdicts,
    wait_for_kernels,
)
from keyer.cli.voice import say


def register(app: typer.Typer) -> None:
    """Add the command."""
    app.command()(table)


def table(
    design: Annotated[
        Path, typer.Argument(metavar="DESIGN", help="A title design (TOML) with a [table].")
    ],
    rows: Annotated[
        Path, typer.Argument(metavar="ROWS", help="CSV (UTF-8) or XLSX, columns named in row 1.")
    ],
    output: Annotated[
        Path,
        typer.Option("-o", "--output", help="Picture to write (PNG); of several each is numbered."),
    ],
    fields: Annotated[
        list[str] | None,
        typer.Option("-f", "--field", help="NAME=TEXT: the text of a field; may be repeated."),
    ] = None,
    kind: Annotated[
        str, typer.Option("--kind", help="alpha, keyfill (two files), or over a picture.")
    ] = "",
    over: Annotated[
        Path | None, typer.Option("--over", help="Picture behind it; measures contrast.")
    ] = None,
    video_format: Annotated[
        str, typer.Option("--format", help="Format of the picture.")
    ] = "1080p25",
    only: Annotated[
        str, typer.Option("--rows", help="Numbers of the rows that are wanted: 2-40,57,90-.")
    ] = "",
    where: Annotated[
        list[str] | None,
        typer.Option("--where", metavar="COLUMN=TEXT", help="Only rows with this in a column."),
    ] = None,
    worksheet: Annotated[
        str, typer.Option("--worksheet", help="Sheet of an XLSX. Default: the first one shown.")
    ] = "",
    encoding: Annotated[
        str, typer.Option("--encoding", help="Of a CSV: utf-8, utf-16 or latin-1.")
    ] = "",
    station: Annotated[
        Path | None, typer.Option("--station", help="A station's rules to hold it against (TOML).")
    ] = None,
    force: Force = False,
    json: Json = False,
) -> int:
    """Set the rows of a table in one picture, or in several where they do not fit in one.

    Columns are aligned, figures at the right and all equally wide.
    """
    from keyer.batch.choose_rows import choose_rows
    from keyer.batch.one_title import TitleOrder
    from keyer.batch.results import prepare_table
    from keyer.batch.rows import read_rows
    from keyer.kinds.formats import parse_format

    order = TitleOrder(
        design,
        None,
        Path("pages"),
        parse_format(video_format),
        named_texts(fields or []),
        kind or ("over" if over else "alpha"),
        over,
        rules=station,
    )
    read = read_rows(rows, worksheet or None, encoding or None)
    chosen = choose_rows(read, only, tuple(where or ()))
    wait_for_kernels()
    ready = prepare_table(order, chosen.table, output, (rows,), force=force)
    result = ready.write()
    result["notes"] += read.notices
    if json:
        print_json(result)
        return 0
    for line in result["outputs"]:
        say(line)
    for text in result["notes"]:
        notice(text)
    print_verdicts(result["verdicts"])
    return 0
