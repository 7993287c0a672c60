"""Rows rendered by several processes, each file whole or not at all, resumed at any point."""

from __future__ import annotations

import hashlib
import multiprocessing as mp
import multiprocessing.connection
import os
import signal
import threading
from collections.abc import Callable, Generator, Iterable, Iterator, Sequence
from concurrent.futures import FIRST_COMPLETED, Future, ProcessPoolExecutor, wait
from concurrent.futures.process import BrokenProcessPool
from contextlib import closing, contextmanager
from dataclasses import dataclass
from pathlib import Path

import cv2

from keyer.batch.folder import held
from keyer.batch.job import Job
from keyer.batch.manifest import Entry, add_line, read_manifest, still_holds, write_manifest
from keyer.batch.preflight import Task
from keyer.batch.render_row import Made, RowRenderer
from keyer.errors import KeyerError, OutputError
from keyer.media.files import Files
from keyer.media.write import write_bytes

Told = Callable[[int, int], None]
"""Called with rows done and rows in all."""

Render = Callable[[Iterable[Task]], Generator[tuple[Task, Entry | str]]]
"""Renders tasks and yields them as they are done, with their entry or what went wrong."""

_AHEAD = 2
"""Rows handed to each process beyond the one at work."""


@dataclass(frozen=True)
class Outcome:
    """What a batch did.

    Attributes
    ----------
    entries : tuple of Entry
        Every row that is done, in order.
    rendered : int
        How many of them in this run.
    faults : tuple of (row, message)
        Rows that could not be rendered after all.
    """

    entries: tuple[Entry, ...]
    rendered: int
    faults: tuple[tuple[int, str], ...] = ()


def entry_of(task: Task, made: Made) -> Entry:
    """Make the manifest's entry of a row."""
    outputs = tuple(
        (f"{task.name}{suffix}", hashlib.sha256(data).hexdigest()) for suffix, data in made.files
    )
    return Entry(
        task.row.number,
        task.name,
        outputs,
        task.key,
        task.row.cells,
        tuple(verdict.as_dict() for verdict in made.verdicts),
        made.notes,
    )


def write_made(folder: Path, task: Task, made: Made) -> None:
    """Write a row's files, each whole or not at all.

    Raises
    ------
    OutputError
    """
    for suffix, data in made.files:
        write_bytes(folder / f"{task.name}{suffix}", data, Files(force=True))


_renderer: RowRenderer | None = None
_folder = Path()


def _begin(job: Job, folder: Path) -> None:
    """Set up a process: it leaves Ctrl-C to its parent, and ends with it."""
    global _renderer, _folder
    signal.signal(signal.SIGINT, signal.SIG_IGN)
    parent = mp.parent_process()
    if parent is not None:
        threading.Thread(target=_end_with, args=(parent.sentinel,), daemon=True).start()
    cv2.setNumThreads(1)  # the processes share the cores already
    _renderer, _folder = RowRenderer(job), folder


def _end_with(sentinel: int) -> None:
    multiprocessing.connection.wait([sentinel])
    os._exit(1)


def _work(task: Task) -> Entry | str:
    """Render and write one row; a row that does not hold comes back as its fault."""
    if _renderer is None:
        msg = "the process was not set up"
        raise AssertionError(msg)
    try:
        made = _renderer.render(task.row.cells)
    except KeyerError as error:
        return " ".join(str(error).split("\n"))
    write_made(_folder, task, made)
    return entry_of(task, made)


def in_processes(job: Job, folder: Path, jobs: int) -> Render:
    """Render on this machine.

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
        pool = ProcessPoolExecutor(
            jobs, mp_context=mp.get_context("spawn"), initializer=_begin, initargs=(job, folder)
        )
        waiting: dict[Future[Entry | str], Task] = {}
        todo = iter(tasks)
        try:
            for task in todo:
                with _deaf_children():
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


@contextmanager
def _deaf_children() -> Iterator[None]:
    """Let processes that begin here never hear of Ctrl-C, and hear of it here when they have begun.

    They inherit the mask. It does not keep the signal from this program's other
    threads, and what it raises then would leave a child with half of its start.
    """
    if threading.current_thread() is not threading.main_thread():
        yield
        return
    heard: list[int] = []
    handler = signal.signal(signal.SIGINT, lambda number, _: heard.append(number))
    masks = hasattr(signal, "pthread_sigmask")
    before = signal.pthread_sigmask(signal.SIG_BLOCK, {signal.SIGINT}) if masks else set()
    try:
        yield
    finally:
        if masks:
            signal.pthread_sigmask(signal.SIG_SETMASK, before)
        signal.signal(signal.SIGINT, handler)
    if heard:
        signal.raise_signal(signal.SIGINT)


def _finished(waiting: dict[Future[Entry | str], Task]) -> Iterator[tuple[Task, Entry | str]]:
    done, _ = wait(waiting, return_when=FIRST_COMPLETED)
    for future in done:
        yield waiting.pop(future), future.result()


def run_batch(
    tasks: Sequence[Task],
    folder: Path,
    render: Render,
    *,
    resume: bool = False,
    told: Told = lambda _done, _all: None,
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
    resume : bool
        Keep what a former run has made and what still holds.
    told : callable, optional
        Called with rows done and rows in all.

    Returns
    -------
    Outcome

    Raises
    ------
    OutputError
        If the folder or a file cannot be written. What is done stays, and a
        resumed run goes on from there.
    """
    with held(folder):
        known = read_manifest(folder) if resume else {}
        kept = {
            task.name: _renumbered(known[task.name], task)
            for task in tasks
            if task.name in known and still_holds(folder, known[task.name], task.key)
        }
        todo = [task for task in tasks if task.name not in kept]
        entries = list(kept.values())
        faults: list[tuple[int, str]] = []
        write_manifest(folder, entries)
        told(len(entries), len(tasks))
        with closing(render(todo)) as finished:
            for task, result in finished:
                if isinstance(result, str):
                    faults.append((task.row.number, result))
                else:
                    entries.append(result)
                    add_line(folder, result)
                told(len(entries) + len(faults), len(tasks))
        write_manifest(folder, entries)
    ordered = tuple(sorted(entries, key=lambda entry: entry.row))
    return Outcome(ordered, len(entries) - len(kept), tuple(faults))


def _renumbered(entry: Entry, task: Task) -> Entry:
    """Take over an entry whose row may have moved in the table."""
    return Entry(
        task.row.number,
        entry.name,
        entry.outputs,
        entry.key,
        task.row.cells,
        entry.verdicts,
        entry.notes,
    )
