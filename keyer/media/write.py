"""The one place that writes files: whole or not at all, never over an input.

A file is written under a temporary name in the folder where it belongs, flushed
to the disk and renamed. What stood there before is untouched until then.
"""

from __future__ import annotations

import os
from collections.abc import Iterable, Iterator, Mapping
from contextlib import contextmanager
from pathlib import Path
from typing import Any

from numpy.typing import NDArray

from keyer.errors import KeyerError, OutputError
from keyer.kinds.picture import RgbPicture
from keyer.media.encode_still import check_suffix, encode_grey, encode_still

PathLike = str | os.PathLike[str]


def check_output(path: PathLike, *, force: bool = False, inputs: Iterable[PathLike] = ()) -> Path:
    """Refuse an output that cannot or must not be written.

    Parameters
    ----------
    path : path
    force : bool
        Whether an existing file may be replaced.
    inputs : iterable of paths
        Files that must never be replaced.

    Returns
    -------
    Path

    Raises
    ------
    OutputError
    """
    target = Path(path)
    folder = target.parent
    if not folder.is_dir():
        msg = f"the folder of {target} does not exist. Make it first."
        raise OutputError(msg)
    if target.exists():
        if not target.is_file():
            msg = f"{target} is not a plain file. Name a file to write."
            raise OutputError(msg)
        if any(Path(other).exists() and target.samefile(other) for other in inputs):
            msg = f"{target} is an input and is never written over. Name another output."
            raise OutputError(msg)
        if not force:
            msg = f"{target} exists. Name another output, or say that it may be replaced (--force)."
            raise OutputError(msg)
    if not os.access(folder, os.W_OK | os.X_OK):
        msg = f"the folder of {target} cannot be written. Name another, or change its permissions."
        raise OutputError(msg)
    return target


def check_still(path: PathLike, *, force: bool = False, inputs: Iterable[PathLike] = ()) -> Path:
    """Refuse a still that cannot or must not be written, before it is rendered.

    Parameters
    ----------
    path : path
        Its suffix says what kind of file it will be.
    force, inputs
        As in `check_output`.

    Returns
    -------
    Path

    Raises
    ------
    OutputError
    """
    target = check_output(path, force=force, inputs=inputs)
    check_suffix(target)
    return target


@contextmanager
def atomic_path(
    path: PathLike, *, force: bool = False, inputs: Iterable[PathLike] = ()
) -> Iterator[Path]:
    """Write a file whole or not at all.

    Parameters
    ----------
    path : path
        Where the file shall stand.
    force : bool
        Whether an existing file may be replaced.
    inputs : iterable of paths
        Files that must never be replaced.

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
    inputs = tuple(inputs)
    target = check_output(path, force=force, inputs=inputs)
    temporary = target.with_name(f".{target.stem[:80]}.{os.urandom(6).hex()}{target.suffix}")
    try:
        yield temporary
        _to_disk(temporary)
        check_output(target, force=force, inputs=inputs)  # it may have appeared meanwhile
        temporary.replace(target)
        _to_disk(target.parent)
    except KeyerError:
        raise  # whoever fails inside has said it, and an input's failure is no output's
    except OSError as error:
        if error.filename is None or Path(os.fsdecode(error.filename)) == temporary:
            msg = f"{target} cannot be written: {error.strerror or error}."
            raise OutputError(msg) from error
        raise
    finally:
        temporary.unlink(missing_ok=True)


def _to_disk(path: Path) -> None:
    """Flush a file or a folder's entries, where the system can."""
    if path.is_dir() and os.name == "nt":
        return
    handle = os.open(path, os.O_RDONLY if path.is_dir() else os.O_RDWR)
    try:
        os.fsync(handle)
    finally:
        os.close(handle)


def write_bytes(
    path: PathLike, data: bytes, *, force: bool = False, inputs: Iterable[PathLike] = ()
) -> None:
    """Write a small file (JSON, HTML, CSV) whole or not at all.

    Parameters
    ----------
    path : path
    data : bytes
    force, inputs
        As in `atomic_path`.

    Raises
    ------
    OutputError
    """
    with atomic_path(path, force=force, inputs=inputs) as temporary:
        temporary.write_bytes(data)


def write_still(
    path: PathLike,
    picture: RgbPicture,
    *,
    text: Mapping[str, str] | None = None,
    force: bool = False,
    inputs: Iterable[PathLike] = (),
) -> None:
    """Write a picture as PNG, JPEG, TIFF or WebP, told by its suffix.

    Parameters
    ----------
    path : path
    picture : RgbPicture
        PNG and TIFF keep 8 or 16 bits (float32 becomes 16); JPEG and WebP take 8.
    text : mapping, optional
        Notes to keep in a PNG, by keyword.
    force, inputs
        As in `atomic_path`.

    Raises
    ------
    OutputError
        Also if the suffix is another, or JPEG is asked to hold alpha.
    """
    target = check_output(path, force=force, inputs=inputs)
    write_bytes(target, encode_still(picture, target, text), force=force, inputs=inputs)


def write_grey(
    path: PathLike,
    plane: NDArray[Any],
    *,
    text: Mapping[str, str] | None = None,
    force: bool = False,
    inputs: Iterable[PathLike] = (),
) -> None:
    """Write one plane, such as a matte, as a grey PNG or TIFF.

    Parameters
    ----------
    path : path
    plane : (H, W) uint8, uint16 or float32
        float32 0..1 becomes 16 bits.
    text, force, inputs
        As in `write_still`.

    Raises
    ------
    OutputError
    """
    target = check_output(path, force=force, inputs=inputs)
    write_bytes(target, encode_grey(plane, target, text), force=force, inputs=inputs)
