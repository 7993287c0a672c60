"""`keyer batch SHEET ROWS -d FOLDER`: one picture for each row of a table."""

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
    RowsFile,
    SheetFile,
    Where,
    Worksheet,
    notice,
    print_json,
    wait_for_processes,
)
from keyer.cli.progress import progress
from keyer.cli.voice import say
from keyer.kinds import stopping

if TYPE_CHECKING:
    from keyer.batch.report import BatchReport


REQUEST, FAILED = 2, 4
_MOST_NAMED = 5


def register(app: typer.Typer) -> None:
    """Add the command."""
    app.command()(batch)


def batch(
    sheet: SheetFile,
    rows: RowsFile,
    folder: Annotated[Path, typer.Option("-d", "--folder", help="Folder for the pictures.")],
    kind: Annotated[
        str, typer.Option("--kind", help="over the picture, keyfill (two files), or alpha.")
    ] = "over",
    form: Annotated[
        str,
        typer.Option("--format", help="png or tiff: stills; clip: the sheet; parts: in, hold, out"),
    ] = "png",
    depth: Annotated[
        int, typer.Option("--depth", help="Bits of stills, 8 or 16. Default: 8 or the sources'.")
    ] = 0,
    premultiplied: Annotated[
        bool,
        typer.Option("--premultiplied", help="For alpha in TIFF: write premultiplied colour."),
    ] = False,
    at: Annotated[
        str, typer.Option("--at", help="Time of the stills. Default: when all titles are fully in.")
    ] = "",
    file_column: FileColumn = "file",
    as_in_sheet: Annotated[
        list[str] | None,
        typer.Option(
            "--as-in-sheet",
            metavar="FIELD",
            help="Field that no column sets: every picture shows the sheet's text.",
        ),
    ] = None,
    worksheet: Worksheet = "",
    encoding: Encoding = "",
    only: RowNumbers = "",
    where: Where = None,
    jobs: Annotated[int, typer.Option("--jobs", help="Processes. Default: one for each core.")] = 0,
    resume: Annotated[
        bool, typer.Option("--resume", help="Render only what is missing, damaged or changed.")
    ] = False,
    keep_going: Annotated[
        bool, typer.Option("--keep-going", help="Render the good rows and list the others.")
    ] = False,
    prune: Annotated[
        bool,
        typer.Option("--prune", help="Move pictures of rows that are gone aside, in the folder."),
    ] = False,
    dry_run: Annotated[bool, typer.Option("--dry-run", help="Check the rows only.")] = False,
    contact: Annotated[
        Path | None,
        typer.Option("--contact", help="Draw all results on contact sheets, to proof-read."),
    ] = None,
    zones: Annotated[
        bool,
        typer.Option(
            "--zones", help="Draw what the station's rules keep free into contact sheets."
        ),
    ] = False,
    scheduler: Annotated[
        str, typer.Option("--scheduler", help="Address of a dask.distributed scheduler.")
    ] = "",
    force: Force = False,
    json: Json = False,
) -> int:
    """Render a sheet once for each row of a table.

    A column sets, by its name, a variable of the sheet or a field of a title on
    it. If its name begins with #, it is a remark. All faults of all rows are
    listed before anything is drawn. Clips are not checked for flashes and
    stripes, which can trigger seizures in people with photosensitive epilepsy:
    run 'keyer check' on the sheet before anybody watches.
    """
    from keyer.batch.front import BatchOrder
    from keyer.batch.front import batch as carry_out
    from keyer.batch.stored import MOVING
    from keyer.batch.workers import Workers
    from keyer.kinds.cautions import UNCHECKED

    order = BatchOrder(
        sheet,
        rows,
        folder,
        kind=kind,
        form=form,
        bits=depth or None,
        premultiplied=premultiplied,
        as_in_sheet=tuple(as_in_sheet or ()),
        at=at or None,
        file_column=file_column,
        worksheet=worksheet or None,
        encoding=encoding or None,
        jobs=jobs or None,
        resume=resume,
        force=force,
        keep_going=keep_going,
        scheduler=scheduler or None,
        contact=contact,
        zones=zones,
        only=only,
        where=tuple(where or ()),
        prune=prune,
    )
    if not dry_run:
        wait_for_processes()
        stopping.advise("finished files stay. Run the same command with --resume to do the rest.")
    workers = Workers()
    with progress(quiet=json, also=lambda: str(workers)) as told:
        report = carry_out(order, dry_run=dry_run, told=told, said=notice, workers=workers)
    stopping.advise("")
    moving = {"caution": UNCHECKED} if form in MOVING else {}
    if json:
        contacts = [str(page) for page in report.contact]
        print_json({**report.as_dict(), **moving, "contact": contacts})
        if report.faults:
            notice(f"{len(report.bad)} of {report.rows} rows have faults; the JSON lists them.")
    else:
        _print(report, folder, dry_run=dry_run)
        for text in moving.values():
            say(text)
        for page in report.contact:
            say(f"{page}: contact sheet")
    failed = report.failed
    if failed:
        names = ", ".join(f"{entry.row} {entry.name}" for entry in failed[:_MOST_NAMED])
        more = f" and {len(failed) - _MOST_NAMED} more" if len(failed) > _MOST_NAMED else ""
        many = len(failed) > 1
        notice(
            f"{len(failed)} row{'s do' if many else ' does'} not pass the checks: {names}{more}."
        )
    return REQUEST if report.faults else FAILED if failed else 0


def _print(report: BatchReport, folder: Path, *, dry_run: bool) -> None:
    from keyer.batch.front import MOST_SHOWN
    from keyer.batch.summary import summary

    data = report.as_dict()
    for text in report.notices:
        notice(text)
    for fault in report.faults[:MOST_SHOWN]:
        notice(str(fault))
    if len(report.faults) > MOST_SHOWN:
        notice(f"and {len(report.faults) - MOST_SHOWN} more faults (--json lists all).")
    bad = len(report.bad)
    if report.outcome is None:
        good = report.rows - bad
        render = " Correct them, or render the good rows (--keep-going)."
        cure = "" if dry_run or not good else render
        say(f"{report.rows} rows: {good} good, {bad} with faults. Nothing was rendered.{cure}")
        return
    say(
        f"{folder}: {data['done']} of {report.rows} rows done, {data['rendered']} rendered now, "
        f"{data['kept']} kept."
    )
    if report.workers:
        say(f"By worker: {', '.join(f'{who} {rows}' for who, rows in report.workers.items())}.")
    for kind in summary(report.outcome.entries):
        say(str(kind))
