"""Finishing a matte: holes filled, specks dropped, edges grown, shrunk and feathered.

All lengths are in pixels of the output and may be fractions, all areas in
pixels. Grey-scale dilation and erosion as in J. Serra, "Image Analysis and
Mathematical Morphology", 1982.
"""

from __future__ import annotations

import math

import cv2
import numpy as np
from numpy.typing import NDArray

from keyer.kinds.ranges import check_setting
from keyer.kinds.settings import Finish
from keyer.pixel.mattes.regions import disc, drop_small, enclosed

Matte = NDArray[np.float32]

CLEAR, SOLID = 0.02, 0.98
"""At or below, and at or above which a matte counts as clear and as solid (common practice)."""

ROUND_FROM = 3
"""Radius from which a disc of whole pixels is round enough."""

DIRECTIONS = 16
"""Directions in which an edge is moved by a fraction of a pixel."""

FEATHER = 4.107
"""Width of a Gaussian step from 2 % to 98 %, in sigmas: 2 x 2.0537 (normal distribution)."""


def fill_holes(matte: Matte, area: float) -> Matte:
    """Make small parts that solid encloses solid.

    Parameters
    ----------
    matte : (H, W) float32
    area : float
        Largest hole in pixels, its soft edge counted in.

    Returns
    -------
    (H, W) float32
    """
    check_setting(Finish, "fill_holes", area)
    holes = enclosed(matte >= SOLID)
    small = holes & ~drop_small(holes, math.floor(area) + 1)
    return np.where(small, np.float32(1), matte)


def drop_specks(matte: Matte, area: float) -> Matte:
    """Make small parts that clear encloses clear.

    Parameters
    ----------
    matte : (H, W) float32
    area : float
        Largest speck in pixels, its soft edge counted in.

    Returns
    -------
    (H, W) float32
    """
    check_setting(Finish, "drop_specks", area)
    seen = matte > CLEAR
    small = seen & ~drop_small(seen, math.floor(area) + 1)
    return np.where(small, np.float32(0), matte)


def grow(matte: Matte, pixels: float) -> Matte:
    """Move the edge of a matte outwards, or inwards with a negative number.

    Parameters
    ----------
    matte : (H, W) float32
    pixels : float
        -256..256, fractions allowed. A soft edge keeps its softness.

    Returns
    -------
    (H, W) float32
    """
    check_setting(Finish, "grow", pixels)
    if pixels < 0:
        return np.asarray(1 - grow(np.asarray(1 - matte, np.float32), -pixels), np.float32)
    whole = math.floor(pixels) - ROUND_FROM
    done, rest = matte, pixels
    if whole >= ROUND_FROM:
        done, rest = np.asarray(cv2.dilate(done, disc(whole)), np.float32), pixels - whole
    steps = math.ceil(rest)
    for _ in range(steps):
        done = _moved_out(done, rest / steps)
    return done


def _moved_out(matte: Matte, step: float) -> Matte:
    """Dilate with a circle of a radius up to one pixel, whose points lie between pixels."""
    done = matte.copy()
    height, width = matte.shape
    for index in range(DIRECTIONS):
        angle = 2 * math.pi * index / DIRECTIONS
        shift = np.array(
            [[1, 0, step * math.cos(angle)], [0, 1, step * math.sin(angle)]], np.float32
        )
        moved = cv2.warpAffine(
            matte, shift, (width, height), flags=cv2.INTER_LINEAR, borderMode=cv2.BORDER_REPLICATE
        )
        np.maximum(done, moved, out=done)
    return done


def feather(matte: Matte, pixels: float) -> Matte:
    """Soften the edge of a matte.

    Parameters
    ----------
    matte : (H, W) float32
    pixels : float
        0..512: width of a hard edge afterwards, from clear (2 %) to solid (98 %).

    Returns
    -------
    (H, W) float32
    """
    check_setting(Finish, "feather", pixels)
    if pixels == 0:
        return matte
    blurred = cv2.GaussianBlur(matte, (0, 0), pixels / FEATHER, borderType=cv2.BORDER_REPLICATE)
    return np.asarray(blurred, np.float32)
