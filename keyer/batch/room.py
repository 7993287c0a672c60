"""Whether a batch's results will fit on the disk, reckoned before the first is written."""

from __future__ import annotations

import shutil
from collections.abc import Collection, Sequence
from contextlib import closing
from pathlib import Path

from keyer.batch.job import Job
from keyer.batch.preflight import Task
from keyer.batch.render_row import RowRenderer
from keyer.batch.scene import filled_sheet
from keyer.batch.stored import MOVING
from keyer.errors import KeyerError, StorageError

_TRIED = 3
"""Stills rendered to learn their size, where the disk might be too small; of clips one."""

_FRAME_BYTES = 1 << 16
"""Of what a file holds beside its samples, for each picture in it, at most."""

_SPARE = 1.1
"""Kept beyond what is reckoned: rows differ, and a file stands beside the one it replaces."""

_SHEET_BYTES = 24 << 20
"""Of a contact sheet at most: A3 at 200 dots to the inch, without compression."""


def refuse_small_disk(
    job: Job,
    tasks: Sequence[Task],
    kept: Collection[str],
    folder: Path,
    contact: Sequence[Path] = (),
) -> None:
    """Refuse a batch whose results do not fit.

    Nothing is rendered for that where they would fit without any compression.

    Parameters
    ----------
    job : Job
    tasks : sequence of Task
        All good rows.
    kept : collection of str
        First files of those that are not to be rendered now.
    folder : Path
        For the results; need not be there yet.
    contact : sequence of Path
        Contact sheets.

    Raises
    ------
    StorageError
        In one line, with how much there is and how much it takes.
    """
    todo = [task for task in tasks if task.outputs[0] not in kept]
    home = _there(folder)
    free = shutil.disk_usage(home).free
    sheets = [path for path in contact if _there(path.parent).stat().st_dev == home.stat().st_dev]
    more = len(sheets) * _SHEET_BYTES
    if not todo or _most(job, todo[0]) * len(todo) + more <= free:
        return
    tried = todo[:1]
    if job.stored.form not in MOVING:
        tried = [todo[n * (len(todo) - 1) // (_TRIED - 1)] for n in range(_TRIED)]
    size = _size(job, list(dict.fromkeys(task.row.number for task in tried)), todo)
    replaced = sum(_bytes(folder / name) for task in todo for name in task.outputs)
    wanted = round((size * len(todo) + more) * _SPARE) - replaced
    if size and wanted > free:
        many = f"{len(todo):,} row{'s' if len(todo) > 1 else ''}"
        msg = (
            f"{folder} has room for {_told(free)}, and {many} take about {_told(wanted)} "
            f"({_told(round(size))} a row). Make room, name a folder on another disk, or render "
            "fewer rows (--rows)."
        )
        raise StorageError(msg)


def _there(folder: Path) -> Path:
    """Find the nearest folder above that is there."""
    path = folder.absolute()
    while not path.is_dir() and path != path.parent:
        path = path.parent
    return path


def _most(job: Job, task: Task) -> int:
    """Bytes of a row's files without any compression: no codec that is used makes them larger."""
    try:
        sheet = filled_sheet(job, job.filled(task.row.cells))
    except KeyerError:
        return 0  # which is told when it is rendered
    stored, pixels = job.stored, sheet.format.width * sheet.format.height
    if stored.form in MOVING:
        return len(task.outputs) * sheet.length * (3 * pixels + _FRAME_BYTES)
    deep = stored.bits == 16 or (stored.bits is None and stored.kind == "over")
    return len(task.outputs) * (4 * pixels * (2 if deep else 1) + _FRAME_BYTES)


def _size(job: Job, rows: Sequence[int], todo: Sequence[Task]) -> float:
    """Render some rows in memory; mean bytes of their files."""
    sizes = []
    with closing(RowRenderer(job)) as renderer:
        for task in todo:
            if task.row.number not in rows:
                continue
            try:
                made = renderer.render(task.row.cells)
            except KeyerError:
                continue
            sizes.append(sum(len(data) for _, data in made.files))
    return sum(sizes) / len(sizes) if sizes else 0.0


def _bytes(file: Path) -> int:
    try:
        return file.stat().st_size
    except OSError:
        return 0


def _told(size: int) -> str:
    """Write bytes as a person reads them: decimal units (IEC 80000-13)."""
    for unit, one in (("GB", 10**9), ("MB", 10**6)):
        if size >= one:
            return f"{size / one:.1f} {unit}"
    return f"{max(size, 0) / 1000:.0f} kB"
