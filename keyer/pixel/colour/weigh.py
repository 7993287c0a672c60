"""Sums of planes with weights: luma, chroma along a hue."""

from __future__ import annotations

import cv2
import numpy as np
from numpy.typing import NDArray

from keyer.kinds.arrays import Plane, Planes
from keyer.kinds.picture import Matrix
from keyer.pixel.colour.luma_chroma import LUMA, HueAxes


def weigh(planes: Planes, weights: NDArray[np.floating]) -> Plane:
    """Return the weighted sum of three planes.

    Parameters
    ----------
    planes : (3, H, W) float32
    weights : (3,) float

    Returns
    -------
    (H, W) float32
    """
    first, second, third = (float(weight) for weight in weights)
    two = cv2.addWeighted(planes[0], first, planes[1], second, 0)
    return np.asarray(cv2.addWeighted(two, 1, planes[2], third, 0), np.float32)


def luma_of(planes: Planes, matrix: Matrix) -> Plane:
    """Return the luma of R'G'B' planes.

    Parameters
    ----------
    planes : (3, H, W) float32
    matrix : {"bt601", "bt709"}

    Returns
    -------
    (H, W) float32
    """
    return weigh(planes, np.array(LUMA[matrix]))


def signal_against(planes: Planes, backing: Planes, axes: HueAxes) -> Plane:
    """Key signal of each pixel against the backing there: 0 like it, 1 at grey.

    1 - X / X(backing), with X the chroma along the key hue.

    Parameters
    ----------
    planes, backing : (3, H, W) float32
    axes : HueAxes
        Of the key hue.

    Returns
    -------
    (H, W) float32
        Above 1 for hues opposite the backing's.
    """
    full = np.maximum(weigh(backing, axes.along), np.float32(0.02))
    return np.asarray(1 - weigh(planes, axes.along) / full, np.float32)
