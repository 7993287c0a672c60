"""What a worker of a cluster does: rows, if all that they rest on is the same there."""

from __future__ import annotations

import importlib
import threading
import time
from dataclasses import dataclass

from keyer.batch.job import Job
from keyer.batch.render_row import Made, RowRenderer
from keyer.batch.rests import Rests, Sheets
from keyer.batch.run import digests
from keyer.batch.scene import title_fields
from keyer.errors import KeyerError

_lock = threading.Lock()
_at_work: dict[str, tuple[Sheets, RowRenderer]] = {}


@dataclass(frozen=True)
class Drawn:
    """What a worker has drawn.

    Attributes
    ----------
    worker : str
        Its address.
    rows : list
        Of each row what was made with the SHA-256 of its files, or what is wrong with it.
    seconds : float
        That it took.
    """

    worker: str
    rows: list[tuple[Made, tuple[str, ...]] | str]
    seconds: float


@dataclass(frozen=True)
class Refused:
    """Why a worker must not draw."""

    worker: str
    why: str


def render_there(job: Job, mark: str, rows: list[tuple[dict[str, str], Rests]]) -> Drawn | Refused:
    """Render rows on a worker, one after the other.

    Parameters
    ----------
    job : Job
    mark : str
        Of this batch; a worker keeps one renderer for it.
    rows : list of (cells, Rests)
        With what each row's picture rests on where the batch was started.

    Returns
    -------
    Drawn, or Refused if this worker must not draw one of them
    """
    with _lock:  # a worker may have threads, and a scene holds one row at a time
        began = time.monotonic()
        sheets, renderer = _opened(job, mark)
        drawn: list[tuple[Made, tuple[str, ...]] | str] = []
        for cells, rests in rows:
            why = _differs(job, sheets, cells, rests)
            if why:
                return Refused(worker_address(), why)
            try:
                made = renderer.render(cells)
                drawn.append((made, digests(made)))
            except KeyerError as error:
                drawn.append(" ".join(str(error).split("\n")))
        return Drawn(worker_address(), drawn, time.monotonic() - began)


def worker_address() -> str:
    """Address of the worker that this process is."""
    return str(importlib.import_module("distributed").get_worker().address)


def _opened(job: Job, mark: str) -> tuple[Sheets, RowRenderer]:
    import cv2

    if mark not in _at_work:
        for old in list(_at_work):
            _at_work.pop(old)[1].close()
        cv2.setNumThreads(1)
        _at_work[mark] = Sheets(job), RowRenderer(job)
    return _at_work[mark]


def _differs(job: Job, sheets: Sheets, cells: dict[str, str], rests: Rests) -> str:
    filled = job.filled(cells)
    known = sheets.known(filled)
    if isinstance(known, str):
        return known
    for title, fields in title_fields(filled).items():
        faults = known.foresights[title].faults(fields)
        if faults:
            return faults[0]
    differences = rests.differences(known.rests(filled))
    return f"it has other {', other '.join(differences)}" if differences else ""
