"""`keyer proof SHEET [ROWS]`: all texts of all titles, to be read before anything is rendered."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from keyer.cli.common import (
    Encoding,
    FileColumn,
    Force,
    Json,
    RowNumbers,
    Set,
    SheetFile,
    Where,
    Worksheet,
    notice,
    print_json,
)
from keyer.cli.progress import progress
from keyer.cli.voice import say
from keyer.kinds.check_names import NAMES
from keyer.kinds.figures import figures

if TYPE_CHECKING:
    from keyer.batch.proof import Proof, ProofTitle
    from keyer.media.files import Files

FAILED = 4
"""Exit code when a title does not pass."""


def register(app: typer.Typer) -> None:
    """Add the command."""
    app.command()(proof)


def proof(
    sheet: SheetFile,
    rows: Annotated[
        Path | None,
        typer.Argument(metavar="[ROWS]", help="Table of a batch, CSV or XLSX: its rows' titles."),
    ] = None,
    output: Annotated[
        Path | None,
        typer.Option("-o", "--output", help="Proof to print, .pdf or .png. Default: as text."),
    ] = None,
    only: RowNumbers = "",
    where: Where = None,
    file_column: FileColumn = "file",
    as_in_sheet: Annotated[
        list[str] | None,
        typer.Option(
            "--as-in-sheet", metavar="FIELD", help="Field that no column sets, as for a batch."
        ),
    ] = None,
    worksheet: Worksheet = "",
    encoding: Encoding = "",
    values: Set = None,
    force: Force = False,
    json: Json = False,
) -> int:
    """Proof the titles of a sheet, or of each row of a table, without drawing a picture.

    For each title: its texts, to be read for spelling; letters, words, the seconds
    that they take to read and have on screen; what does not hold of its size and
    its place, above all what stands in a zone that the station's rules keep free.
    Exits with 4 if a title fails or cannot be drawn.
    """
    from keyer.batch.proof_titles import RowsProof, proof_rows, proof_sheet
    from keyer.errors import SettingError
    from keyer.media.files import Files
    from keyer.sheet.load import read_values

    files = Files((sheet, *([rows] if rows else ())), force=force)
    name_output(output, files)
    if rows is None:
        if only or where or as_in_sheet or worksheet or encoding:
            msg = (
                "--rows, --where, --as-in-sheet, --worksheet and --encoding need a table: name it."
            )
            raise SettingError(msg)
        made = proof_sheet(sheet, read_values(sheet, values))
    else:
        if values:
            msg = "--set is for a sheet alone: the table sets its variables. Leave it out."
            raise SettingError(msg)
        order = RowsProof(
            sheet, rows, file_column, worksheet or None, encoding or None,
            tuple(as_in_sheet or ()), only, tuple(where or ()),
        )  # fmt: skip
        with progress(quiet=json) as told:
            made = proof_rows(order, lambda done, total: told("rows", done, total))
    return tell_proof(made, output, files, json=json)


def name_output(output: Path | None, files: Files) -> None:
    """Name the output of a proof, if it has one."""
    if output is not None:
        from keyer.batch.proof_page import name_proof

        name_proof(output, files)


def tell_proof(made: Proof, output: Path | None, files: Files, *, json: bool) -> int:
    """Write or print a proof.

    Parameters
    ----------
    made : Proof
    output : Path or None
        Named to `files` already.
    files : Files
    json : bool

    Returns
    -------
    int
        The exit code.
    """
    written: list[Path] = []
    if output is not None:
        from keyer.batch.proof_page import write_proof

        files.read(*made.inputs)
        written = write_proof(made, output, files)
    counts = made.counts
    if json:
        print_json({**made.as_dict(), "outputs": [str(path) for path in written]})
    else:
        for text in made.notices:
            notice(text)
        if output is None:
            for one in made.titles:
                _print(one)
        for path in written:
            say(f"{path}: proof")
        for kind in made.summary():
            say(str(kind))
        faults = sum(bool(one.fault) for one in made.titles)
        many = len(made.titles)
        say(
            f"{many} title{'' if many == 1 else 's'}: {counts['fails']} fail"
            f"{f' ({faults} cannot be drawn)' if faults else ''}, {counts['watch']} to watch."
        )
    failing = sorted({one.number for one in made.titles if one.verdict == "fails"})
    if not failing:
        return 0
    from keyer.batch.grid import spans

    s = "" if len(failing) == 1 else "s"
    notice(f"{made.noun}{s} {spans(failing)} do{'' if s else 'es'} not pass.")
    return FAILED


def _print(one: ProofTitle) -> None:
    say("   ".join(part for part in (str(one.number), one.name, one.when) if part))
    for line in one.lines:
        say(f"    {line}")
    if one.letters:
        on_screen = "" if one.on_screen is None else f", on screen for {one.on_screen:.1f} s"
        words = "1 word" if one.words == 1 else f"{one.words} words"
        say(f"  {one.letters} letters, {words}, {one.needed:.1f} s to read{on_screen}")
    if one.fault:
        say(f"  fails: cannot be drawn: {one.fault}")
    for verdict in one.verdicts:
        if verdict.verdict != "holds":
            name = NAMES.get(verdict.measure, verdict.measure)
            value = f"{figures(verdict.measure, verdict.value)} {verdict.unit}"
            say(f"  {verdict.verdict}: {name}: {value}. {verdict.remedy}")
    for note in one.notes:
        say(f"  {note}")
