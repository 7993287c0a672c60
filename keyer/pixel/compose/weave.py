"""Two pictures woven into the fields of one, as interlaced television shows them."""

from __future__ import annotations

from dataclasses import replace
from typing import Literal

import numpy as np

from keyer.kinds.arrays import AnyPlane
from keyer.kinds.picture import YccPicture

FieldOrder = Literal["top", "bottom"]
"""Which field of a frame is the earlier one: that of the first row, or that of the second."""

FIRST_FIELD: dict[int, FieldOrder] = {1080: "top", 576: "top", 486: "bottom", 480: "bottom"}
"""By lines: ITU-R BT.709-6 and BT.601-7 (525 and 625 lines); the first two from memory."""


def weave(earlier: YccPicture, later: YccPicture, order: FieldOrder) -> YccPicture:
    """Weave two pictures into one frame of two fields.

    Parameters
    ----------
    earlier, later : YccPicture
        4:2:2 or 4:4:4, of one size and depth. Of each every other row is taken;
        fine horizontal lines that stand in one field alone twitter.
    order : {"top", "bottom"}
        Whose rows begin: with "top" the first row is the earlier picture's.

    Returns
    -------
    YccPicture
        With planes of its own.
    """
    first, second = (earlier, later) if order == "top" else (later, earlier)
    return replace(
        first,
        luma=_rows(first.luma, second.luma),
        cb=_rows(first.cb, second.cb),
        cr=_rows(first.cr, second.cr),
    )


def _rows(first: AnyPlane, second: AnyPlane) -> AnyPlane:
    plane = np.empty_like(first)
    plane[::2], plane[1::2] = first[::2], second[1::2]
    return plane
