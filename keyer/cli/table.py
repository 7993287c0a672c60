"""`keyer table DESIGN ROWS`: many rows of a table in one picture."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from keyer.cli.common import (
    Encoding,
    FieldTexts,
    Force,
    Json,
    RowNumbers,
    RowsFile,
    Where,
    Worksheet,
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
    rows: RowsFile,
    output: Annotated[
        Path,
        typer.Option("-o", "--output", help="Picture to write (PNG, TIFF); several are numbered."),
    ],
    fields: FieldTexts = None,
    kind: Annotated[
        str, typer.Option("--kind", help="alpha, keyfill (two files), or over a picture.")
    ] = "",
    over: Annotated[
        Path | None, typer.Option("--over", help="Picture behind it; measures contrast.")
    ] = None,
    depth: Annotated[int, typer.Option("--depth", help="Bits of the picture, 8 or 16.")] = 8,
    premultiplied: Annotated[
        bool,
        typer.Option("--premultiplied", help="Of kind alpha, as TIFF: colours times alpha."),
    ] = False,
    video_format: Annotated[
        str, typer.Option("--format", help="Format of the picture.")
    ] = "1080p25",
    only: RowNumbers = "",
    where: Where = None,
    worksheet: Worksheet = "",
    encoding: Encoding = "",
    station: Annotated[
        Path | None, typer.Option("--rules", help="A station's rules to hold it against (TOML).")
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
        bits=depth,
        premultiplied=premultiplied,
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
