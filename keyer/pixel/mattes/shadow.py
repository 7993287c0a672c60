"""Shadows of the subject on the backing, kept and laid on the new background.

A shadow takes a share of the backing's level away: the recorded backing is
t B, with B as it would be without the subject and t between 0 and 1 (on coded
values, as everything is mixed here). The share 1 - t is read wherever the
backing is seen, carried on beneath the subject, and takes the same share away
from the new background.
"""

from __future__ import annotations

import cv2
import numpy as np

from keyer.kinds.arrays import Plane, Planes
from keyer.kinds.ranges import check_setting, in_range
from keyer.kinds.settings import Shade
from keyer.pixel.mattes.finish import FEATHER
from keyer.pixel.mattes.push_pull import push_pull

UNEVEN = 0.05
"""Share of the backing's level that is put down to uneven light."""

SEEN = 0.3
"""Matte up to which the backing behind a pixel tells of a shadow."""

COPY_ROWS = 270
"""About so many rows has the copy on which shadows are carried beneath the subject."""


def shadow_of(planes: Planes, lit: Planes, matte: Plane, fill: Planes, noise: float) -> Plane:
    """Return the share of the backing's level that shadows take away at each pixel, 0..1.

    Parameters
    ----------
    planes : (3, H, W) float32
        The plate.
    lit : (3, H, W) float32
        The backing without shadows: from `keyer.pixel.keys.backing.lit_backing`, or a clean plate.
    matte : (H, W) float32
        1 = subject.
    fill : (3, H, W) float32
        The subject, premultiplied.
    noise : float
        Standard deviation of the grain.

    Returns
    -------
    (H, W) float32
        Share of the backing's level that a shadow takes away, 0..1.
    """
    gap = np.maximum(1 - matte, np.float32(0.05))
    seen = ((planes - fill) * lit).sum(0)
    level = seen / (gap * np.maximum((lit**2).sum(0), np.float32(1e-4)))
    height, width = matte.shape
    step = max(1, round(height / COPY_ROWS))
    size = -(-width // step), -(-height // step)
    weight = (matte < SEEN).astype(np.float32) * gap
    taken = _averaged((1 - level) * weight, size) / np.maximum(_averaged(weight, size), 1e-3)
    known = (_averaged(weight, size) > 0.5).astype(np.float32)
    whole = push_pull(taken[None].astype(np.float32, copy=False), known)[0]
    smooth = cv2.GaussianBlur(whole, (0, 0), 1)
    doubt = np.float32(UNEVEN + 2 * noise / step)
    share = np.where(smooth > doubt, smooth, np.maximum(2 * smooth - doubt, 0)).clip(0, 1)
    return np.asarray(cv2.resize(share.astype(np.float32), (width, height)), np.float32)


def _averaged(plane: Plane, size: tuple[int, int]) -> Plane:
    return np.asarray(cv2.resize(plane, size, interpolation=cv2.INTER_AREA), np.float32)


def shade_of(shadow: Plane, strength_percent: float, soft: float) -> Plane:
    """Make shadows as strong and as soft as asked.

    Parameters
    ----------
    shadow : (H, W) float32
        From `shadow_of`.
    strength_percent : float
        0..200: 100 is as dark as on the backing.
    soft : float
        0..4096: width in pixels that the edge of a hard shadow gets.

    Returns
    -------
    (H, W) float32
        Share of the new background's level that they take away, 0..1.
    """
    check_setting(Shade, "strength_percent", strength_percent)
    in_range("shadow softness", soft, 0, 4096, "It is in pixels.")
    if soft > 0:
        sigma = soft / FEATHER
        blurred = cv2.GaussianBlur(shadow, (0, 0), sigma, borderType=cv2.BORDER_REPLICATE)
        shadow = np.asarray(blurred, np.float32)
    return np.asarray((np.float32(strength_percent / 100) * shadow).clip(0, 1), np.float32)
