"""The same batch on many machines, by dask.distributed (the extra `keyer[cluster]`).

Workers render. One that sees the output folder puts its files there under hidden names, others
send the bytes back; this process alone gives files their names, so that only it needs the
folder. Workers may come and go: the rows of one that is lost are done by another. A worker draws
a row only if all that its picture rests on is the same there, to the digest: the program, its
libraries, the sheet with its files, the fonts. One that differs is left out, and told.
"""

from __future__ import annotations

import dataclasses
import itertools
import queue
from collections import deque
from collections.abc import Generator, Iterable, Iterator
from concurrent.futures import CancelledError, ThreadPoolExecutor
from contextlib import contextmanager, suppress
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from keyer.batch.cluster_link import LOOK_SECONDS, Link, Said, linked
from keyer.batch.cluster_worker import Drawn, Place, Refused, Row, render_there
from keyer.batch.job import Job
from keyer.batch.manifest import Entry
from keyer.batch.preflight import Task
from keyer.batch.run import Render, take_made, write_made
from keyer.batch.workers import Workers
from keyer.errors import KeyerError
from keyer.kinds.plain_file import real_path
from keyer.media.unfinished import unfinished_file

_AGAIN = "Run the same command with --resume to do the rest."
_AHEAD = 2
"""Turns handed out for each worker, so that none waits for the next."""
_TURN_SECONDS, _MOST_ROWS = 0.25, 8
"""A worker gets as many rows at once as it does in this time: handing out has its price."""
_WRITERS = 4
"""Threads that fetch and write, since each waits for network and disk."""


_IDLE = (
    "a worker draws one row at a time, however many threads it has: start one for each core, with "
    "one thread (dask worker --nworkers N --nthreads 1)."
)

_LOST = (
    "every worker that began this row was lost, also when it was alone: out of memory? Render it "
    "on this machine to see (--rows {row}, without --scheduler)."
)


@contextmanager
def on_cluster(
    job: Job, folder: Path, address: str, said: Said, workers: Workers
) -> Iterator[Render]:
    """Give a renderer of tasks that works on a cluster, connected while the block runs.

    Parameters
    ----------
    job : Job
    folder : Path
        Where this process writes the files.
    address : str
        Of the scheduler, e.g. `tcp://10.0.0.5:8786`.
    said : callable
        Called with what a person who waits should know.
    workers : Workers
        Counts who is there and what each has done.

    Yields
    ------
    callable
        See `keyer.batch.run.Render`.

    Raises
    ------
    SettingError
        If the extra is not installed.
    InputFileError
        If no scheduler answers there.
    OutputError
        If the scheduler has another version of this program, or none.
    """
    there = dataclasses.replace(job, path=real_path(job.path))
    with linked(address, said, workers, _AGAIN) as link:
        yield _Cluster(link, there, folder).render


@dataclass(frozen=True)
class _Brought:
    """Rows that were fetched: what became of each, or of all of them; and how long one took."""

    tasks: list[Task]
    found: list[Entry | str] | Refused | BaseException
    worker: str = ""
    seconds: float = 0.0


class _Cluster:
    """Hands rows to workers that draw as this machine does."""

    def __init__(self, link: Link, job: Job, folder: Path) -> None:
        self._link, self._job, self._folder = link, job, folder
        self._mark = str(link.client.id)
        self._place = Place(real_path(folder), "")
        self._waiting: dict[Any, tuple[list[Task], frozenset[str]]] = {}
        self._at_once = 1
        self._again: deque[Task] = deque()
        self._alone: deque[Task] = deque()
        """Rows that were lost with their workers: which of them it was shows when each is alone."""
        self._suspects: set[int] = set()
        self._tries = itertools.count()
        self._news: queue.SimpleQueue[Any] = queue.SimpleQueue()
        """Rows that are done on a worker (futures), and those that are here (`_Brought`)."""
        self._fetching = 0
        self._hinted = False

    def render(self, tasks: Iterable[Task]) -> Generator[tuple[Task, Entry | str]]:
        """Render tasks, as `keyer.batch.run.Render` demands."""
        with unfinished_file(self._folder, ".mark") as mark:
            self._place = Place(self._place.folder, mark.name)
            yield from self._rendered(iter(tasks))

    def _rendered(self, todo: Iterator[Task]) -> Iterator[tuple[Task, Entry | str]]:
        writers = ThreadPoolExecutor(_WRITERS, thread_name_prefix="keyer-writer")
        try:
            while True:
                if self._link.look():
                    self._take_back()
                    self._name_idle_threads()
                self._hand_out(todo)
                if not self._waiting and not self._fetching:
                    return
                yield from self._finished(writers)
        except (CancelledError, OSError) as error:
            if isinstance(error, KeyerError):
                raise
            raise self._link.lost(error) from error
        finally:
            writers.shutdown(cancel_futures=True)

    def _name_idle_threads(self) -> None:
        if not self._hinted and max(self._link.threads.values()) > 1:
            self._hinted = True
            self._link.said(_IDLE)

    def _hand_out(self, todo: Iterator[Task]) -> None:
        workers = list(self._link.threads)
        room = len(workers) * _AHEAD + _WRITERS - len(self._waiting) - self._fetching
        for _ in range(max(room, 0)):
            tasks = self._next(todo)
            if not tasks:
                return
            rows = [(task.row.cells, task.rests) for task in tasks]
            future = self._link.client.submit(
                render_there, self._job, self._mark, rows, self._place,
                key=f"row-{tasks[0].row.number}-{next(self._tries)}-{self._mark}",
                workers=workers, allow_other_workers=False, pure=False,
            )  # fmt: skip
            self._waiting[future] = tasks, frozenset(workers)
            future.add_done_callback(self._news.put)

    def _next(self, todo: Iterator[Task]) -> list[Task]:
        """Take the rows that a worker gets at once; a suspect one waits until it is alone."""
        tasks: list[Task] = []
        while len(tasks) < self._at_once:
            task = self._again.popleft() if self._again else next(todo, None)
            if task is None:
                break
            tasks.append(task)
        alone = not (tasks or self._waiting or self._fetching)
        return [self._alone.popleft()] if alone and self._alone else tasks

    def _finished(self, writers: ThreadPoolExecutor) -> Iterator[tuple[Task, Entry | str]]:
        """Have what is done fetched and written, a few at a time, and tell what came of it."""
        with suppress(queue.Empty):
            found = self._news.get(timeout=LOOK_SECONDS)
            if isinstance(found, _Brought):
                self._fetching -= 1
                yield from self._told(found)
            elif found in self._waiting:  # else it was taken back
                tasks, _ = self._waiting.pop(found)
                self._fetching += 1
                writers.submit(self._bring, found, tasks)

    def _bring(self, future: Any, tasks: list[Task]) -> None:
        """Fetch rows and write them; runs in a thread, since a disk answers when it likes."""
        try:
            found: Drawn | Refused = self._link.client.gather(future, direct=self._link.direct)
            if isinstance(found, Refused):
                self._news.put(_Brought(tasks, found))
                return
            done = [
                one if isinstance(one, str) else self._write(task, one)
                for task, one in zip(tasks, found.rows, strict=True)
            ]
            self._news.put(_Brought(tasks, done, found.worker, found.seconds / len(tasks)))
        except BaseException as error:  # noqa: BLE001  raised where it is waited for
            self._news.put(_Brought(tasks, error))

    def _write(self, task: Task, row: Row) -> Entry:
        if row.aside:
            return take_made(self._folder, task, row.made, row.digests, row.aside)
        return write_made(self._folder, task, row.made, row.digests)

    def _told(self, brought: _Brought) -> Iterator[tuple[Task, Entry | str]]:
        tasks, found = brought.tasks, brought.found
        if isinstance(found, self._link.distributed.KilledWorker):
            yield from self._lost(tasks)
        elif isinstance(found, FileNotFoundError):  # another program has swept the folder
            self._again.extend(tasks)
        elif isinstance(found, BaseException):
            raise found
        elif isinstance(found, Refused):
            self._link.leave_out(found.worker, found.why.rstrip("."))
            self._again.extend(tasks)
        else:
            self._link.workers.rows[brought.worker] += sum(
                not isinstance(one, str) for one in found
            )
            self._at_once = min(max(int(_TURN_SECONDS / max(brought.seconds, 1e-3)), 1), _MOST_ROWS)
            yield from zip(tasks, found, strict=True)

    def _lost(self, tasks: list[Task]) -> Iterator[tuple[Task, str]]:
        """Try rows again that were lost with their workers; one that was alone is at fault."""
        for task in tasks:
            if task.row.number in self._suspects:
                yield task, _LOST.format(row=task.row.number)
            else:
                self._suspects.add(task.row.number)
                self._alone.append(task)

    def _take_back(self) -> None:
        """Take back rows for which no worker is left, to give them to others."""
        good = set(self._link.threads)
        for future, (tasks, workers) in list(self._waiting.items()):
            if not workers & good:
                del self._waiting[future]
                future.cancel()
                self._again.extend(tasks)
