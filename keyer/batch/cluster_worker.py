"""What a worker of a cluster does: one row, if all that it rests on is the same there."""

from __future__ import annotations

import importlib
import threading
from dataclasses import dataclass

from keyer.batch.job import Job
from keyer.batch.render_row import Made, RowRenderer
from keyer.batch.rests import Rests, Sheets, libraries
from keyer.batch.scene import title_fields
from keyer.errors import KeyerError

_lock = threading.Lock()
_at_work: dict[str, tuple[Sheets, RowRenderer]] = {}


@dataclass(frozen=True)
class Drawn:
    """A row that a worker has drawn."""

    worker: str
    made: Made


@dataclass(frozen=True)
class Refused:
    """A row that a worker must not draw."""

    worker: str
    why: str


def versions_there() -> dict[str, str]:
    """Versions of what decodes and draws on a worker."""
    return libraries()


def render_there(job: Job, mark: str, cells: dict[str, str], rests: Rests) -> Drawn | Refused | str:
    """Render one row on a worker.

    Parameters
    ----------
    job : Job
    mark : str
        Of this batch; a worker keeps one renderer for it.
    cells : dict
    rests : Rests
        What the row's picture rests on where the batch was started.

    Returns
    -------
    The row, why this worker must not draw it, or what is wrong with the row
    """
    with _lock:  # a worker may have threads, and a scene holds one row at a time
        sheets, renderer = _opened(job, mark)
        why = _differs(job, sheets, cells, rests)
        if why:
            return Refused(_address(), why)
        try:
            return Drawn(_address(), renderer.render(cells))
        except KeyerError as error:
            return " ".join(str(error).split("\n"))


def _address() -> str:
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
