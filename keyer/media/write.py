"""The one place that writes files: whole or not at all, never over an input.

A file is written under a temporary name in the folder where it belongs, flushed
to the disk and renamed. What stood there before is untouched until then.
"""

from __future__ import annotations

import os
from collections.abc import Iterator, Mapping
from contextlib import ExitStack, contextmanager
from pathlib import Path
from typing import Any

from numpy.typing import NDArray

from keyer.errors import KeyerError
from keyer.kinds.picture import RgbPicture
from keyer.kinds.stopping import UNFINISHED
from keyer.media.encode_still import encode_grey, encode_still
from keyer.media.files import Files, PathLike, there_already, unwritable
from keyer.media.unfinished import unfinished_file

MOST_HELD = 100
"""Outputs that wait for each other; each is an open file, of which a process has few."""


@contextmanager
def atomic_path(path: PathLike, files: Files | None = None) -> Iterator[Path]:
    """Write a file whole or not at all.

    Parameters
    ----------
    path : path
        Where the file shall stand.
    files : Files, optional
        Of the command; none: there are no inputs, and nothing is replaced.

    Yields
    ------
    Path
        A temporary name in the same folder and with the same suffix, to be
        written before the block ends. If the block raises, it is removed and
        nothing else has changed.

    Raises
    ------
    OutputError
        If the output cannot or must not be written.
    """
    files = files or Files()
    target = files.check(path)
    try:
        with unfinished_file(target.parent, target.suffix) as temporary:
            yield temporary
            _to_disk(temporary)
            files.check(target)  # it may have appeared meanwhile
            _put(temporary, target, replace=files.force)
            _to_disk(target.parent)
    except OSError as error:
        # whoever fails inside has said it, and an input's failure is no output's
        if isinstance(error, KeyerError) or not _ours(error):
            raise
        raise unwritable(target, error) from error


@contextmanager
def together(files: Files) -> Iterator[None]:
    """Let the stills and small files of a command appear when the block ends, or none of them.

    Of more than `MOST_HELD` the further ones appear as they are written.

    Parameters
    ----------
    files : Files
        Of the command.
    """
    with ExitStack() as waiting:
        files.waiting = waiting
        try:
            yield
        finally:
            files.waiting = None


def _ours(error: OSError) -> bool:
    """Whether it was the file in the making that failed."""
    name = "" if error.filename is None else os.fsdecode(error.filename)
    return not name or Path(name).name.startswith(UNFINISHED)


def _put(temporary: Path, target: Path, *, replace: bool) -> None:
    """Give a file its name; of two programs that make the same new file, one is refused."""
    if not replace:
        try:
            target.hardlink_to(temporary)
        except FileExistsError:
            raise there_already(target) from None
        except OSError:
            pass  # a file system without such links
        else:
            return
    temporary.replace(target)


def _to_disk(path: Path) -> None:
    """Flush a file or a folder's entries, where the system can."""
    if path.is_dir() and os.name == "nt":
        return
    handle = os.open(path, os.O_RDONLY if path.is_dir() else os.O_RDWR)
    try:
        os.fsync(handle)
    finally:
        os.close(handle)


def write_bytes(path: PathLike, data: bytes, files: Files | None = None) -> None:
    """Write a small file (JSON, HTML, CSV) whole or not at all.

    Parameters
    ----------
    path : path
    data : bytes
    files : Files, optional
        As in `atomic_path`.

    Raises
    ------
    OutputError
    """
    if files is not None and files.waiting is not None and files.held < MOST_HELD:
        files.held += 1
        files.waiting.enter_context(atomic_path(path, files)).write_bytes(data)
        return
    with atomic_path(path, files) as temporary:
        temporary.write_bytes(data)


def put_aside(folder: Path, suffix: str, data: bytes) -> str:
    """Write a file for another process to give its name (`take_over`).

    Parameters
    ----------
    folder : Path
        Where it belongs.
    suffix : str
    data : bytes

    Returns
    -------
    str
        Its name: one of those that `keyer.media.unfinished.sweep` takes for abandoned.

    Raises
    ------
    OSError
        If the folder takes no file.
    """
    path = folder / f"{UNFINISHED}{os.urandom(6).hex()}{suffix}"
    with path.open("xb") as stream:
        stream.write(data)
        stream.flush()
        os.fsync(stream.fileno())
    return path.name


def take_over(aside: Path, path: PathLike, files: Files | None = None) -> None:
    """Give a file that another process has put aside its name.

    Parameters
    ----------
    aside : Path
        In the same folder.
    path : path
    files : Files, optional
        As in `atomic_path`; it must be allowed to replace files.

    Raises
    ------
    FileNotFoundError
        If it is not there any more: it was swept.
    OutputError
    """
    target = (files or Files(force=True)).check(path)
    try:
        aside.replace(target)
        _to_disk(target.parent)
    except FileNotFoundError:
        raise
    except OSError as error:
        raise unwritable(target, error) from error


def write_still(
    path: PathLike,
    picture: RgbPicture,
    files: Files | None = None,
    *,
    text: Mapping[str, str] | None = None,
) -> None:
    """Write a picture as PNG, JPEG, TIFF or WebP, told by its suffix.

    Parameters
    ----------
    path : path
    picture : RgbPicture
        PNG and TIFF keep 8 or 16 bits (float32 becomes 16); JPEG and WebP take 8.
    files : Files, optional
        As in `atomic_path`.
    text : mapping, optional
        FaultLog to keep in a PNG, by keyword.

    Raises
    ------
    OutputError
        Also if the suffix is another, or JPEG is asked to hold alpha.
    """
    files = files or Files()
    target = files.check(path)
    write_bytes(target, encode_still(picture, target, text), files)


def write_grey(
    path: PathLike,
    plane: NDArray[Any],
    files: Files | None = None,
    *,
    text: Mapping[str, str] | None = None,
) -> None:
    """Write one plane, such as a matte, as a grey PNG or TIFF.

    Parameters
    ----------
    path : path
    plane : (H, W) uint8, uint16 or float32
        float32 0..1 becomes 16 bits.
    files, text
        As in `write_still`.

    Raises
    ------
    OutputError
    """
    files = files or Files()
    target = files.check(path)
    write_bytes(target, encode_grey(plane, target, text), files)
