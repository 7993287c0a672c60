"""A link to a dask.distributed cluster: a scheduler that answers, and workers that may draw.

A worker may draw only if its programs are this machine's. One that differs is left out, and told.
"""

from __future__ import annotations

import asyncio
import importlib
import logging
import socket
import threading
import time
import warnings
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from typing import Any
from urllib.parse import urlsplit

from keyer.batch.workers import Workers
from keyer.errors import InputFileError, OutputError, SettingError
from keyer.kinds.version import __version__
from keyer.render.libraries import libraries

Said = Callable[[str], None]
"""Called with what a person who waits should know."""

CONNECT_SECONDS = 30.0
WORKER_SECONDS = 60.0
"""How long a scheduler is waited for, and how long one without workers."""
LOOK_SECONDS = 1.0
_SAY_AFTER = 5.0
_REACH_SECONDS = 2.0
"""How long a worker is tried that this machine may not reach."""


@contextmanager
def linked(address: str, said: Said, workers: Workers, again: str) -> Iterator[Link]:
    """Connect to a cluster while the block runs.

    Parameters
    ----------
    address : str
        Of the scheduler, e.g. `tcp://10.0.0.5:8786`.
    said : callable
        Called with what a person who waits should know.
    workers : Workers
        Counts who is there.
    again : str
        What to do should the cluster be lost.

    Yields
    ------
    Link

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
    try:
        _see_scheduler(client, address)
        yield Link(distributed, client, address, said, workers, again)
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
    """See that the scheduler has this program: all work passes through its hands."""
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


def versions_there() -> dict[str, str]:
    """Versions of what decodes and draws, asked of another machine."""
    return libraries()


class Link:
    """Knows which workers may draw.

    Parameters
    ----------
    distributed : module
    client : distributed.Client
    address, said, workers, again
        As in `linked`.

    Attributes
    ----------
    threads : dict
        Address of each worker that may draw to the number of its threads.
    direct : bool
        Whether this machine reaches all of them: what they made need not pass the scheduler.
    """

    def __init__(
        self, distributed: Any, client: Any, address: str, said: Said, workers: Workers, again: str
    ) -> None:
        self.distributed, self.client, self.said = distributed, client, said
        self.workers, self.again, self.address = workers, again, address
        self.threads: dict[str, int] = {}
        self.direct = False
        self._looked = -LOOK_SECONDS
        self._greeted: dict[str, str] = {}
        """Worker to why it is left out; empty for one that is not."""

    def look(self) -> bool:
        """See who is there, now and then; tell whether it was done."""
        if time.monotonic() - self._looked < LOOK_SECONDS:
            return False
        known, self.threads = set(self.threads), self._found()
        self._looked = time.monotonic()
        if set(self.threads) != known:
            self.direct = all(map(_reached, self.threads))
        for text in self.workers.now(self.threads):
            self.said(text)
        return True

    def lost(self, error: BaseException) -> InputFileError:
        """Say that the scheduler is gone."""
        return InputFileError(
            f"the scheduler at {self.address} is gone ({type(error).__name__}). Finished files "
            f"stay. {self.again}"
        )

    def _found(self) -> dict[str, int]:
        """Wait for workers that may draw; tell how many threads each has."""
        begun, told = time.monotonic(), False
        while True:
            threads = self.client.nthreads()
            self._greet(set(threads) - set(self._greeted))
            good = {worker: count for worker, count in threads.items() if self._may_draw(worker)}
            if good:
                return good
            if threads and all(self._greeted.get(worker) for worker in threads):
                why = next(self._greeted[worker] for worker in threads)
                msg = (
                    f"no worker of {self.address} has the same programs and files as this "
                    f"machine: {why}."
                )
                raise OutputError(msg)
            waited = time.monotonic() - begun
            if waited > WORKER_SECONDS:
                msg = (
                    f"the scheduler at {self.address} has had no workers for "
                    f"{WORKER_SECONDS:g} s. Start some. {self.again}"
                )
                raise InputFileError(msg)
            if waited > min(_SAY_AFTER, WORKER_SECONDS / 2) and not told:
                told = True
                self.said(
                    f"the scheduler at {self.address} has no workers; waiting "
                    f"{WORKER_SECONDS:g} s for one."
                )
            time.sleep(min(LOOK_SECONDS, WORKER_SECONDS / 4))

    def _may_draw(self, worker: str) -> bool:
        return self._greeted.get(worker) == ""

    def _greet(self, workers: set[str]) -> None:
        """Ask new workers for their versions, and leave out those that have others."""
        if not workers:
            return
        wanted = libraries()
        replies = self.client.run(versions_there, workers=list(workers), on_error="return")
        for worker in sorted(workers & set(replies)):
            reply = replies[worker]
            if isinstance(reply, OSError):
                continue  # it has gone again; another answers when it comes back
            if not isinstance(reply, dict):
                self.leave_out(worker, f"it cannot load this program ({type(reply).__name__})")
                continue
            other = [
                f"{name} {reply.get(name, 'none')} instead of {mine}"
                for name, mine in wanted.items()
                if reply.get(name) != mine
            ]
            if other:
                self.leave_out(worker, f"it has {', '.join(other)}")
            else:
                self._greeted[worker] = ""

    def leave_out(self, worker: str, why: str) -> None:
        """Give a worker nothing more, and say why."""
        if not self._greeted.get(worker):
            self._greeted[worker] = why
            self.workers.drop(worker)
            self._looked = -LOOK_SECONDS
            self.said(f"worker {worker} is left out: {why}.")
