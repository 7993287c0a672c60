"""Parts of a plate whose colour is no mixture of the subject about them with the backing."""

from __future__ import annotations

import cv2
import numpy as np

from keyer.kinds.arrays import Mask, Planes
from keyer.pixel.colour.luma_chroma import HueAxes
from keyer.pixel.colour.weigh import weigh
from keyer.pixel.mattes.regions import opening

SMOOTHING = 1.5
"""Sigma in pixels over which colours are averaged."""

FOREIGN = 0.08
"""Chroma off the line between subject and backing from which a colour is neither's mixture."""


def foreign_parts(planes: Planes, subject: Planes, backing: Planes, axes: HueAxes) -> Mask:
    """Find parts whose colour is no mixture of the subject about them with the backing.

    Parameters
    ----------
    planes, subject, backing : (3, h, w) float32
        The picture, the subject's colour carried outwards, the backing.
    axes : HueAxes
        Of the key hue.

    Returns
    -------
    (h, w) bool
        Chroma lies off the straight line between the two, over more than a few pixels: a lime
        product before green is opaque, though a part of its hue is the backing's.
    """
    smooth = np.stack([cv2.GaussianBlur(plane, (0, 0), SMOOTHING) for plane in planes])
    full = weigh(backing, axes.along)
    way_along, way_across = weigh(subject, axes.along) - full, weigh(subject, axes.across)
    along, across = weigh(smooth, axes.along) - full, weigh(smooth, axes.across)
    off = np.abs(along * way_across - across * way_along)
    off /= np.maximum(np.hypot(way_along, way_across), np.float32(0.02))
    return opening(off > FOREIGN, max(4, round(off.shape[0] / 90)))
