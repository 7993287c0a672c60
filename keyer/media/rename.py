"""Files that get another name or are moved aside: nothing that has the name already is replaced."""

from __future__ import annotations

import errno
import os
from contextlib import suppress
from pathlib import Path

from keyer.kinds.stopping import UNFINISHED


def rename(old: Path, new: Path) -> None:
    """Give a file another name in the same file system, unless something has that name.

    Raises
    ------
    FileExistsError
        If something stands at `new`, even if that came at this very moment.
    FileNotFoundError
        If it is not there, even if somebody else has renamed it at this very moment.
    OSError
        If it cannot be done. The file then stands where it stood.
    """
    try:
        new.hardlink_to(old)
    except FileExistsError:
        raise
    except OSError:  # a file system without such links, or the file is gone
        if os.path.lexists(new):
            raise FileExistsError from None
        old.rename(new)
        return
    # what somebody has put at the old name meanwhile is theirs, and goes back
    held = old.with_name(f"{UNFINISHED}{os.urandom(6).hex()}{old.suffix}")
    try:
        old.rename(held)
    except FileNotFoundError:  # somebody else has renamed it, too, and was faster
        new.unlink(missing_ok=True)
        raise
    other = not held.samefile(new)
    if other:
        with suppress(FileExistsError):
            old.hardlink_to(held)
    held.unlink()
    if other and new.stat().st_nlink > 1:
        new.unlink(missing_ok=True)
        raise FileNotFoundError(errno.ENOENT, os.strerror(errno.ENOENT), str(old))


def move_aside(file: Path, home: Path) -> Path:
    """Move a file into a folder, which is made; what lies there under its name stays.

    Returns
    -------
    Path
        Where it is now: its own name, with a number after it where that is taken.

    Raises
    ------
    OSError
    """
    home.mkdir(exist_ok=True)
    target, number = home / file.name, 2
    while True:
        try:
            rename(file, target)
        except FileExistsError:
            target = home / f"{file.stem}-{number}{file.suffix}"
            number += 1
        else:
            return target
