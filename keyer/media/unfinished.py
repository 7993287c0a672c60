"""Files and folders that are being written: under a name that tells, and locked.

What a program that was killed has left is not locked any more, and is removed
by the next one that writes in the same folder.
"""

from __future__ import annotations

import importlib.util
import os
import re
import shutil
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from pathlib import Path

from keyer.kinds import stopping
from keyer.kinds.plain_file import real_path

_LOCKS = importlib.util.find_spec("fcntl") is not None
"""Whether the system has locks of this kind; where not, nothing is taken for abandoned."""

_NAME = re.compile(re.escape(stopping.UNFINISHED) + r"[0-9a-f]{12}(\.\w{1,8})?")
_swept: set[Path] = set()


def _new(folder: Path, suffix: str = "") -> Path:
    _sweep_once(folder)
    path = folder / f"{stopping.UNFINISHED}{os.urandom(6).hex()}{suffix}"
    stopping.begin(path)
    return path


@contextmanager
def unfinished_file(folder: Path, suffix: str) -> Iterator[Path]:
    """Make an empty file to be written and renamed; what is left of it in the end is removed.

    Raises
    ------
    OSError
        If the folder takes no file.
    """
    path = _new(folder, suffix)
    handle = None
    try:
        handle = _made(path)
        yield path
    finally:
        with suppress(OSError):
            path.unlink(missing_ok=True)
        if handle is not None:
            os.close(handle)
        stopping.end(path)


@contextmanager
def unfinished_folder(folder: Path | None = None) -> Iterator[Path]:
    """Make a folder to be filled; what is left of it in the end is removed.

    Parameters
    ----------
    folder : Path, optional
        Where; default: among the system's temporary files.

    Raises
    ------
    OSError
        If there is no room for it.
    """
    path = _new(Path(tempfile.gettempdir()) if folder is None else folder)
    handle = None
    try:
        handle = _made_folder(path, 0o700 if folder is None else 0o777)
        yield path
    finally:
        shutil.rmtree(path, ignore_errors=True)
        if handle is not None:
            os.close(handle)
        stopping.end(path)


def _made(path: Path) -> int | None:
    """Make a file and lock it; another program may have swept it away in between."""
    while True:
        handle = os.open(path, os.O_RDWR | os.O_CREAT | os.O_EXCL, 0o666)
        if not _LOCKS:  # nor is an open file renamed there
            os.close(handle)
            return None
        _lock(handle)
        if os.fstat(handle).st_nlink:
            return handle
        os.close(handle)


def _made_folder(path: Path, mode: int) -> int | None:
    """Make a folder and lock it; another program may have swept it away in between."""
    while True:
        path.mkdir(mode)
        if not _LOCKS:
            return None
        with suppress(FileNotFoundError):
            handle = os.open(path, os.O_RDONLY)
            _lock(handle)
            if path.is_dir():
                return handle
            os.close(handle)


def _lock(handle: int) -> None:
    import fcntl

    with suppress(OSError):  # a file system without locks
        fcntl.flock(handle, fcntl.LOCK_EX)


def _sweep_once(folder: Path) -> None:
    """Sweep a folder the first time that this process writes in it."""
    place = real_path(folder)
    if place not in _swept:
        _swept.add(place)
        sweep(folder)


def sweep(folder: Path) -> int:
    """Remove what programs that were killed have left in a folder.

    Returns
    -------
    int
        How many files and folders.
    """
    try:
        found = [entry for entry in os.scandir(folder) if _NAME.fullmatch(entry.name)]
    except OSError:
        return 0
    return sum(_removed(entry) for entry in found)


def _removed(entry: os.DirEntry[str]) -> bool:
    """Remove a file or folder if nobody writes it any more; return whether it is gone."""
    if not _LOCKS:
        return False
    import fcntl

    inner = entry.is_dir(follow_symlinks=False)
    try:
        handle = os.open(entry.path, (os.O_RDONLY if inner else os.O_RDWR) | os.O_NOFOLLOW)
    except OSError:
        return False
    try:
        fcntl.flock(handle, fcntl.LOCK_EX | fcntl.LOCK_NB)
        if os.fstat(handle).st_uid != os.getuid():
            return False
        if inner:
            shutil.rmtree(entry.path, ignore_errors=True)
        else:
            Path(entry.path).unlink()
    except OSError:
        return False
    finally:
        os.close(handle)
    return True
