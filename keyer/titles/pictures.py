"""Pictures of a title: a logo from a file beside the design, brought to its size."""

from __future__ import annotations

from functools import lru_cache
from pathlib import Path

import numpy as np

from keyer.errors import InputFileError
from keyer.kinds.arrays import Planes
from keyer.kinds.picture import RgbPicture
from keyer.media.sequence import is_pattern
from keyer.media.source import open_source
from keyer.pixel.compose.fit import resample
from keyer.titles.ink import Coverage

Stamp = tuple[int, ...]


def _stamp(path: Path) -> Stamp:
    """Give what changes when a file does."""
    try:
        found = path.stat()
    except OSError:
        return ()
    return found.st_dev, found.st_ino, found.st_size, found.st_mtime_ns


def picture_shape(folder: Path | None, file: str) -> float:
    """Width of a picture over its height, as shown.

    Parameters
    ----------
    folder : Path or None
        The design's folder.
    file : str
        As the design names it.

    Raises
    ------
    InputFileError
        If it cannot be read, or is no still.
    """
    path = (folder or Path()) / file
    return _shape(path, _stamp(path))


@lru_cache(maxsize=256)
def _shape(path: Path, _of: Stamp) -> float:
    picture = _opened(path)
    return picture.width / picture.height


def _opened(path: Path) -> RgbPicture:
    still = f"{path} must be a still to stand in a title design. Take a PNG."
    if path.is_dir() or is_pattern(path):
        raise InputFileError(still)
    source = open_source(path)
    try:
        if source.props.frames is not None:
            raise InputFileError(still)
        found = source.read(0)
    finally:
        source.close()
    if isinstance(found, RgbPicture):
        return found
    msg = "a still is R'G'B'"
    raise AssertionError(msg)


def drawn_picture(
    folder: Path | None, file: str, width: int, height: int
) -> tuple[Planes, Coverage]:
    """Bring a picture to a size.

    Parameters
    ----------
    folder, file
        As for `picture_shape`.
    width, height : int
        Pixels.

    Returns
    -------
    planes : (3, height, width) float32
        Straight colours.
    alpha : (height, width) float32

    Raises
    ------
    InputFileError
    """
    path = (folder or Path()) / file
    return _drawn(path, _stamp(path), width, height)


@lru_cache(maxsize=8)
def _drawn(path: Path, _of: Stamp, width: int, height: int) -> tuple[Planes, Coverage]:
    found = resample(_opened(path), width, height)
    alpha = np.ones((height, width), np.float32) if found.alpha is None else found.alpha
    return found.planes.clip(0, 1), np.ascontiguousarray(alpha, np.float32)
