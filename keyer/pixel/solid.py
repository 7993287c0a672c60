"""Which parts of a plate are surely solid subject.

A part is solid where its transparency is small, or where it is moderate and
hardly changes from pixel to pixel: light of the backing on a solid subject
looks like a transparency that changes slowly, while the edge of the subject,
blurred by the lens or by motion, changes fast. Through a gap the backing
itself is seen, so a gap is never solid.
"""

from __future__ import annotations

import cv2
import numpy as np
from numpy.typing import NDArray

from keyer.kinds.picture import Planes
from keyer.pixel import thin
from keyer.pixel.colour import HueAxes
from keyer.pixel.regions import close_gaps, draw_in, draw_out, drop_small, drop_thin
from keyer.pixel.thin import gaps, plateaus
from keyer.pixel.weigh import weigh

Matte = NDArray[np.float32]
Mask = NDArray[np.bool_]

WORK_ROWS = 400
"""About so many rows has the copy on which solid parts are looked for."""

SMOOTHING = 1.5
"""Sigma in pixels of the copy before the slope is taken."""

PLATEAU = 0.66
"""A slow change of matte counts as spill on a solid subject from here up."""

SLOPE = 6.5
"""Fastest change of matte over the picture's height that still counts as slow."""

SMALLEST = 2.3e-4
"""Solid parts of less than this share of the picture are strands, not solid."""

CLEAR = 0.15
"""A smoothed matte that nothing but the backing itself has."""

TANGLED = 0.6
"""How far the slopes near a point agree in direction, below which it is textured."""

SURROUNDED = 0.8
"""Share of its rim along which a hole adjoins the solid parts."""

SMALL_HOLE = 0.002
"""Share of the picture up to which a hole is filled even without a texture."""


FOREIGN = 0.08
"""Chroma off the line between subject and backing from which a colour is neither's mixture."""


def first_core(signal: Matte, likely: Mask) -> Mask:
    """Find where the subject's own colour can be taken from before anything else is known.

    Parameters
    ----------
    signal : (h, w) float32
        1 - chroma along the key hue over that of the backing.
    likely : (h, w) bool
        Where the subject is likely to be solid.

    Returns
    -------
    (h, w) bool
    """
    usual = float(np.median(signal[likely])) if likely.any() else 1.0
    return draw_in(signal > np.clip(usual - 0.07, 0.7, 0.9), 2)


def solid_parts(matte: Matte) -> Mask:
    """Find the solid parts of a subject.

    Parameters
    ----------
    matte : (h, w) float32
        A first matte.

    Returns
    -------
    (h, w) bool
    """
    height, width = matte.shape
    smooth = cv2.GaussianBlur(matte, (0, 0), SMOOTHING)
    across = cv2.Sobel(smooth, -1, 1, 0, scale=0.125)
    down = cv2.Sobel(smooth, -1, 0, 1, scale=0.125)
    slope = np.hypot(across, down)
    calm = slope < SLOPE / max(height, 90)
    reach = max(1, round(height / 120))
    flat = drop_small((smooth > PLATEAU) & calm, SMALLEST * height * width)
    body = close_gaps(flat, reach) & (smooth > 0.5)
    near = 3 * reach
    common = np.hypot(cv2.GaussianBlur(across, (0, 0), near), cv2.GaussianBlur(down, (0, 0), near))
    tangled = common < TANGLED * cv2.GaussianBlur(slope, (0, 0), near)
    away = draw_in(smooth > CLEAR, 2 * reach)
    solid = (body | _opaque_holes(body, away, tangled & ~calm)) & ~gaps(matte)
    return solid | (draw_out(plateaus(matte), 1) & (matte > thin.PLATEAU))


def _opaque_holes(body: Mask, away: Mask, textured: Mask) -> Mask:
    """Parts that the body nearly surrounds and that are small, or textured as no glass is."""
    parts = ~body & away
    count, labels = cv2.connectedComponents(parts.view(np.uint8), connectivity=4)
    area = np.maximum(np.bincount(labels.ravel(), minlength=count), 1)
    grown = cv2.dilate(labels.astype(np.float32), np.ones((3, 3), np.uint8)).astype(np.int32)
    around = (grown > 0) & ~parts
    rim = np.bincount(grown[around], minlength=count)
    of_body = np.bincount(grown[around & body], minlength=count) / np.maximum(rim, 1)
    of_texture = np.bincount(labels[textured & parts], minlength=count) / area
    opaque = (of_body > SURROUNDED) & ((area < SMALL_HOLE * parts.size) | (of_texture > 0.5))
    opaque[0] = False
    found: Mask = opaque[labels]
    return found


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
    return drop_thin(off > FOREIGN, max(4, round(off.shape[0] / 90)))
