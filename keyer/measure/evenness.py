"""How evenly a backing is lit, point by point."""

from __future__ import annotations

from dataclasses import dataclass

import cv2
import numpy as np
from numpy.typing import NDArray

from keyer.kinds.arrays import Mask, Planes
from keyer.kinds.picture import Matrix
from keyer.measure.backing import Backing
from keyer.measure.plate import inner, small_copy, sure_backing
from keyer.measure.stops import SPREAD, light_on, stops_of

THIRD_STOP = 1 / 3
"""What a backing may vary by (KitPlus, March 2013: even to within a third of a stop)."""


@dataclass(frozen=True, eq=False)
class Evenness:
    """Light on a backing in stops about its median, and how far it spreads.

    Attributes
    ----------
    stops : (h, w) float32
        Light against the middle of the backing's range; not a number where
        there is no backing.
    step : int
        Pixels of the picture to one of the map, down and across.
    brighter_percent, darker_percent : float
        Part of the backing that lies more than half a third of a stop above
        and below the middle.
    """

    stops: NDArray[np.float32]
    step: int
    brighter_percent: float
    darker_percent: float


def measure_evenness(planes: Planes, backing: Backing, matrix: Matrix) -> Evenness:
    """Return the light on a backing at every place of a small copy, in stops.

    Parameters
    ----------
    planes : (3, H, W) float32
        R'G'B' nominal 0..1.
    backing : Backing
        As `survey_backing` found it.
    matrix : {"bt601", "bt709"}

    Returns
    -------
    Evenness
        Stops are of light (`keyer.measure.stops`) averaged over a few pixels.
    """
    copy = small_copy(planes, matrix)
    mask: Mask = inner(sure_backing(copy, backing.rgb, matrix))
    light = cv2.blur(light_on(copy.rgb, matrix), (3, 3))
    stops = stops_of(np.asarray(light, np.float32))
    seen = stops[mask]
    low, high = np.quantile(seen, SPREAD)
    stops -= np.float32((low + high) / 2)
    seen = stops[mask]
    return Evenness(
        np.where(mask, stops, np.float32(np.nan)),
        copy.step,
        100 * float((seen > THIRD_STOP / 2).mean()),
        100 * float((seen < -THIRD_STOP / 2).mean()),
    )
