"""A whole batch from file names: rows read, all faults told first, then rendered."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from contextlib import ExitStack, contextmanager
from dataclasses import dataclass, replace
from functools import partial
from pathlib import Path

from keyer.batch.choose_rows import choose_rows
from keyer.batch.contact import ContactSheets, contact_names, largest_for, refuse_other_pictures
from keyer.batch.job import Job, make_job
from keyer.batch.manifest import Entry, Manifest, read_manifest
from keyer.batch.preflight import Preflight, outputs_of, preflight, told_once
from keyer.batch.prune import ASIDE
from keyer.batch.report import BatchReport
from keyer.batch.resume import There, look_round
from keyer.batch.room import refuse_small_disk
from keyer.batch.rows import Rows, read_rows
from keyer.batch.run import Render, in_processes, run_batch
from keyer.batch.stored import MOVING, Stored
from keyer.batch.workers import Workers
from keyer.errors import OutputError, SettingError
from keyer.measure.title_rules import NO_RULES, TitleRules
from keyer.media.files import Files
from keyer.pixel.kernels.bands import default_threads
from keyer.render.zones import refuse_no_zones
from keyer.sheet.load import load_sheet

Told = Callable[[str, int, int], None]
"""Called with what is counted, how many are done, and of how many."""

Said = Callable[[str], None]
"""Called with what a person who waits should know."""

MOST_GONE = 5
MOST_SHOWN = 200
"""Faults listed in full; more would scroll off any screen."""


@dataclass(frozen=True)
class BatchOrder:
    """Options of `keyer batch`, as the command line gives them.

    Attributes
    ----------
    sheet, rows : Path
    folder : Path
        For the outputs; made if its parent is there.
    kind : {"over", "keyfill", "alpha"}
    form : {"png", "tiff", "clip", "parts"}
    bits : {8, 16} or None
    premultiplied : bool
        As of `keyer.batch.stored.Stored`.
    as_in_sheet : tuple of str
        Fields that stay as the sheet fills them, on every picture.
    at : str or None
        Time of the stills; None: when the last title is fully in.
    file_column : str
        The column that names the outputs.
    worksheet : str or None
        Sheet of a workbook; None: the first that is not hidden.
    encoding : str or None
        Of a CSV; None: UTF-8.
    jobs : int or None
        Processes; None: one for each core.
    resume : bool
        Keep what is there and still holds.
    force : bool
        Replace what is there.
    keep_going : bool
        Render the good rows where others have faults.
    scheduler : str or None
        Address of a cluster's scheduler; None: this machine.
    contact : Path or None
        Contact sheets of all results; None: none.
    zones : bool
        Draw what the station's rules keep free into their pictures.
    only : str
        Numbers of the rows that are wanted; empty: all.
    where : tuple of str
        `COLUMN=TEXT` that wanted rows have.
    prune : bool
        Move the pictures of rows that are gone aside.
    """

    sheet: Path
    rows: Path
    folder: Path
    kind: str = "over"
    form: str = "png"
    bits: int | None = None
    premultiplied: bool = False
    as_in_sheet: tuple[str, ...] = ()
    at: str | None = None
    file_column: str = "file"
    worksheet: str | None = None
    encoding: str | None = None
    jobs: int | None = None
    resume: bool = False
    force: bool = False
    keep_going: bool = False
    scheduler: str | None = None
    contact: Path | None = None
    zones: bool = False
    only: str = ""
    where: tuple[str, ...] = ()
    prune: bool = False


@dataclass(frozen=True)
class Checked:
    """A batch whose table, sheet and rows have been read and checked.

    Attributes
    ----------
    found : Preflight
    table : Rows
    job : Job
    files : Files
    known : Manifest
        Of the folder.
    kept : tuple of Entry
        Rows that a resumed run need not render again.
    left : frozenset of str
        Files of rows that were not chosen.
    zones : TitleRules
        Drawn into the pictures of contact sheets.
    """

    found: Preflight
    table: Rows
    job: Job
    files: Files
    known: Manifest
    kept: tuple[Entry, ...] = ()
    left: frozenset[str] = frozenset()
    zones: TitleRules = NO_RULES


def check_batch(order: BatchOrder, told: Told = lambda _what, _done, _all: None) -> Checked:
    """Read table and sheet and check every row; nothing is drawn or written.

    Parameters
    ----------
    order : BatchOrder
    told : callable, optional
        Called with what is counted, how many are done, and of how many.

    Raises
    ------
    KeyerError
        If the sheet or the table cannot be read, or a column sets nothing.
    """
    _jobs(order)
    if order.resume and order.force:
        msg = (
            "resume and force exclude each other: one keeps what is there, one replaces it. "
            "Leave one out."
        )
        raise SettingError(msg)
    if order.at is not None and order.form in MOVING:
        msg = f"at is the time of a still, and format {order.form} shows all times. Leave it out."
        raise SettingError(msg)
    zones = _zones(order)
    files = Files((order.sheet, order.rows), force=order.resume or order.force)
    files.folder(order.folder)
    chosen = choose_rows(
        read_rows(order.rows, order.worksheet, order.encoding), order.only, order.where
    )
    table = chosen.table
    job = make_job(
        order.sheet,
        table.columns,
        Stored(order.kind, order.form, order.bits, order.premultiplied),
        at=order.at,
        file_column=order.file_column,
        as_in_sheet=order.as_in_sheet,
    )
    found = preflight(
        job,
        table,
        None if order.resume or order.force else order.folder,
        left=chosen.left,
        told=partial(told, "rows checked"),
    )
    files.read(*found.inputs)
    known = read_manifest(order.folder)
    found = _named(found, order, files, len(table.rows))
    there = look_round(order.folder, found.tasks, known) if order.resume else There()
    found = _less(found, there.faults, len(table.rows))
    if order.contact is not None:
        job = replace(job, small=largest_for(len(found.tasks)))
    left = frozenset(outputs_of(job, row)[0] for row in chosen.left if outputs_of(job, row))
    return Checked(found, table, job, files, known, there.kept, left, zones)


def _zones(order: BatchOrder) -> TitleRules:
    if not order.zones:
        return NO_RULES
    if order.contact is None:
        msg = (
            "zones are drawn into contact sheets, of which none is asked for. Name it (--contact)."
        )
        raise SettingError(msg)
    rules = load_sheet(order.sheet).title_rules
    refuse_no_zones(rules)
    return rules


def _contact(order: BatchOrder, checked: Checked, stack: ExitStack) -> ContactSheets | None:
    """Make what draws contact sheets while rows are rendered; none if none are asked for."""
    if order.contact is None:
        return None
    sheets = ContactSheets(
        order.contact, checked.found.tasks, order.folder, checked.job,
        checked.files, _jobs(order), checked.zones,
    )  # fmt: skip
    stack.callback(sheets.close)
    return sheets


@contextmanager
def _renders(order: BatchOrder, job: Job, said: Said, workers: Workers) -> Iterator[Render]:
    """Choose what renders: processes here, or a cluster."""
    if order.scheduler is None:
        yield in_processes(job, order.folder, _jobs(order))
        return
    from keyer.batch.cluster import on_cluster

    with on_cluster(job, order.folder, order.scheduler, said, workers) as render:
        yield render


def _jobs(order: BatchOrder) -> int:
    jobs = order.jobs if order.jobs is not None else default_threads()
    if not 1 <= jobs <= 256:
        msg = f"jobs must be in [1, 256], got {jobs}."
        raise SettingError(msg)
    return jobs


def _named(found: Preflight, order: BatchOrder, files: Files, rows: int) -> Preflight:
    """Name every output, now that every input is known."""
    faults: list[tuple[int, str]] = []
    for task in found.tasks:
        try:
            for name in task.outputs:
                files.write(order.folder / name)
        except OutputError as error:
            faults.append((task.row.number, str(error)))
    found = _less(found, faults, rows)
    if order.contact is not None:
        for sheet in contact_names(order.contact, len(found.tasks)):
            if order.resume:
                refuse_other_pictures(sheet)
            files.still(sheet)
    return found


def named_by(checked: Checked) -> frozenset[str]:
    """First files of every row of the table, whether it is good or not."""
    found = (outputs_of(checked.job, row) for row in checked.table.rows)
    return frozenset(names[0] for names in found if names)


def _less(found: Preflight, faults: Sequence[tuple[int, str]], rows: int) -> Preflight:
    """Take rows at fault out of what is to be rendered."""
    bad = {row for row, _ in faults}
    tasks = tuple(task for task in found.tasks if task.row.number not in bad)
    told = sorted((*found.faults, *told_once(faults, rows)), key=lambda fault: fault.rows[0])
    return replace(found, tasks=tasks, faults=tuple(told))


def batch(
    order: BatchOrder,
    *,
    dry_run: bool = False,
    told: Told = lambda _what, _done, _all: None,
    said: Said = lambda _text: None,
    workers: Workers | None = None,
) -> BatchReport:
    """Check all rows of a table, then render those that hold.

    Parameters
    ----------
    order : BatchOrder
    dry_run : bool
        Check everything and render nothing.
    told : callable, optional
        Called with what is counted ("rows checked", "rows", "contact sheets"),
        how many are done, and of how many.
    said : callable, optional
        Called with what a person who waits should know.
    workers : Workers, optional
        Counts those of a cluster.

    Returns
    -------
    BatchReport
        With faults and no outcome where rows have faults and the batch is not
        to keep going.

    Raises
    ------
    KeyerError
        If it cannot be carried out at all.
    """
    workers = workers or Workers()
    checked = check_batch(order, told)
    found, rows, notices = checked.found, len(checked.table.rows), checked.table.notices
    if dry_run or not found.tasks or (found.faults and not order.keep_going):
        return BatchReport(rows, None, found.faults, notices)
    refuse_small_disk(
        checked.job, found.tasks, {entry.outputs[0][0] for entry in checked.kept}, order.folder,
        contact_names(order.contact, len(found.tasks)) if order.contact else (),
    )  # fmt: skip
    pages: Sequence[Path] = ()
    with ExitStack() as stack:
        sheets = _contact(order, checked, stack)
        render = stack.enter_context(_renders(order, checked.job, said, workers))
        outcome = run_batch(
            found.tasks, order.folder, render, checked.known, checked.kept, checked.left,
            spared=named_by(checked) if order.prune else None,
            then=sheets.add if sheets else lambda _row, _entry: None,
            told=partial(told, "rows"),
        )  # fmt: skip
        if sheets:
            pages = sheets.finish(partial(told, "contact sheets"))
    late = told_once(outcome.faults, rows)
    faults = sorted((*found.faults, *late), key=lambda fault: fault.rows[0])
    if outcome.aside:
        count = len(outcome.aside)
        files = "1 file" if count == 1 else f"{count} files"
        notices = (*notices, f"{files} of no row of the table moved into {order.folder / ASIDE}.")
    if outcome.gone:
        shown = ", ".join(outcome.gone[:MOST_GONE])
        more = len(outcome.gone) - MOST_GONE
        also = f" and {more} more" if more > 0 else ""
        notices = (*notices, f"in the folder, but not from a good row of the table: {shown}{also}.")
    return BatchReport(rows, outcome, tuple(faults), notices, tuple(pages), dict(workers.rows))
