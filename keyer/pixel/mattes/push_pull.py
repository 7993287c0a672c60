"""Carry colour from where it is known to everywhere else.

The push-pull scheme of S. Gortler et al., "The Lumigraph", SIGGRAPH 1996
(section 3.4): known values are averaged down a pyramid until every place has
some, then filled in from coarse to fine. Near values count most, and nothing
overshoots.
"""

from __future__ import annotations

import cv2
import numpy as np
from numpy.typing import NDArray

Stack = NDArray[np.float32]

FIRM = 4.0
"""A level of the pyramid is believed alone from a weight of 1 / FIRM up."""


def push_pull(planes: Stack, weight: NDArray[np.float32]) -> Stack:
    """Fill planes in from the places that have a weight.

    Parameters
    ----------
    planes : (channels, H, W) float32
    weight : (H, W) float32
        0 where nothing is known, 1 where a value is certain.

    Returns
    -------
    (channels, H, W) float32
        The planes where the weight is 1, carried on elsewhere; 0 if nothing is
        known at all.
    """
    level = np.dstack([*(plane * weight for plane in planes), weight])
    levels = [level]
    while min(level.shape[:2]) > 2:
        level = cv2.pyrDown(level)
        levels.append(level)
    filled = level[..., :-1] / np.maximum(level[..., -1:], 1e-6)
    for level in reversed(levels[:-1]):
        rows, cols = level.shape[:2]
        coarse = cv2.resize(filled, (cols, rows), interpolation=cv2.INTER_LINEAR)
        coarse = coarse.reshape(rows, cols, -1)
        share = level[..., -1:]
        belief = np.minimum(share * FIRM, 1)
        filled = belief * level[..., :-1] / np.maximum(share, 1e-6) + (1 - belief) * coarse
    return np.ascontiguousarray(filled.transpose(2, 0, 1))
