"""The same batch on many machines, by dask.distributed (the extra `keyer[cluster]`).

Workers render and send back bytes; this process writes them, so that only it
needs the output folder. Workers may come and go: the rows of one that is
lost are done by another. Every worker needs this program in the same version,
and the sheet with its files under the same paths.
"""

from __future__ import annotations

import dataclasses
import importlib
import itertools
from collections.abc import Generator, Iterable
from pathlib import Path
from typing import Any

from keyer.batch.job import Job
from keyer.batch.manifest import Entry
from keyer.batch.preflight import Task
from keyer.batch.render_row import Made, RowRenderer
from keyer.batch.run import Render, write_made
from keyer.batch.scene import libraries
from keyer.errors import InputFileError, KeyerError, OutputError, SettingError

_AHEAD = 2
"""Rows handed out for each thread of the cluster."""
_CONNECT_SECONDS = 20

_renderers: dict[str, RowRenderer] = {}


def render_there(job: Job, mark: str, cells: dict[str, str], wanted: dict[str, str]) -> Made | str:
    """Render one row on a worker.

    Parameters
    ----------
    job : Job
    mark : str
        Of this batch; a worker keeps one renderer for it.
    cells : dict
    wanted : dict
        Versions of what draws, which the worker must have too.

    Returns
    -------
    Made, or what is wrong with the row
    """
    import cv2

    found = libraries()
    if found != wanted:
        different = sorted(name for name in wanted if found.get(name) != wanted[name])
        return f"a worker draws with other versions of {', '.join(different)}; install the same."
    if mark not in _renderers:
        for old in list(_renderers):
            _renderers.pop(old).close()
        cv2.setNumThreads(1)
        _renderers[mark] = RowRenderer(job)
    try:
        return _renderers[mark].render(cells)
    except KeyerError as error:
        return " ".join(str(error).split("\n"))


def on_cluster(job: Job, folder: Path, address: str) -> Render:
    """Render on a cluster.

    Parameters
    ----------
    job : Job
    folder : Path
        Where this process writes the files.
    address : str
        Of the scheduler, e.g. `tcp://10.0.0.5:8786`.

    Returns
    -------
    callable
        See `keyer.batch.run.Render`.

    Raises
    ------
    SettingError
        If the extra is not installed.
    InputFileError
        If no scheduler answers there.
    """
    try:
        distributed: Any = importlib.import_module("distributed")
    except ImportError:
        msg = "scheduler needs dask.distributed. Install it with: pip install 'keyer[cluster]'"
        raise SettingError(msg) from None
    try:
        client = distributed.Client(address, timeout=_CONNECT_SECONDS)
    except (OSError, ValueError, TimeoutError) as error:
        msg = f"no scheduler answers at {address} ({type(error).__name__}). Is it running there?"
        raise InputFileError(msg) from error
    there = dataclasses.replace(job, path=job.path.resolve())

    def render(tasks: Iterable[Task]) -> Generator[tuple[Task, Entry | str]]:
        try:
            yield from _render(distributed, client, there, folder, tasks)
        finally:
            client.close()

    return render


def _render(
    distributed: Any, client: Any, job: Job, folder: Path, tasks: Iterable[Task]
) -> Generator[tuple[Task, Entry | str]]:
    mark, wanted = str(client.id), libraries()
    waiting: dict[Any, Task] = {}
    todo = iter(tasks)

    def hand_out() -> None:
        room = max(sum(client.nthreads().values()), 1) * _AHEAD - len(waiting)
        for task in itertools.islice(todo, max(room, 0)):
            key = f"row-{task.row.number}-{mark}"
            future = client.submit(render_there, job, mark, task.row.cells, wanted, key=key)
            waiting[future] = task

    hand_out()
    while waiting:
        done, _ = distributed.wait(list(waiting), return_when="FIRST_COMPLETED")
        for future in done:
            task = waiting.pop(future)
            try:
                made: Made | str = future.result()
            except distributed.KilledWorker as error:
                msg = f"row {task.row.number} was given up: every worker on it was lost ({error})."
                raise OutputError(msg) from error
            if isinstance(made, str):
                yield task, made
            else:
                yield task, write_made(folder, task, made)
        hand_out()
