"""The door of every input: plain files come in, special ones are refused before they are opened.

To open a named pipe waits for whoever writes to it, and a device may never end.
"""

from __future__ import annotations

import os
import stat
from io import BufferedReader
from pathlib import Path

from keyer.errors import InputFileError

_SPECIAL = {
    stat.S_IFDIR: "a folder",
    stat.S_IFIFO: "a named pipe",
    stat.S_IFSOCK: "a socket",
    stat.S_IFCHR: "a device",
    stat.S_IFBLK: "a device",
}
_FLAGS = os.O_RDONLY | getattr(os, "O_BINARY", 0) | getattr(os, "O_NONBLOCK", 0)


def real_path(path: Path) -> Path:
    """Follow links to where they lead; those that lead in a circle are left as they are.

    Returns
    -------
    Path
        Absolute. `Path.resolve` raises what nobody expects of it where links lead in a circle.
    """
    return Path(os.path.realpath(path))


def refuse_special(path: Path) -> None:
    """Refuse what is no plain file, for those who open files by name.

    Raises
    ------
    InputFileError
        If it is a folder, a pipe, a socket or a device.
    OSError
        If it is not there or cannot be asked.
    """
    _refuse(path, path.stat().st_mode)


def _refuse(path: Path, mode: int) -> None:
    what = _SPECIAL.get(stat.S_IFMT(mode))
    if what:
        msg = f"{path} is not a file, but {what}. Name a plain file."
        raise InputFileError(msg)


def open_plain(path: Path) -> BufferedReader:
    """Open a plain file to read.

    Returns
    -------
    binary file

    Raises
    ------
    InputFileError
        If it is a folder, a pipe, a socket or a device.
    OSError
        If it cannot be opened.
    """
    refuse_special(path)
    handle = os.open(path, _FLAGS)  # does not wait, should it have become something else
    try:
        _refuse(path, os.fstat(handle).st_mode)
        return os.fdopen(handle, "rb")
    except BaseException:
        os.close(handle)
        raise
