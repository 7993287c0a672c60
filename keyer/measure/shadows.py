"""Shadows on a backing: light that is missing where the lamps alone would have put it."""

from __future__ import annotations

from dataclasses import dataclass

import cv2
import numpy as np
from numpy.typing import NDArray

from keyer.kinds.arrays import Mask, Planes
from keyer.kinds.picture import Matrix
from keyer.kinds.verdicts import Verdict, judge
from keyer.measure.backing import Backing
from keyer.measure.evenness import THIRD_STOP
from keyer.measure.plate import inner, small_copy, sure_backing
from keyer.measure.stops import light_on, stops_of
from keyer.pixel.keys.backing import lit_backing
from keyer.pixel.mattes.regions import opening

DEEP = 0.95
"""Quantile of the missing light, over the shadows, that is called their depth."""


@dataclass(frozen=True)
class Shadows:
    """Share and depth of the shadows on a backing.

    Attributes
    ----------
    share_percent : float
        Part of the backing that has lost more than a third of a stop.
    depth_stops : float
        Light that the deepest of them has lost; 0 without shadows.
    """

    share_percent: float
    depth_stops: float


def measure_shadows(planes: Planes, backing: Backing, matrix: Matrix) -> Shadows:
    """Return the share and depth of the shadows on a backing.

    Parameters
    ----------
    planes : (3, H, W) float32
        R'G'B' nominal 0..1.
    backing : Backing
        As `survey_backing` found it.
    matrix : {"bt601", "bt709"}

    Returns
    -------
    Shadows
        Light is missing against a bow over the brighter parts of the backing
        (`keyer.pixel.keys.backing.lit_backing`); in stops of light as in
        `measure_evenness`.
    """
    copy = small_copy(planes, matrix)
    sure: Mask = inner(sure_backing(copy, backing.rgb, matrix))
    lit = light_on(lit_backing(copy.rgb, sure, backing.rgb, *sure.shape), matrix)
    seen = np.asarray(cv2.blur(light_on(copy.rgb, matrix), (3, 3)), np.float32)
    return _shadows(stops_of(lit) - stops_of(seen), sure)


def _shadows(missing: NDArray[np.float32], sure: Mask) -> Shadows:
    dark = opening((missing > THIRD_STOP) & sure, 2)
    if not dark.any():
        return Shadows(0.0, 0.0)
    depth = float(np.quantile(missing[dark], DEEP))
    return Shadows(100 * float(dark.sum() / sure.sum()), depth)


def judge_shadows(shadows: Shadows) -> Verdict:
    """Judge the deepest shadow on a backing."""
    return judge(
        "backing.shadows",
        shadows.depth_stops,
        "Move the subject away from the backing, raise the key light and move it round, or"
        " light the backing more. To keep a shadow that you want, set shadow of the key.",
    )
