"""Parts within a subject that look see-through and are solid.

A blue badge on a costume before blue looks like glass, and so does a body that the backing's light
falls on. Both are solid where the subject surrounds them and the backing itself is nowhere seen in
them, and they are as textured as no glass is, or so dense that they are taken for solid.
"""

from __future__ import annotations

import cv2
import numpy as np
from numpy.typing import NDArray

from keyer.kinds.arrays import Mask
from keyer.pixel.mattes.regions import closing

Matte = NDArray[np.float32]

SMOOTHING = 1.5
"""Sigma in pixels before the slope is taken."""

SLOPE = 6.5
"""Change of matte over the picture's height from which it is no slow one."""

REACH = 1 / 40
"""Distance over which slopes are compared, in picture heights."""

TANGLED = 0.6
"""How far the slopes near a point agree in direction, below which it is textured."""

SURROUNDED = 0.95
"""Share of its rim along which a part adjoins the solid parts."""

OPENINGS = 0.01
"""Share of a part that is open where the backing is seen in it at all."""

SEEN, DENSE = 0.2, 0.66
"""Matte of the openest pixels of a part up to which the backing is seen there, and from which it is
taken for solid whatever its texture."""

BROAD, FULL = 0.74, 0.84
"""Matte from which a place is dense, and from which it is full where all its neighbours are dense
(ours, from trials on the demo's bicycle and presenters)."""

LEAST = 3e-3
"""Share of the picture from which a part tells anything."""


def solid_within(solid: Mask, matte: Matte) -> Mask:
    """Find parts that the solid parts surround and that are solid themselves.

    Parameters
    ----------
    solid : (h, w) bool
    matte : (h, w) float32
        A first matte of a small copy.

    Returns
    -------
    (h, w) bool
    """
    smooth = np.asarray(cv2.GaussianBlur(matte, (0, 0), SMOOTHING), np.float32)
    body = closing(solid, 1) & (smooth > 0.5)
    parts = (~body & (smooth > 0.05)).view(np.uint8)
    count, labels, boxes, _ = cv2.connectedComponentsWithStats(parts, connectivity=4)
    textured = _textured(smooth)
    found = np.zeros_like(solid)
    for index in range(1, count):
        left, top, width, height, area = boxes[index].tolist()
        if area < LEAST * matte.size:
            continue
        box = np.s_[max(top - 1, 0) : top + height + 1, max(left - 1, 0) : left + width + 1]
        part = labels[box] == index
        rim = (cv2.dilate(part.view(np.uint8), np.ones((3, 3), np.uint8)) > 0) & ~part
        openest = float(np.quantile(matte[box][part], OPENINGS))
        glass = openest < DENSE and textured[box][part].mean() < 0.5
        if body[box][rim].mean() > SURROUNDED and openest > SEEN and not glass:
            found[box] |= part
    return found


def dense_made_full(matte: Matte) -> Matte:
    """Make full what is dense all around: the backing's light lies on it.

    A white rim or a grey tube that the backing lights reads as nine tenths;
    glass so dense is taken for solid too. Edges and hair stay as they are.

    Parameters
    ----------
    matte : (H, W) float32

    Returns
    -------
    (H, W) float32
        A new matte, nowhere below the other.
    """
    square = np.ones((3, 3), np.uint8)
    inside = cv2.erode((matte > BROAD).view(np.uint8), square) > 0
    raised = np.clip((matte - np.float32(BROAD)) / np.float32(FULL - BROAD), 0, 1)
    raised = matte + (1 - matte) * raised
    return np.where(inside, raised, matte)


def _textured(smooth: Matte) -> Mask:
    across = cv2.Sobel(smooth, -1, 1, 0, scale=0.125)
    down = cv2.Sobel(smooth, -1, 0, 1, scale=0.125)
    slope = cv2.magnitude(across, down)
    near = max(1.0, REACH * smooth.shape[0])
    common, whole = (
        cv2.magnitude(cv2.GaussianBlur(across, (0, 0), near), cv2.GaussianBlur(down, (0, 0), near)),
        cv2.GaussianBlur(slope, (0, 0), near),
    )
    return np.asarray((common < TANGLED * whole) & (slope >= SLOPE / max(smooth.shape[0], 90)))
