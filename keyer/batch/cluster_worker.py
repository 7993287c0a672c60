"""What a worker of a cluster does: rows, if all that they rest on is the same there."""

from __future__ import annotations

import importlib
import threading
import time
from dataclasses import dataclass, replace
from pathlib import Path

from keyer.batch.job import Job
from keyer.batch.render_row import Made, RowRenderer
from keyer.batch.rests import Rests, Sheets
from keyer.batch.run import digests
from keyer.batch.scene import title_fields
from keyer.errors import KeyerError
from keyer.media.write import put_aside

_lock = threading.Lock()
_at_work: dict[str, tuple[Sheets, RowRenderer]] = {}


@dataclass(frozen=True)
class Place:
    """The output folder, and a file in it by which a worker knows that it sees the same one."""

    folder: Path
    mark: str

    def seen(self) -> bool:
        """Whether it is seen from here."""
        return (self.folder / self.mark).is_file()


@dataclass(frozen=True)
class Row:
    """A row that was drawn.

    Attributes
    ----------
    made : Made
        Without the bytes of its files, if they were put aside.
    digests : tuple of str
        SHA-256 of each file.
    aside : tuple of str
        Names of the files in the output folder; empty: their bytes are sent.
    """

    made: Made
    digests: tuple[str, ...]
    aside: tuple[str, ...] = ()


@dataclass(frozen=True)
class Drawn:
    """What a worker has drawn.

    Attributes
    ----------
    worker : str
        Its address.
    rows : list
        Of each row what was made, or what is wrong with it.
    seconds : float
        That it took.
    """

    worker: str
    rows: list[Row | str]
    seconds: float


@dataclass(frozen=True)
class Refused:
    """Why a worker must not draw."""

    worker: str
    why: str


def render_there(
    job: Job, mark: str, rows: list[tuple[dict[str, str], Rests]], place: Place
) -> Drawn | Refused:
    """Render rows on a worker, one after the other.

    Parameters
    ----------
    job : Job
    mark : str
        Of this batch; a worker keeps one renderer for it.
    rows : list of (cells, Rests)
        With what each row's picture rests on where the batch was started.
    place : Place
        Files are put aside there if it is seen from here, which spares their way back.

    Returns
    -------
    Drawn, or Refused if this worker must not draw one of them
    """
    with _lock:  # a worker may have threads, and a scene holds one row at a time
        began = time.monotonic()
        sheets, renderer = _opened(job, mark)
        drawn: list[Row | str] = []
        for cells, rests in rows:
            why = _differs(job, sheets, cells, rests)
            if why:
                return Refused(worker_address(), why)
            try:
                drawn.append(_kept(renderer.render(cells), place))
            except KeyerError as error:
                drawn.append(" ".join(str(error).split("\n")))
        return Drawn(worker_address(), drawn, time.monotonic() - began)


def _kept(made: Made, place: Place) -> Row:
    """Put the files of a row aside, if the folder is seen and takes them."""
    known = digests(made)
    if not place.seen():
        return Row(made, known)
    try:
        aside = [put_aside(place.folder, Path(name).suffix, data) for name, data in made.files]
    except OSError:
        return Row(made, known)  # who writes them then will say what is wrong
    bare = tuple((name, b"") for name, _ in made.files)
    return Row(replace(made, files=bare), known, tuple(aside))


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
