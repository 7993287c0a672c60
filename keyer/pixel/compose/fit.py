"""Bring a picture of any size and pixel aspect to the size and aspect of the output.

On coded values, each axis by itself: the mean over the area where it shrinks,
Lanczos (8 taps) where it grows. Opacity weighs colour while it is resampled.
"""

from __future__ import annotations

import math
from fractions import Fraction
from typing import Literal, NamedTuple

import numpy as np
from numpy.typing import NDArray

from keyer.errors import SettingError
from keyer.kinds.arrays import AnyPlane
from keyer.kinds.picture import Picture, RgbPicture
from keyer.pixel.colour.load import load, load_alpha, plane_at_depth

How = Literal["cover", "contain", "fill", "none"]
Float = NDArray[np.float32]

_LEAST_ALPHA = np.float32(1e-4)
"""Opacity below which a resampled pixel has no colour of its own."""


MIDDLE = (50.0, 50.0)


class Placement(NamedTuple):
    """Part of a picture that is shown, and the size it is brought to.

    Attributes
    ----------
    crop : (left, top, width, height)
        Part of the input that is used.
    size : (width, height)
        What it is scaled to.
    """

    crop: tuple[int, int, int, int]
    size: tuple[int, int]


def _at_least_one(length: Fraction) -> int:
    return max(1, int(length + Fraction(1, 2)))


def _about(whole: int, part: int, percent: float) -> tuple[int, int]:
    """Start and length of a part whose middle lies as near to a place as can be."""
    part = min(whole, part)
    if percent == 50:
        return (whole - part) // 2, part
    start = math.floor(whole * percent / 100 - part / 2 + 0.5)
    return min(max(start, 0), whole - part), part


def placement(
    width_in: int,
    height_in: int,
    width: int,
    height: int,
    relative_aspect: Fraction,
    how: How,
    keep: tuple[float, float] = MIDDLE,
) -> Placement:
    """Work out which part of a picture goes where.

    Parameters
    ----------
    width_in, height_in, width, height : int
        Sizes of the input and the output.
    relative_aspect : Fraction
        Pixel aspect of the input over that of the output.
    how : {"cover", "contain", "fill", "none"}
    keep : tuple of two floats
        Place that stays in view where something is cropped, percent.

    Returns
    -------
    Placement
        Rounded to whole pixels; about the place that is kept.
    """
    whole = (0, 0, width_in, height_in)
    if how == "fill":
        return Placement(whole, (width, height))
    if how == "none":
        left, columns = _about(width_in, _at_least_one(width / relative_aspect), keep[0])
        top, rows = _about(height_in, height, keep[1])
        scaled = width if columns < width_in else _at_least_one(columns * relative_aspect)
        return Placement((left, top, columns, rows), (min(width, scaled), rows))
    seen = width_in * relative_aspect  # columns that the input's width fills in output pixels
    wider = seen * height > Fraction(width * height_in)
    if how == "cover":
        if wider:
            part = _at_least_one(width * height_in / (height * relative_aspect))
            left, columns = _about(width_in, part, keep[0])
            return Placement((left, 0, columns, height_in), (width, height))
        top, rows = _about(height_in, _at_least_one(height * seen / width), keep[1])
        return Placement((0, top, width_in, rows), (width, height))
    if wider:
        return Placement(whole, (width, min(height, _at_least_one(width * height_in / seen))))
    return Placement(whole, (min(width, _at_least_one(height * seen / height_in)), height))


class CutOff(NamedTuple):
    """Share of a picture's width and of its height that is lost when it fills a frame, 0..1."""

    across: float
    down: float


def cut_off(
    width_in: int, height_in: int, width: int, height: int, relative_aspect: Fraction, how: How
) -> CutOff:
    """Work out how much of a picture is lost.

    Parameters
    ----------
    width_in, height_in, width, height, relative_aspect, how
        As for `placement`.
    """
    crop = placement(width_in, height_in, width, height, relative_aspect, how).crop
    return CutOff(1 - crop[2] / width_in, 1 - crop[3] / height_in)


def _resize(plane: Float, out: Float) -> None:
    """Resample one plane; where one axis shrinks and the other grows, in two steps."""
    import cv2

    (rows, columns), (height, width) = plane.shape, out.shape
    if (height < rows and width > columns) or (height > rows and width < columns):
        narrowed = np.empty((rows, width), np.float32)
        _resize(plane, narrowed)
        plane = narrowed
    shrinks = height < rows or width < columns
    method = cv2.INTER_AREA if shrinks else cv2.INTER_LANCZOS4
    cv2.resize(plane, (width, height), dst=out, interpolation=method)


def resample(picture: RgbPicture, width: int, height: int) -> RgbPicture:
    """Resample a picture.

    Returns
    -------
    RgbPicture
        float32. Edges may overshoot 0..1 where they are enlarged; alpha does not.
    """
    scaled = np.empty((3, height, width), np.float32)
    if picture.alpha is None:
        for channel in range(3):
            _resize(plane_at_depth(picture.planes[channel], np.float32), scaled[channel])
        return RgbPicture(scaled, None, picture.matrix)
    alpha = plane_at_depth(picture.alpha, np.float32)
    thin = np.empty((height, width), np.float32)
    _resize(alpha, thin)
    for channel in range(3):
        _resize(plane_at_depth(picture.planes[channel], np.float32) * alpha, scaled[channel])
    scaled /= np.maximum(thin, _LEAST_ALPHA)  # both overshoot alike, so clamp afterwards
    scaled[:, thin < _LEAST_ALPHA] = 0
    return RgbPicture(scaled, np.clip(thin, 0, 1), picture.matrix)


def _framed(part: AnyPlane, width: int, height: int) -> AnyPlane:
    """Put planes in the middle of larger ones that are 0 all round: black, or clear."""
    whole = np.zeros((part.shape[0], height, width), part.dtype)
    top, left = (height - part.shape[1]) // 2, (width - part.shape[2]) // 2
    whole[:, top : top + part.shape[1], left : left + part.shape[2]] = part
    return whole


def fit(
    picture: Picture,
    width: int,
    height: int,
    *,
    pixel_aspect_in: Fraction = Fraction(1),
    pixel_aspect_out: Fraction = Fraction(1),
    how: How = "cover",
    keep: tuple[float, float] = MIDDLE,
) -> Picture:
    """Bring a picture to a size and pixel aspect.

    Parameters
    ----------
    picture : RgbPicture or YccPicture
    width, height : int
        Size wanted.
    pixel_aspect_in, pixel_aspect_out : Fraction
        Width of a pixel over its height.
    how : {"cover", "contain", "fill", "none"}
        Fill the frame and lose what goes beyond it; show all of the picture;
        distort it; or leave it at its own number of rows.
    keep : tuple of two floats
        Place that stays in view where something is cropped, percent.

    Returns
    -------
    RgbPicture or YccPicture
        `picture` itself where nothing is to be done; otherwise an RgbPicture,
        float32 if it had to be resampled.

    Raises
    ------
    SettingError
        If `how` is unknown or a size is not positive.
    """
    if how not in {"cover", "contain", "fill", "none"}:
        msg = f"fit must be cover, contain, fill or none, got {how!r}."
        raise SettingError(msg)
    if width < 1 or height < 1 or pixel_aspect_in <= 0 or pixel_aspect_out <= 0:
        msg = f"size and pixel aspect must be positive, got {width} x {height}."
        raise SettingError(msg)
    relative = Fraction(pixel_aspect_in) / Fraction(pixel_aspect_out)
    same_size = (picture.width, picture.height) == (width, height)
    if same_size and (relative == 1 or how == "fill"):
        return picture
    crop, size = placement(picture.width, picture.height, width, height, relative, how, keep)
    return _placed(_cropped(picture, crop), size, (width, height))


def _cropped(picture: Picture, crop: tuple[int, int, int, int]) -> RgbPicture:
    left, top, columns, rows = crop
    if not isinstance(picture, RgbPicture):
        opacity = None if picture.alpha is None else load_alpha(picture)
        picture = RgbPicture(load(picture), opacity, picture.matrix)
    if (columns, rows) == (picture.width, picture.height):
        return picture
    window = np.s_[..., top : top + rows, left : left + columns]
    alpha = picture.alpha
    return RgbPicture(
        np.ascontiguousarray(picture.planes[window]),
        None if alpha is None else np.ascontiguousarray(alpha[window]),
        picture.matrix,
    )


def _placed(picture: RgbPicture, size: tuple[int, int], frame: tuple[int, int]) -> RgbPicture:
    """Scale a picture and set it in the middle of a frame."""
    if size != (picture.width, picture.height):
        picture = resample(picture, *size)
    if size == frame:
        return picture
    alpha = picture.alpha
    if alpha is not None:
        alpha = _framed(alpha[np.newaxis], *frame)[0]
    return RgbPicture(_framed(picture.planes, *frame), alpha, picture.matrix)
