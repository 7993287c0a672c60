"""Every fault of every row, with its number and a remedy, before anything is drawn."""

from __future__ import annotations

from collections.abc import Callable, Collection, Iterable, Iterator, Mapping
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

from keyer.batch.grid import spans
from keyer.batch.job import Job
from keyer.batch.names import alike, safe_name
from keyer.batch.rests import Rests, Sheets
from keyer.batch.row_pictures import pictures_seen
from keyer.batch.rows import Row, Rows
from keyer.batch.scene import title_fields
from keyer.errors import KeyerError


@dataclass(frozen=True)
class RowFault:
    """What is wrong with a row, or with several in the same words.

    Attributes
    ----------
    rows : tuple of int
        Their numbers, in order.
    message : str
    every : bool
        It is said of every row of the table.
    """

    rows: tuple[int, ...]
    message: str
    every: bool = False

    def __str__(self) -> str:
        if self.every:
            return f"every row: {self.message}"
        return f"row{'s' if len(self.rows) > 1 else ''} {spans(self.rows)}: {self.message}"


def told_once(found: Iterable[tuple[int, str]], count: int) -> tuple[RowFault, ...]:
    """Gather what is said of several rows in the same words.

    Parameters
    ----------
    found : iterable of (row, message)
    count : int
        Rows of the table.

    Returns
    -------
    tuple of RowFault
        In the order of their first rows.
    """
    rows: dict[str, dict[int, None]] = {}
    for row, message in found:
        rows.setdefault(message, {})[row] = None
    faults = [
        RowFault(tuple(sorted(numbers)), message, len(numbers) == count > 1)
        for message, numbers in rows.items()
    ]
    return tuple(sorted(faults, key=lambda fault: fault.rows[0]))


@dataclass(frozen=True)
class Task:
    """A row that passed the checks, with what its rendering needs.

    Attributes
    ----------
    row : Row
    name : str
        Of its files, without suffix.
    rests : Rests
        All that its pictures rest on.
    batch : str
        Which sheet, table and kind of output it belongs to.
    outputs : tuple of str
        Its files.
    stored : mapping
        How they are stored, for the manifest.
    """

    row: Row
    name: str
    rests: Rests
    batch: str
    outputs: tuple[str, ...]
    stored: Mapping[str, Any] = field(default_factory=dict)


@dataclass(frozen=True)
class Preflight:
    """Result of the checks of all rows: tasks, faults and notices.

    Attributes
    ----------
    tasks : tuple of Task
        The good rows, in order.
    faults : tuple of RowFault
        In the order of the rows.
    inputs : tuple of Path
        Files that the rows' sheets are read from and show.
    """

    tasks: tuple[Task, ...]
    faults: tuple[RowFault, ...]
    inputs: tuple[Path, ...] = ()


def outputs_of(job: Job, row: Row) -> tuple[str, ...]:
    """Names of the files of a row; none where its cell names none."""
    name = safe_name(row.cells.get(job.file_column, ""))
    return tuple(f"{name}{suffix}" for suffix in job.stored.suffixes) if name else ()


def preflight(
    job: Job,
    rows: Rows,
    folder: Path | None = None,
    *,
    left: Iterable[Row] = (),
    told: Callable[[int, int], None] = lambda _done, _all: None,
) -> Preflight:
    """Check all rows.

    Parameters
    ----------
    job : Job
    rows : Rows
    folder : Path, optional
        Where outputs go: files that stand there already are a fault. None
        where they may be replaced or resumed from.
    left : iterable of Row
        Rows of the table that were not chosen: their files' names are taken.
    told : callable, optional
        Called with rows checked and rows in all.
    """
    sheets = Sheets(job)
    batch = f"{job.path.name} with {rows.name}, {job.stored.kind}, {job.stored.form}"
    taken = {alike(name): row.number for row in left for name in outputs_of(job, row)}
    there = set() if folder is None else _names_in(folder)
    tasks: list[Task] = []
    faults: list[tuple[int, str]] = []
    for done, row in enumerate(pictures_seen(job, rows.rows)):
        told(done, len(rows.rows))
        name = safe_name(row.cells.get(job.file_column, ""))
        found = [*_name_faults(name, row, job, taken, folder, there), *job.doubts(row)]
        try:
            filled = job.filled(row.cells)
        except KeyerError as error:
            faults += [(row.number, message) for message in [*found, str(error)]]
            continue
        known = sheets.known(filled)
        if isinstance(known, str):
            found.append(known)
        else:
            for title, fields in title_fields(filled).items():
                found += known.foresights[title].faults(fields)
            sheets.inputs |= dict.fromkeys(file for _, _, file in known.files(filled))
        faults += [(row.number, message) for message in found]
        if not found and not isinstance(known, str):
            outputs = outputs_of(job, row)
            tasks.append(Task(row, name, known.rests(filled), batch, outputs, job.stored.as_dict()))
    told(len(rows.rows), len(rows.rows))
    return Preflight(tuple(tasks), told_once(faults, len(rows.rows)), tuple(sheets.inputs))


def _names_in(folder: Path) -> set[str]:
    """Names in a folder, folded; read once, since to ask for each of many files is slow."""
    try:
        return {alike(path.name) for path in folder.iterdir()}
    except OSError:
        return set()


def _name_faults(
    name: str,
    row: Row,
    job: Job,
    taken: dict[str, int],
    folder: Path | None,
    there: Collection[str],
) -> Iterator[str]:
    if not name:
        written = row.cells.get(job.file_column, "")
        yield (
            f"{job.file_column} must name the output, got {written!r:.60}. Write letters or "
            "figures that a file name can hold."
        )
        return
    for suffix in job.stored.suffixes:
        output = f"{name}{suffix}"
        other = taken.setdefault(alike(output), row.number)
        if other != row.number:
            yield (
                f"{job.file_column} must be different in each row, got {output!r}, which row "
                f"{other} has as well (case and accents' writing do not tell files apart)."
            )
            return
        if folder is not None and alike(output) in there:
            yield (
                f"its output is in {folder} already. Go on with what is there (--resume), replace "
                "it (--force), or name another folder."
            )
            return
