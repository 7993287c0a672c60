"""What is in a batch's folder already: what still holds, and what is not the batch's to replace."""

from __future__ import annotations

import dataclasses
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path

from keyer.batch.manifest import Entry, Manifest, digest_of
from keyer.batch.preflight import Task
from keyer.errors import KeyerError
from keyer.media.source import open_source


@dataclass(frozen=True)
class There:
    """What a folder holds of earlier runs: rows that are kept, and files that stand in the way.

    Attributes
    ----------
    kept : tuple of Entry
        Rows that need not be rendered again, as this table has them.
    faults : tuple of (row, message)
        Files that this batch has not made, or that somebody has changed since.
    """

    kept: tuple[Entry, ...] = ()
    faults: tuple[tuple[int, str], ...] = ()


def look_round(folder: Path, tasks: Sequence[Task], known: Manifest) -> There:
    """Compare a folder with the rows: which pictures are there and still right.

    Parameters
    ----------
    folder : Path
    tasks : sequence of Task
    known : Manifest
        Of the folder.
    """
    kept: list[Entry] = []
    faults: list[tuple[int, str]] = []
    for task in tasks:
        entry = known.entries.get(task.outputs[0])
        files = {name: folder / name for name in task.outputs}
        digests = {name: digest_of(file) for name, file in files.items() if file.is_file()}
        if entry is not None and entry.key == task.rests.key and digests == dict(entry.outputs):
            kept.append(_taken_over(entry, task))
        else:
            found = (fault for name in digests for fault in _not_ours(
                files[name], digests[name], entry, task, known
            ))  # fmt: skip
            faults += [(task.row.number, message) for message in found]
    return There(tuple(kept), tuple(faults))


def _taken_over(entry: Entry, task: Task) -> Entry:
    """Take over an entry whose row may have moved in the table, or to another table."""
    return dataclasses.replace(
        entry, row=task.row.number, batch=task.batch, settings=task.row.cells
    )


def _not_ours(
    file: Path, digest: str, entry: Entry | None, task: Task, known: Manifest
) -> Iterator[str]:
    """Say why a file is not this batch's to replace."""
    if file.name not in known.made:
        why = "its output exists, and no batch made it."
    elif entry is not None and entry.batch != task.batch:
        why = f"its output was made from {entry.batch}, and this is {task.batch}."
    elif digest not in known.made[file.name] and not _damaged(file):
        why = "its output has been changed since it was made."
    else:
        return
    yield f"{why} Move it, name another folder, or replace it (--force)."


def _damaged(file: Path) -> bool:
    """Whether a file is no picture or clip any more."""
    try:
        open_source(file).close()
    except KeyerError:
        return True
    return False
