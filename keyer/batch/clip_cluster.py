"""The parts of one clip rendered by the workers of a cluster that see its folder."""

from __future__ import annotations

import importlib
import threading
import time
from collections.abc import Callable, Mapping
from concurrent.futures import CancelledError
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from keyer.batch.cluster_link import LOOK_SECONDS, Link, Said, linked
from keyer.batch.cluster_worker import Refused, worker_address
from keyer.batch.workers import Workers
from keyer.errors import KeyerError, OutputError
from keyer.kinds.plain_file import real_path
from keyer.media.files import Files
from keyer.render.clip_job import clip_job
from keyer.render.clip_parts import Parts, cut, render_part
from keyer.sheet.load import load_sheet
from keyer.sheet.variables import Value

Progress = Callable[[int, int], None]

SEEN_SECONDS = 60.0
"""How long a shared disk may take to show what another machine has written."""

_lock = threading.Lock()


@dataclass(frozen=True)
class ClipOrder:
    """A clip as it is asked for, so that another machine can settle it again.

    Attributes
    ----------
    sheet, output : Path
    variables : mapping
        Values of the sheet's variables.
    settings : mapping
        Of `keyer.render.clip_job.clip_job`.
    parts : int
    """

    sheet: Path
    output: Path
    variables: Mapping[str, Value]
    settings: Mapping[str, Any]
    parts: int

    def cut(self) -> Parts:
        """Settle and cut it.

        Raises
        ------
        KeyerError
        """
        sheet = load_sheet(self.sheet, variables=dict(self.variables))
        return cut(clip_job(sheet, self.output, **self.settings), self.parts)


@dataclass(frozen=True)
class _Done:
    worker: str
    notices: tuple[str, ...]


def part_there(order: ClipOrder, number: int, folder: str) -> _Done | Refused | str:
    """Render a part on a worker, into the folder that all share.

    Parameters
    ----------
    order : ClipOrder
    number : int
    folder : str
        Name of the parts' folder where the clip was asked for.

    Returns
    -------
    _Done, why this worker must not, or what is wrong with the part
    """
    worker = importlib.import_module("distributed").get_worker()
    with _lock:  # of two parts at once neither would be done sooner
        try:
            parts = order.cut()
        except KeyerError as error:
            return Refused(worker_address(), " ".join(str(error).split("\n")))
        if parts.folder.name != folder:
            return Refused(worker_address(), "it has other files, fonts or versions for this clip")
        if not parts.folder.is_dir():
            return Refused(worker_address(), f"it does not see {parts.folder}")
        try:
            notices = render_part(parts, number, threads=worker.state.nthreads)
        except KeyerError as error:
            return " ".join(str(error).split("\n"))
        return _Done(worker_address(), notices)


def render_on_cluster(
    order: ClipOrder, parts: Parts, address: str, said: Said, workers: Workers, progress: Progress
) -> tuple[str, ...]:
    """Render the parts that are missing on a cluster.

    Parameters
    ----------
    order : ClipOrder
        With the values that `parts` was made from.
    parts : Parts
    address : str
        Of the scheduler.
    said : callable
        Called with what a person who waits should know.
    workers : Workers
        Counts who is there, and the parts that each has made.
    progress : callable
        Told how many pictures are done, and of how many.

    Returns
    -------
    tuple of str
        Notices of the parts.

    Raises
    ------
    KeyerError
        If a part cannot be rendered or the cluster is lost; finished parts stay.
    """
    Files(force=True).make_folder(parts.folder)
    told: dict[str, None] = {}
    there = ClipOrder(
        real_path(order.sheet), real_path(order.output.parent) / order.output.name,
        order.variables, {**order.settings, "force": True}, order.parts,
    )  # fmt: skip
    with linked(address, said, workers, "Run the same command again to do the rest.") as link:
        try:
            for number, found in _made(link, there, parts):
                if isinstance(found, str):
                    msg = f"part {number}: {found}"
                    raise OutputError(msg)
                workers.rows[found.worker] += 1
                told |= dict.fromkeys(found.notices)
                left = sum(len(parts.spans[n - 1]) for n in parts.missing())
                progress(parts.job.count - left, parts.job.count)
        except (CancelledError, OSError) as error:
            if isinstance(error, KeyerError):
                raise
            raise link.lost(error) from error
    return tuple(told)


def _made(link: Link, order: ClipOrder, parts: Parts) -> Any:
    """Hand the missing parts out until all are there; yields each number with what came of it."""
    waiting: dict[Any, tuple[int, frozenset[str]]] = {}
    todo, tries = parts.missing(), 0
    while todo or waiting:
        if link.look():
            for future, (number, workers) in list(waiting.items()):
                if not workers & set(link.threads):
                    del waiting[future]
                    future.cancel()
                    todo.append(number)
        for number in todo:
            tries += 1
            future = link.client.submit(
                part_there, order, number, parts.folder.name,
                key=f"part-{number}-{tries}-{link.client.id}", workers=list(link.threads),
                allow_other_workers=False, pure=False,
            )  # fmt: skip
            waiting[future] = number, frozenset(link.threads)
        todo = []
        for future in _finished(link, list(waiting)):
            number, _ = waiting.pop(future)
            found = _result(link, future)
            if isinstance(found, _Done) and not _seen(parts, number):
                found = Refused(found.worker, f"what it writes is not seen in {parts.folder}")
            if isinstance(found, Refused):
                link.leave_out(found.worker, found.why.rstrip("."))
                todo.append(number)
            else:
                yield number, found


def _finished(link: Link, futures: list[Any]) -> set[Any]:
    try:
        done, _ = link.distributed.wait(
            futures, timeout=LOOK_SECONDS, return_when="FIRST_COMPLETED"
        )
    except (TimeoutError, link.distributed.TimeoutError):
        return set()
    return set(done)


def _result(link: Link, future: Any) -> _Done | Refused | str:
    try:
        found: _Done | Refused | str = future.result()
    except link.distributed.KilledWorker:
        return (
            "every worker that began it was lost: out of memory? Render it on this machine to see "
            "(--part, without --scheduler)."
        )
    return found


def _seen(parts: Parts, number: int) -> bool:
    """Whether a part is there; a shared disk may take a while to show it."""
    until = time.monotonic() + SEEN_SECONDS
    while not parts.there(number):
        if time.monotonic() > until:
            return False
        time.sleep(0.2)
    return True
