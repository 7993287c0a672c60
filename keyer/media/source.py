"""Open a still, a clip or a numbered sequence, told by what the file holds."""

from __future__ import annotations

import os
from fractions import Fraction
from pathlib import Path

from keyer.errors import InputFileError
from keyer.kinds.plain_file import open_plain
from keyer.media.contract import Source, SourceProps
from keyer.media.decode_still import STILL_SUFFIXES, raw_refused, still_kind, unreadable
from keyer.media.sequence import Sequence, is_pattern
from keyer.media.stills import Still

RAW_SUFFIXES = frozenset({".ari", ".arw", ".braw", ".cr2", ".cr3", ".dng", ".nef", ".r3d", ".raf"})
"""Endings of files that hold sensor data, some of which pass for a TIFF with a small preview in it
(common practice)."""

__all__ = ["Source", "SourceProps", "open_source"]


def open_source(path: str | os.PathLike[str], at: Fraction | None = None) -> Source:
    """Open a source of pictures.

    Parameters
    ----------
    path : path
        A still (PNG, JPEG, TIFF, WebP, HEIC, AVIF), a clip, a pattern of numbered stills
        (`shot_%04d.png`, `shot_####.png`) or a folder of them.
    at : Fraction, optional
        Pictures a second that it will be shown at: an interlaced clip is then read by fields where
        its frames are too few.

    Returns
    -------
    Source
        With `props`, `read(index)` and `close()`.

    Raises
    ------
    InputFileError
        In one line, if it is missing, broken, or none of these.
    """
    where = Path(path)
    try:
        if where.is_dir() or (is_pattern(where) and not where.exists()):
            return Sequence(where)
        special = where.exists() and not where.is_file()
        head = b"" if special else _head(where)
    except (OSError, ValueError) as error:
        raise error if isinstance(error, InputFileError) else unreadable(where, error) from None
    if special:
        msg = f"{where} is not a file. Name a picture, a clip, or a folder of numbered stills."
        raise InputFileError(msg)
    if where.suffix.lower() in RAW_SUFFIXES and head:
        raise raw_refused(where)
    if not head or still_kind(head) or where.suffix.lower() in STILL_SUFFIXES:
        return Still(where)
    from keyer.media.clips import Clip

    return Clip(where, at)


def _head(path: Path) -> bytes:
    with open_plain(path) as file:
        return file.read(16)
