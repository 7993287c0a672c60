"""Placing a subject: scale, position, crop and flip of premultiplied planes.

Premultiplied colour and matte are moved alike, so no fringe appears. A picture
that shrinks is first averaged down to about its size, then moved by the rest.
"""

from __future__ import annotations

from dataclasses import dataclass

import cv2
import numpy as np
from numpy.typing import NDArray

from keyer.kinds.picture import Planes

Plane = NDArray[np.float32]


@dataclass(frozen=True)
class Placement:
    """Where a subject stands and how much of it is seen.

    Attributes
    ----------
    x, y : float
        Its middle, percent of picture width and height from left and top.
    scale : float
        Percent.
    crop : four floats
        Cut off at left, top, right and bottom, percent of its width and height.
    left_right, up_down : bool
        Mirror it.
    """

    x: float = 50.0
    y: float = 50.0
    scale: float = 100.0
    crop: tuple[float, float, float, float] = (0.0, 0.0, 0.0, 0.0)
    left_right: bool = False
    up_down: bool = False


UNMOVED = Placement()


def place(fill: Planes, matte: Plane, placement: Placement) -> tuple[Planes, Plane]:
    """Place a premultiplied subject in a picture of its own size.

    Parameters
    ----------
    fill : (3, H, W) float32
    matte : (H, W) float32
    placement : Placement

    Returns
    -------
    fill : (3, H, W) float32
    matte : (H, W) float32
        Clear where the subject does not reach.
    """
    planes = np.concatenate([fill, matte[np.newaxis]])
    rows, columns = matte.shape
    _crop(planes, placement.crop)
    if placement.left_right:
        planes = planes[:, :, ::-1]
    if placement.up_down:
        planes = planes[:, ::-1]
    scale = placement.scale / 100
    if scale <= 0:
        return np.zeros_like(fill), np.zeros_like(matte)
    small = [_shrunk(np.ascontiguousarray(plane), scale) for plane in planes]
    move = _affine(small[0].shape, (rows, columns), scale, placement)
    placed: Planes = np.stack(
        [
            cv2.warpAffine(
                plane, move, (columns, rows), flags=cv2.INTER_LINEAR, borderMode=cv2.BORDER_CONSTANT
            )
            for plane in small
        ]
    )
    return placed[:3], placed[3].astype(np.float32, copy=False)


def _crop(planes: Planes, crop: tuple[float, float, float, float]) -> None:
    """Clear what is cut off, in place, to the nearest pixel."""
    _, rows, columns = planes.shape
    left, top, right, bottom = crop
    planes[:, :, : round(columns * left / 100)] = 0
    planes[:, : round(rows * top / 100)] = 0
    planes[:, :, columns - round(columns * right / 100) :] = 0
    planes[:, rows - round(rows * bottom / 100) :] = 0


def _shrunk(plane: Plane, scale: float) -> Plane:
    """Average a plane down to about its final size; leave it where it does not shrink."""
    if scale >= 1:
        return plane
    rows, columns = plane.shape
    size = (max(1, round(columns * scale)), max(1, round(rows * scale)))
    return np.asarray(cv2.resize(plane, size, interpolation=cv2.INTER_AREA), np.float32)


def _affine(
    small: tuple[int, ...], size: tuple[int, int], scale: float, placement: Placement
) -> NDArray[np.float64]:
    """Matrix from pixels of the (shrunk) subject to pixels of the picture.

    Pixel i spans i - 1/2 to i + 1/2, so a middle lies half a pixel off the
    count of pixels before it.
    """
    rows, columns = size
    across, down = columns * scale / small[1], rows * scale / small[0]
    left = columns * placement.x / 100 - columns * scale / 2
    top = rows * placement.y / 100 - rows * scale / 2
    return np.array(
        [
            [across, 0.0, left + across / 2 - 0.5],
            [0.0, down, top + down / 2 - 0.5],
        ]
    )
