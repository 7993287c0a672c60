"""Masks and areas as they are typed: `rectangle:10,20,30,40`, or a picture file."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from keyer.sheet.masks import Mask

FORM = "SHAPE:NUMBERS[:SOFT] such as rectangle:10,20,30,40:2, ellipse:50,50,20,30 or polygon:X,Y,.."


def read_masks(name: str, texts: Sequence[str] | None) -> list[Mask | Path]:
    """Read masks as typed.

    Parameters
    ----------
    name : str
        The option, for messages.
    texts : sequence of str, or None

    Returns
    -------
    list of Mask or Path
        A text that does not begin with a shape and a colon is a file.

    Raises
    ------
    SettingError
    """
    return [_mask(name, text) for text in texts or ()]


def _mask(name: str, text: str) -> Mask | Path:
    from keyer.errors import SettingError
    from keyer.sheet.masks import SHAPES, Mask

    shape, colon, rest = text.partition(":")
    if not colon or shape not in SHAPES:
        if not Path(text).exists():
            msg = f"{name} must be a picture file, or {FORM}, in percent, got {text!r}."
            raise SettingError(msg)
        return Path(text)
    numbers, _, soft = rest.partition(":")
    try:
        read = tuple(float(number) for number in numbers.split(","))
        width = float(soft) if soft else 0.0
    except ValueError:
        msg = f"{name} must be {FORM}, in percent, got {text!r}."
        raise SettingError(msg) from None
    return Mask(shape, read, width)


def read_area(text: str | None) -> tuple[int, int, int, int] | None:
    """Read an area as typed: x, y, width and height in pixels.

    Returns
    -------
    tuple of four ints, or None

    Raises
    ------
    SettingError
    """
    from keyer.errors import SettingError

    if text is None:
        return None
    try:
        left, top, width, height = (int(part) for part in text.split(","))
    except ValueError:
        msg = f"sample must be X,Y,W,H in whole pixels, such as 40,60,200,120, got {text!r}."
        raise SettingError(msg) from None
    return left, top, width, height
