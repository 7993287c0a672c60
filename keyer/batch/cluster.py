"""The same batch on many machines, by dask.distributed (the extra `keyer[cluster]`).

Workers render and send back bytes; this process writes them, so that only it needs the
output folder. Workers may come and go: the rows of one that is lost are done by another. A
worker draws a row only if all that its picture rests on is the same there, to the digest:
the program, its libraries, the sheet with its files, the fonts. One that differs is left
out, and told.
"""

from __future__ import annotations

import asyncio
import dataclasses
import importlib
import itertools
import logging
import queue
import socket
import threading
import time
import warnings
from collections import deque
from collections.abc import Callable, Generator, Iterable, Iterator
from concurrent.futures import CancelledError, ThreadPoolExecutor
from contextlib import contextmanager, suppress
from dataclasses import dataclass
from pathlib import Path
from typing import Any
from urllib.parse import urlsplit

from keyer.batch.cluster_worker import Drawn, Refused, render_there, versions_there
from keyer.batch.job import Job
from keyer.batch.manifest import Entry
from keyer.batch.preflight import Task
from keyer.batch.run import Render, write_made
from keyer.batch.workers import Workers
from keyer.errors import InputFileError, KeyerError, OutputError, SettingError
from keyer.kinds.plain_file import real_path
from keyer.kinds.version import __version__
from keyer.render.libraries import libraries

Said = Callable[[str], None]
"""Called with what a person who waits should know."""

CONNECT_SECONDS = 30.0
WORKER_SECONDS = 60.0
"""How long a scheduler is waited for, and how long one without workers."""
_SAY_AFTER = 5.0
_REACH_SECONDS = 2.0
"""How long a worker is tried that this machine may not reach."""
_AHEAD = 2
"""Turns handed out for each worker, so that none waits for the next."""
_TURN_SECONDS, _MOST_ROWS = 0.25, 8
"""A worker gets as many rows at once as it does in this time: handing out has its price."""
_WRITERS = 4
"""Threads that fetch and write, since each waits for network and disk."""
_LOOK_SECONDS = 1.0


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
    try:
        distributed: Any = importlib.import_module("distributed")
    except ImportError:
        msg = "scheduler needs dask.distributed. Install it with: pip install 'keyer[cluster]'"
        raise SettingError(msg) from None
    logging.getLogger("distributed").setLevel(logging.CRITICAL + 1)
    client = _connected(distributed, address, said)
    there = dataclasses.replace(job, path=real_path(job.path))
    try:
        _see_scheduler(client, address)
        yield _Cluster(distributed, client, there, folder, address, said, workers).render
    finally:
        client.close()


def _connected(distributed: Any, address: str, said: Said) -> Any:
    wait = CONNECT_SECONDS

    async def ask() -> None:
        async with distributed.core.rpc(address, timeout=wait) as scheduler:
            found = await scheduler.identity()
        if found.get("type") != "Scheduler":
            msg = f"a {found.get('type', 'program')} and no scheduler answers"
            raise ValueError(msg)

    line = threading.Timer(
        _SAY_AFTER, said, [f"the scheduler at {address} has not answered yet; waiting {wait:g} s."]
    )
    line.start()
    try:
        asyncio.run(asyncio.wait_for(ask(), wait))
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")  # versions are compared worker by worker
            return distributed.Client(address, timeout=wait)
    except Exception as error:  # whatever is there may answer anything
        reason = str(error).rstrip(".") or type(error).__name__
        msg = f"no scheduler answers at {address} ({reason}). Is it running there?"
        raise InputFileError(msg) from error
    finally:
        line.cancel()


def _see_scheduler(client: Any, address: str) -> None:
    """See that the scheduler has this program: every row passes through its hands."""
    try:
        theirs = client.run_on_scheduler(versions_there)["keyer"]
    except Exception as error:  # noqa: BLE001  whatever is wrong there
        found = f"it cannot load this program ({type(error).__name__})"
    else:
        if theirs == __version__:
            return
        found = f"it has keyer {theirs}"
    msg = (
        f"the scheduler at {address} needs keyer {__version__}, as this machine has it: {found}. "
        "Start it from an environment that has the same keyer[cluster]."
    )
    raise OutputError(msg)


@dataclass(frozen=True)
class _Brought:
    """Rows that were fetched: what became of each, or of all of them; and how long one took."""

    tasks: list[Task]
    found: list[Entry | str] | Refused | BaseException
    worker: str = ""
    seconds: float = 0.0


def _reached(address: str) -> bool:
    """Whether a worker can be reached from here."""
    there = urlsplit(address)
    if there.hostname is None or there.port is None:
        return False
    try:
        socket.create_connection((there.hostname, there.port), _REACH_SECONDS).close()
    except OSError:
        return False
    return True


class _Cluster:
    """Hands rows to workers that draw as this machine does."""

    def __init__(
        self, distributed: Any, client: Any, job: Job, folder: Path, address: str, said: Said,
        workers: Workers,
    ) -> None:  # fmt: skip
        self._distributed, self._client, self._said = distributed, client, said
        self._workers = workers
        self._job, self._folder, self._address = job, folder, address
        self._mark = str(client.id)
        self._threads: dict[str, int] = {}
        self._looked = -_LOOK_SECONDS
        self._greeted: dict[str, str] = {}
        """Worker to why it is left out; empty for one that is not."""
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
        self._direct = False
        """Whether this machine reaches every worker: what they made need not pass the scheduler."""

    def render(self, tasks: Iterable[Task]) -> Generator[tuple[Task, Entry | str]]:
        """Render tasks, as `keyer.batch.run.Render` demands."""
        todo = iter(tasks)
        writers = ThreadPoolExecutor(_WRITERS, thread_name_prefix="keyer-writer")
        try:
            while True:
                if time.monotonic() - self._looked >= _LOOK_SECONDS:
                    self._look()
                self._hand_out(todo)
                if not self._waiting and not self._fetching:
                    return
                yield from self._finished(writers)
        except (CancelledError, OSError) as error:
            if isinstance(error, KeyerError):
                raise
            msg = (
                f"the scheduler at {self._address} is gone ({type(error).__name__}). Finished "
                "files stay. Run the same command with --resume to do the rest."
            )
            raise InputFileError(msg) from error
        finally:
            writers.shutdown(cancel_futures=True)

    def _look(self) -> None:
        """See who is there, and take back what was handed to none of them."""
        known, self._threads = set(self._threads), self._found()
        self._looked = time.monotonic()
        if set(self._threads) != known:
            self._direct = all(map(_reached, self._threads))
        for text in self._workers.now(self._threads):
            self._said(text)
        self._take_back()

    def _found(self) -> dict[str, int]:
        """Wait for workers that may draw; tell how many threads each has."""
        begun, told = time.monotonic(), False
        while True:
            threads = self._client.nthreads()
            self._greet(set(threads) - set(self._greeted))
            good = {worker: count for worker, count in threads.items() if self._may_draw(worker)}
            if good:
                return good
            if threads and all(self._greeted.get(worker) for worker in threads):
                why = next(self._greeted[worker] for worker in threads)
                msg = (
                    f"no worker of {self._address} has the same programs and files as this "
                    f"machine: {why}."
                )
                raise OutputError(msg)
            waited = time.monotonic() - begun
            if waited > WORKER_SECONDS:
                msg = (
                    f"the scheduler at {self._address} has had no workers for "
                    f"{WORKER_SECONDS:g} s. Start some, then run the same command with --resume."
                )
                raise InputFileError(msg)
            if waited > min(_SAY_AFTER, WORKER_SECONDS / 2) and not told:
                told = True
                self._said(
                    f"the scheduler at {self._address} has no workers; waiting "
                    f"{WORKER_SECONDS:g} s for one."
                )
            time.sleep(min(_LOOK_SECONDS, WORKER_SECONDS / 4))

    def _may_draw(self, worker: str) -> bool:
        return self._greeted.get(worker) == ""

    def _greet(self, workers: set[str]) -> None:
        """Ask new workers for their versions, and leave out those that have others."""
        if not workers:
            return
        wanted = libraries()
        replies = self._client.run(versions_there, workers=list(workers), on_error="return")
        for worker in sorted(workers & set(replies)):
            reply = replies[worker]
            if isinstance(reply, OSError):
                continue  # it has gone again; another answers when it comes back
            if not isinstance(reply, dict):
                self._leave_out(worker, f"it cannot load this program ({type(reply).__name__})")
                continue
            other = [
                f"{name} {reply.get(name, 'none')} instead of {mine}"
                for name, mine in wanted.items()
                if reply.get(name) != mine
            ]
            if other:
                self._leave_out(worker, f"it has {', '.join(other)}")
            else:
                self._greeted[worker] = ""

    def _leave_out(self, worker: str, why: str) -> None:
        if not self._greeted.get(worker):
            self._greeted[worker] = why
            self._workers.drop(worker)
            self._looked = -_LOOK_SECONDS
            self._said(f"worker {worker} is left out: {why}.")

    def _hand_out(self, todo: Iterator[Task]) -> None:
        workers = list(self._threads)
        room = len(workers) * _AHEAD + _WRITERS - len(self._waiting) - self._fetching
        for _ in range(max(room, 0)):
            tasks = self._next(todo)
            if not tasks:
                return
            rows = [(task.row.cells, task.rests) for task in tasks]
            future = self._client.submit(
                render_there, self._job, self._mark, rows,
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
            found = self._news.get(timeout=_LOOK_SECONDS)
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
            found: Drawn | Refused = self._client.gather(future, direct=self._direct)
            if isinstance(found, Refused):
                self._news.put(_Brought(tasks, found))
                return
            done = [
                one if isinstance(one, str) else write_made(self._folder, task, *one)
                for task, one in zip(tasks, found.rows, strict=True)
            ]
            self._news.put(_Brought(tasks, done, found.worker, found.seconds / len(tasks)))
        except BaseException as error:  # noqa: BLE001  raised where it is waited for
            self._news.put(_Brought(tasks, error))

    def _told(self, brought: _Brought) -> Iterator[tuple[Task, Entry | str]]:
        tasks, found = brought.tasks, brought.found
        if isinstance(found, self._distributed.KilledWorker):
            yield from self._lost(tasks)
        elif isinstance(found, BaseException):
            raise found
        elif isinstance(found, Refused):
            self._leave_out(found.worker, found.why.rstrip("."))
            self._again.extend(tasks)
        else:
            self._workers.rows[brought.worker] += sum(not isinstance(one, str) for one in found)
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
        good = set(self._threads)
        for future, (tasks, workers) in list(self._waiting.items()):
            if not workers & good:
                del self._waiting[future]
                future.cancel()
                self._again.extend(tasks)
