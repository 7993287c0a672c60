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


@lru_cache(maxsize=1 << 16)
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
    folder: Path | None, file: str, width: int, height: int, *, shape: float | None = None
) -> tuple[Planes, Coverage]:
    """Bring a picture to a size.

    Parameters
    ----------
    folder, file
        As for `picture_shape`.
    width, height : int
        Pixels.
    shape : float, optional
        Width over height, as shown, of what is kept of the middle of it; None: all.

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
    return _drawn(path, _stamp(path), width, height, shape)


@lru_cache(maxsize=8)
def _drawn(
    path: Path, _of: Stamp, width: int, height: int, shape: float | None
) -> tuple[Planes, Coverage]:
    picture = _opened(path)
    found = resample(picture if shape is None else _middle(picture, shape), width, height)
    alpha = np.ones((height, width), np.float32) if found.alpha is None else found.alpha
    return found.planes.clip(0, 1), np.ascontiguousarray(alpha, np.float32)


def _middle(picture: RgbPicture, shape: float) -> RgbPicture:
    """Cut the middle of a picture out, as large as it can be in a shape, to a pixel."""
    width = min(max(round(picture.height * shape), 1), picture.width)
    height = min(max(round(picture.width / shape), 1), picture.height)
    left, top = (picture.width - width) // 2, (picture.height - height) // 2
    place = np.s_[..., top : top + height, left : left + width]
    alpha = None if picture.alpha is None else np.ascontiguousarray(picture.alpha[place])
    return RgbPicture(np.ascontiguousarray(picture.planes[place]), alpha, picture.matrix)
