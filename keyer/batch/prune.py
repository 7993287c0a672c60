"""Files of rows that a table has no longer: moved aside, never deleted."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

from keyer.batch.manifest import Entry, digest_of
from keyer.errors import StorageError
from keyer.media.rename import move_aside

ASIDE = "no longer named"
"""Folder inside the batch's own that they are moved into."""


def prune(folder: Path, entries: Sequence[Entry]) -> tuple[tuple[str, ...], list[Entry]]:
    """Move the files of rows aside, but for those that somebody has changed since.

    Parameters
    ----------
    folder : Path
        Of the batch.
    entries : sequence of Entry
        Of rows that are gone.

    Returns
    -------
    moved : tuple of str
        Files, as they were called.
    left : list of Entry
        Rows whose files stay, with a file that is not as the batch has made it.

    Raises
    ------
    StorageError
        If a file cannot be moved; those before it are.
    """
    moved: list[str] = []
    left: list[Entry] = []
    for entry in entries:
        there = {name: digest for name, digest in entry.outputs if (folder / name).is_file()}
        plain = all(Path(name).name == name for name in there)
        if not plain or any(digest_of(folder / name) != there[name] for name in there):
            left.append(entry)
            continue
        for name in there:
            _move(folder, name)
            moved.append(name)
    return tuple(moved), left


def _move(folder: Path, name: str) -> None:
    """Move a file; what lies there already under its name stays."""
    home = folder / ASIDE
    try:
        move_aside(folder / name, home)
    except OSError as error:
        reason = (error.strerror or str(error)).lower()
        msg = f"{name} cannot be moved into {home}: {reason}."
        raise StorageError(msg) from error
