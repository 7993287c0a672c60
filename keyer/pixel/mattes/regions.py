"""Regions of a mask: drawn in and out, small parts filled in and dropped."""

from __future__ import annotations

import cv2
import numpy as np
from numpy.typing import NDArray

from keyer.kinds.arrays import Mask


def disc(reach: int) -> NDArray[np.uint8]:
    """Return a disc of a radius in pixels, as a structuring element.

    Returns
    -------
    (2 reach + 1, 2 reach + 1) uint8
    """
    size = 2 * reach + 1
    return np.asarray(cv2.getStructuringElement(cv2.MORPH_ELLIPSE, (size, size)), np.uint8)


def erode(mask: Mask, reach: int) -> Mask:
    """Take `reach` pixels off the edge of a mask; the picture's border is no edge.

    Parameters
    ----------
    mask : (H, W) bool
    reach : int

    Returns
    -------
    (H, W) bool
    """
    return cv2.erode(mask.view(np.uint8), disc(reach)).astype(np.bool_)


def dilate(mask: Mask, reach: int) -> Mask:
    """Add `reach` pixels to the edge of a mask.

    Parameters
    ----------
    mask : (H, W) bool
    reach : int

    Returns
    -------
    (H, W) bool
    """
    return cv2.dilate(mask.view(np.uint8), disc(reach)).astype(np.bool_)


def closing(mask: Mask, reach: int) -> Mask:
    """Close gaps up to about twice `reach` wide.

    Parameters
    ----------
    mask : (H, W) bool
    reach : int

    Returns
    -------
    (H, W) bool
    """
    return cv2.morphologyEx(mask.view(np.uint8), cv2.MORPH_CLOSE, disc(reach)).astype(np.bool_)


def opening(mask: Mask, reach: int) -> Mask:
    """Drop what is less than about twice `reach` wide.

    Parameters
    ----------
    mask : (H, W) bool
    reach : int

    Returns
    -------
    (H, W) bool
    """
    return cv2.morphologyEx(mask.view(np.uint8), cv2.MORPH_OPEN, disc(reach)).astype(np.bool_)


def drop_small(mask: Mask, area: float) -> Mask:
    """Drop connected parts (of 8 neighbours) of less than an area in pixels.

    Parameters
    ----------
    mask : (H, W) bool
    area : float

    Returns
    -------
    (H, W) bool
    """
    count, labels = cv2.connectedComponents(mask.view(np.uint8), connectivity=8)
    parts = labels[mask]
    kept = np.zeros_like(mask)
    kept[mask] = (np.bincount(parts, minlength=count) >= area)[parts]
    return kept


def enclosed(mask: Mask) -> Mask:
    """Find what a mask encloses: parts outside it that do not reach the border.

    Parameters
    ----------
    mask : (H, W) bool

    Returns
    -------
    (H, W) bool
    """
    _, labels = cv2.connectedComponents((~mask).view(np.uint8), connectivity=4)
    inside = np.ones(int(labels.max()) + 1, np.bool_)
    for side in (labels[0], labels[-1], labels[:, 0], labels[:, -1]):
        inside[side] = False
    inside[0] = False
    found: Mask = inside[labels]
    return found
