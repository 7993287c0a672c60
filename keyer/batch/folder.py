"""The output folder of a batch: one batch at a time, and nothing half-written left behind."""

from __future__ import annotations

import os
import re
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from keyer.errors import OutputError

LOCK = ".batch.lock"
_UNFINISHED = re.compile(r"\..{1,80}\.[0-9a-f]{12}\.[a-z0-9]{2,5}")
"""Temporary names of the one place that writes files (`keyer.media.write`)."""


def sweep(folder: Path) -> int:
    """Remove what a stopped batch had begun to write.

    Parameters
    ----------
    folder : Path

    Returns
    -------
    int
        How many files.
    """
    left = [path for path in folder.iterdir() if _UNFINISHED.fullmatch(path.name)]
    for path in left:
        path.unlink(missing_ok=True)
    return len(left)


@contextmanager
def held(folder: Path) -> Iterator[None]:
    """Keep a folder to one batch; swept clean before and after.

    Parameters
    ----------
    folder : Path
        Made if its parent is there.

    Raises
    ------
    OutputError
        If it cannot be made or written, or another batch is at work in it.
    """
    try:
        folder.mkdir(exist_ok=True)
        handle = os.open(folder / LOCK, os.O_RDWR | os.O_CREAT)
    except OSError as error:
        reason = (error.strerror or str(error)).lower()
        msg = f"the output folder {folder} cannot be used: {reason}."
        raise OutputError(msg) from error
    try:
        _lock(handle, folder)
        sweep(folder)
        try:
            yield
        finally:
            sweep(folder)
            (folder / LOCK).unlink(missing_ok=True)
    finally:
        os.close(handle)


def _lock(handle: int, folder: Path) -> None:
    try:
        import fcntl
    except ImportError:  # elsewhere two batches in one folder are the user's to avoid
        return
    try:
        fcntl.flock(handle, fcntl.LOCK_EX | fcntl.LOCK_NB)
    except OSError:
        msg = f"another batch is at work in {folder}. Wait for it, or name another folder."
        raise OutputError(msg) from None
