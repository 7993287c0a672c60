"""The output folder of a batch: one batch at a time, and nothing half-written left behind."""

from __future__ import annotations

import os
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from pathlib import Path

from keyer.errors import OutputError, StorageError
from keyer.kinds import stopping
from keyer.media.unfinished import sweep

LOCK = ".batch.lock"


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
        If it cannot be made or written, or another batch is running in it.
    """
    handle = -1
    try:
        handle = _opened(folder)
        if not _alone(handle):
            msg = f"another batch is running in {folder}. Wait for it, or name another folder."
            raise OutputError(msg)
        stopping.begin(folder / LOCK)
        sweep(folder)
        yield
    finally:
        if handle >= 0 and _alone(handle):  # a stop may come before that was known
            sweep(folder)
            with suppress(OSError):
                (folder / LOCK).unlink(missing_ok=True)
            stopping.end(folder / LOCK)
        if handle >= 0:
            os.close(handle)


def _opened(folder: Path) -> int:
    """Open the file that is locked, in a folder that is made if need be."""
    try:
        if not folder.is_dir():
            stopping.begin(folder)  # taken back in the end if it stays empty
            folder.mkdir()
        return os.open(folder / LOCK, os.O_RDWR | os.O_CREAT)
    except OSError as error:
        reason = (error.strerror or str(error)).lower()
        msg = f"the output folder {folder} cannot be used: {reason}."
        raise StorageError(msg) from error


def _alone(handle: int) -> bool:
    """Lock the file, or say that it is locked; who has it locked may lock it again."""
    try:
        import fcntl
    except ImportError:  # elsewhere two batches in one folder are the user's to avoid
        return True
    try:
        fcntl.flock(handle, fcntl.LOCK_EX | fcntl.LOCK_NB)
    except OSError:
        return False
    return True
