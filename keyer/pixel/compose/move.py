"""Transitions that move pictures: push and slide.

Pictures move by whole pixels: nothing is resampled, so that at 0 and at 1 every
code is that of A or of B.
"""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any, Literal, NamedTuple, get_args

import numpy as np
from numpy.typing import NDArray

from keyer.errors import FrameShapeError
from keyer.kinds.ranges import in_range, one_of

MoveKind = Literal["push", "slide"]
Side = Literal["left", "top", "right", "bottom"]
Array = NDArray[Any]


class Part(NamedTuple):
    """A rectangle of the result that one of the pictures fills.

    Attributes
    ----------
    of_b : bool
        Whether it is B's, else A's.
    rows, columns : slice
        Of the result; rows counted from the first one asked for.
    from_rows, from_columns : slice
        Of the picture that fills it.
    """

    of_b: bool
    rows: slice
    columns: slice
    from_rows: slice
    from_columns: slice


def _spans(kind: str, side: str, moved: int, length: int) -> tuple[tuple[int, int, int], ...]:
    """Begin and end of A's and of B's part along the way, and where in the picture it begins."""
    stays = kind == "slide"
    if side in {"left", "top"}:
        return (moved, length, moved if stays else 0), (0, moved, length - moved)
    return (0, length - moved, 0 if stays else moved), (length - moved, length, 0)


def moved_parts(
    kind: str,
    side: str,
    progress: float,
    width: int,
    height: int,
    rows: tuple[int, int] | None = None,
) -> Iterator[Part]:
    """Say which parts of the pictures fill the result.

    Parameters
    ----------
    kind : {"push", "slide"}
    side : {"left", "top", "right", "bottom"}
        Where B comes in.
    progress : float
        0 is exactly A, 1 exactly B.
    width, height : int
        Of the pictures.
    rows : tuple of two ints, optional
        First row asked for and the row after the last; default: all.

    Yields
    ------
    Part
        At most one of each picture; none is empty.

    Raises
    ------
    SettingError
    """
    one_of("side", side, get_args(Side))
    in_range("progress", progress, 0, 1)
    across = side in {"left", "right"}
    length = width if across else height
    top, bottom = rows or (0, height)
    spans = _spans(kind, side, round(progress * length), length)
    for of_b, (begin, end, start) in enumerate(spans):
        if across:
            here, source = slice(0, bottom - top), slice(top, bottom)
            if begin < end:
                columns = slice(begin, end)
                yield Part(bool(of_b), here, columns, source, slice(start, start + end - begin))
            continue
        first, last = max(begin, top), min(end, bottom)
        if first < last:
            here, every = slice(first - top, last - top), slice(0, width)
            away = start - begin
            yield Part(bool(of_b), here, every, slice(first + away, last + away), every)


def _moved(kind: MoveKind, a: Array, b: Array, progress: float, side: str) -> Array:
    if a.shape != b.shape or a.dtype != b.dtype or a.ndim < 2:
        msg = (
            f"b must have the shape and depth of a, {a.shape} {a.dtype}, "
            f"got {b.shape} {b.dtype}. Fit it first."
        )
        raise FrameShapeError(msg)
    out = np.empty_like(a)
    height, width = a.shape[-2:]
    for part in moved_parts(kind, side, progress, width, height):
        source = b if part.of_b else a
        out[..., part.rows, part.columns] = source[..., part.from_rows, part.from_columns]
    return out


def push(a: Array, b: Array, progress: float, side: str) -> Array:
    """Let B push A out of the picture.

    Parameters
    ----------
    a, b : (..., H, W) of any dtype
        Planes of one shape and dtype.
    progress : float
        0 is exactly A, 1 exactly B.
    side : {"left", "top", "right", "bottom"}
        Where B comes in.

    Returns
    -------
    array of the shape and dtype of `a`

    Raises
    ------
    FrameShapeError, SettingError
    """
    return _moved("push", a, b, progress, side)


def slide(a: Array, b: Array, progress: float, side: str) -> Array:
    """Let B slide in over A, which stays.

    Parameters
    ----------
    a, b : (..., H, W) of any dtype
        Planes of one shape and dtype.
    progress : float
        0 is exactly A, 1 exactly B.
    side : {"left", "top", "right", "bottom"}
        Where B comes in.

    Returns
    -------
    array of the shape and dtype of `a`

    Raises
    ------
    FrameShapeError, SettingError
    """
    return _moved("slide", a, b, progress, side)
