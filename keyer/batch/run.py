"""Rows rendered by several processes, each file whole or not at all, resumed at any point."""

from __future__ import annotations

import dataclasses
import hashlib
from collections.abc import Callable, Collection, Generator, Iterable, Iterator, Sequence
from concurrent.futures import FIRST_COMPLETED, Future, wait
from concurrent.futures.process import BrokenProcessPool
from contextlib import closing
from dataclasses import dataclass
from pathlib import Path

import cv2

from keyer.batch.folder import held
from keyer.batch.job import Job
from keyer.batch.manifest import Entry, Manifest, add_line, end_torn_line, write_manifest
from keyer.batch.preflight import Task
from keyer.batch.prune import prune
from keyer.batch.render_row import Made, RowRenderer
from keyer.errors import KeyerError, OutputError
from keyer.kinds.processes import deaf_children, process_pool
from keyer.media.files import Files
from keyer.media.write import take_over, write_bytes

Progress = Callable[[int, int], None]
"""Called with rows done and rows in all."""

Render = Callable[[Iterable[Task]], Generator[tuple[Task, Entry | str]]]
"""Renders tasks and yields them as they are done, with their entry or what went wrong."""

Done = Callable[[int, Entry | None], None]
"""Called with a row's number and its entry, the kept ones' first; None: it has failed."""

_AHEAD = 2
"""Rows handed to each process beyond the one at work."""


@dataclass(frozen=True)
class Outcome:
    """Rows of a batch that were made, and those that failed while rendering.

    Attributes
    ----------
    entries : tuple of Entry
        Every row that is done, in order.
    rendered : int
        How many of them in this run.
    faults : tuple of (row, message)
        Rows that could not be rendered after all.
    gone : tuple of str
        Pictures of rows that the table has no longer, or that are at fault now.
    aside : tuple of str
        Files of such rows that were moved aside.
    """

    entries: tuple[Entry, ...]
    rendered: int
    faults: tuple[tuple[int, str], ...] = ()
    gone: tuple[str, ...] = ()
    aside: tuple[str, ...] = ()


def digests(made: Made) -> tuple[str, ...]:
    """SHA-256 of each of a row's files, hexadecimal."""
    return tuple(hashlib.sha256(data).hexdigest() for _, data in made.files)


def entry_of(task: Task, made: Made, known: tuple[str, ...] | None = None) -> Entry:
    """Make the manifest's entry of a row; who rendered it may know its files' digests."""
    return Entry(
        task.row.number,
        task.name,
        tuple(zip(task.outputs, known or digests(made), strict=True)),
        task.rests.key,
        task.batch,
        task.row.cells,
        tuple(verdict.as_dict() for verdict in made.verdicts),
        made.notes,
        made.frame,
        {**task.stored, **({"parts": made.parts} if made.parts else {})},
        task.rests.pictures,
        made.small,
    )


def write_made(folder: Path, task: Task, made: Made, known: tuple[str, ...] | None = None) -> Entry:
    """Write a row's line and its files, each file whole or not at all.

    Raises
    ------
    OutputError
    """
    entry = entry_of(task, made, known)
    add_line(folder, entry)
    for name, (_, data) in zip(task.outputs, made.files, strict=True):
        write_bytes(folder / name, data, Files(force=True))
    return entry


def take_made(
    folder: Path, task: Task, made: Made, known: tuple[str, ...], aside: tuple[str, ...]
) -> Entry:
    """Write a row's line, and give its files, put aside in the folder already, their names.

    Raises
    ------
    FileNotFoundError
        If a file is not there any more.
    OutputError
    """
    entry = entry_of(task, made, known)
    add_line(folder, entry)
    for name, file in zip(task.outputs, aside, strict=True):
        take_over(folder / file, folder / name)
    return entry


_renderer: RowRenderer | None = None
_folder = Path()


def _begin(job: Job, folder: Path) -> None:
    """Set up a worker process before its first row."""
    global _renderer, _folder
    cv2.setNumThreads(1)  # the processes share the cores already
    _renderer, _folder = RowRenderer(job), folder


def _work(task: Task) -> Entry | str:
    """Render and write one row; a row that does not hold comes back as its fault."""
    if _renderer is None:
        msg = "the process was not set up"
        raise AssertionError(msg)
    try:
        made = _renderer.render(task.row.cells)
    except KeyerError as error:
        return " ".join(str(error).split("\n"))
    return write_made(_folder, task, made)


def in_processes(job: Job, folder: Path, jobs: int) -> Render:
    """Make a renderer of tasks that works in processes of this machine.

    Parameters
    ----------
    job : Job
    folder : Path
        Where files are written.
    jobs : int
        How many processes.

    Returns
    -------
    callable
        See `Render`; memory does not grow with the number of rows.
    """

    def render(tasks: Iterable[Task]) -> Generator[tuple[Task, Entry | str]]:
        pool = process_pool(jobs, _begin, job, folder)
        waiting: dict[Future[Entry | str], Task] = {}
        todo = iter(tasks)
        try:
            for task in todo:
                with deaf_children():
                    waiting[pool.submit(_work, task)] = task
                if len(waiting) < jobs * _AHEAD:
                    continue
                yield from _finished(waiting)
            while waiting:
                yield from _finished(waiting)
        except BrokenProcessPool:
            msg = (
                "a rendering process ended by itself (was it killed, or out of memory?). Run the "
                "same command with --resume; fewer --jobs need less memory."
            )
            raise OutputError(msg) from None
        finally:
            pool.shutdown(wait=True, cancel_futures=True)

    return render


def _finished(waiting: dict[Future[Entry | str], Task]) -> Iterator[tuple[Task, Entry | str]]:
    done, _ = wait(waiting, return_when=FIRST_COMPLETED)
    for future in done:
        yield waiting.pop(future), future.result()


def run_batch(
    tasks: Sequence[Task],
    folder: Path,
    render: Render,
    known: Manifest,
    kept: Sequence[Entry] = (),
    left: Collection[str] = (),
    *,
    spared: Collection[str] | None = None,
    then: Done = lambda _row, _entry: None,
    told: Progress = lambda _done, _all: None,
) -> Outcome:
    """Render tasks into a folder.

    Parameters
    ----------
    tasks : sequence of Task
        From `preflight`.
    folder : Path
        Made if its parent is there.
    render : Render
        For instance `in_processes(...)`.
    known : Manifest
        Of the folder: entries of other batches stay.
    kept : sequence of Entry
        Rows that a former run has made and that still hold.
    left : collection of str
        First files of rows of the table that are not to be rendered now: their
        lines stay as they are.
    spared : collection of str, optional
        First files of all rows of the table, those at fault too: files of other
        rows, which are gone, are moved aside. None: they stay.
    then : Done, optional
        What else is done with each row.
    told : callable, optional
        Called with rows done and rows in all.

    Raises
    ------
    OutputError
        If the folder or a file cannot be written. What is done stays, and a
        resumed run goes on from there.
    """
    there = {entry.outputs[0][0] for entry in kept}
    entries = list(kept)
    faults: list[tuple[int, str]] = []
    with held(folder):
        end_torn_line(folder)
        told(len(entries), len(tasks))
        for entry in kept:
            then(entry.row or 0, entry)
        todo = [task for task in tasks if task.outputs[0] not in there]
        with closing(render(todo)) as finished:
            for task, result in finished:
                if isinstance(result, str):
                    faults.append((task.row.number, result))
                    then(task.row.number, None)
                else:
                    then(task.row.number, result)
                    entries.append(dataclasses.replace(result, small=None))
                told(len(entries) + len(faults), len(tasks))
        batches = {task.batch for task in tasks}
        others = _others(known, entries, batches, left, folder)
        gone = [one for one in others if one.batch in batches and one.outputs[0][0] not in left]
        aside: tuple[str, ...] = ()
        if spared is not None:
            lost = [one for one in gone if one.outputs[0][0] not in spared]
            aside, stuck = prune(folder, lost)
            moved = [one for one in lost if one not in stuck]
            others, gone = ([one for one in some if one not in moved] for some in (others, gone))
        write_manifest(folder, [*entries, *others])
    names = tuple(entry.outputs[0][0] for entry in gone)
    ordered = tuple(sorted(entries, key=lambda entry: entry.row or 0))
    return Outcome(ordered, len(entries) - len(kept), tuple(faults), names, aside)


def _others(
    known: Manifest,
    entries: Sequence[Entry],
    batches: Collection[str],
    left: Collection[str],
    folder: Path,
) -> list[Entry]:
    """Keep the lines of other batches, and of rows that are gone while their files are there."""
    mine = {name for entry in entries for name, _ in entry.outputs}
    return [
        dataclasses.replace(entry, row=None)
        if entry.batch in batches and first not in left
        else entry
        for first, entry in known.entries.items()
        if first not in mine and any((folder / name).is_file() for name, _ in entry.outputs)
    ]
