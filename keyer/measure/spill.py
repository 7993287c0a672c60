"""How much of the backing's colour the subject carries, all over and at its rim.

Spill is what a pixel has of the backing's primary beyond both of the others,
S = G - max(R, B) before a green backing, S = B - max(R, G) before a blue one
(common practice, from memory). Yellow, cyan and magenta have none of it. It is
not what a key takes out (`keyer.pixel.keys.fast`), so that it can find what is left.

Definitions, limits and sources: `docs/measures.md`.
"""

from __future__ import annotations

from dataclasses import dataclass

import cv2
import numpy as np
from numpy.typing import NDArray

from keyer.kinds.arrays import Flat, Planes
from keyer.kinds.limits import LIMITS
from keyer.kinds.picture import Matrix
from keyer.kinds.verdicts import Verdict, judge
from keyer.measure.against_plate import CLEAR, SOLID
from keyer.measure.hues import hue_name
from keyer.pixel.colour.luma_chroma import hue_axes

SUBJECT = 0.5
"""Matte from which a pixel counts as subject."""

RIM = 0.004
"""Depth of the rim into the solid subject, in picture heights: four pixels of 1080; ours."""

VISIBLE_PERCENT = LIMITS["spill.after_p95"].watch
"""Spill of a pixel, in percent of white, from which it counts as tinted; ours."""

_SECONDARY = ("yellow", "cyan", "magenta")


@dataclass(frozen=True)
class Spill:
    """Spill on a subject, in percent of white.

    Attributes
    ----------
    mean_percent : float
        Mean over the subject, weighted by the matte.
    p95_percent : float
        95th percentile over the subject.
    area_percent : float
        Percent of the subject's area that is visibly tinted.
    rim_mean_percent, rim_p95_percent : float
        Mean and 95th percentile over the rim, as it shows over neutral grey.
    """

    mean_percent: float
    p95_percent: float
    area_percent: float
    rim_mean_percent: float
    rim_p95_percent: float


NO_SPILL = Spill(0.0, 0.0, 0.0, 0.0, 0.0)


@dataclass(frozen=True, eq=False)
class Seen:
    """Where a subject shows: its pixels that are not clear, and its rim.

    Attributes
    ----------
    index : (N,) int
        Their places in the flattened picture.
    matte : (N,) float32
    rim : (N,) bool
        Which of them are edge, or solid and next to it.
    """

    index: NDArray[np.intp]
    matte: Flat
    rim: NDArray[np.bool_]

    def of(self, planes: Planes) -> Planes:
        """Take these pixels of a picture, (3, 1, N) float32."""
        return planes.reshape(3, 1, -1).take(self.index, 2)


def seen_of(matte: NDArray[np.float32]) -> Seen:
    """Find the pixels of a subject that are not clear, and those of its rim.

    Parameters
    ----------
    matte : (H, W) float32 in [0, 1]
    """
    reach = max(1, round(RIM * matte.shape[0]))
    square = np.ones((2 * reach + 1, 2 * reach + 1), np.uint8)
    near = cv2.dilate((matte < SOLID).astype(np.uint8), square)
    index = np.flatnonzero(matte > CLEAR)
    return Seen(index, matte.reshape(-1)[index], near.reshape(-1)[index] > 0)


def spill_of(colour: Planes, hue_deg: float, matrix: Matrix) -> NDArray[np.float32]:
    """Return the spill of every pixel: how far the backing's primary exceeds the others.

    Parameters
    ----------
    colour : (3, ...) float32
        R'G'B'.
    hue_deg : float
        Of the backing, on the vectorscope.
    matrix : {"bt601", "bt709"}

    Returns
    -------
    (...) float32
        0 where the backing's primary is not the greatest of the three. Before
        a backing that is nearer to yellow, cyan or magenta, what both of its
        primaries have beyond the third counts as well.
    """
    least, middle, most = (colour[i] for i in np.argsort(hue_axes(hue_deg, matrix).unit))
    spill: NDArray[np.float32] = np.maximum(most - np.maximum(middle, least), 0)
    if hue_name(hue_deg, matrix) in _SECONDARY:
        np.maximum(spill, np.minimum(most, middle) - least, out=spill)
    return spill


def measure_seen(colour: Planes, seen: Seen, hue_deg: float, matrix: Matrix) -> Spill:
    """Measure the spill on what shows of a subject; as `measure_spill`.

    Parameters
    ----------
    colour : (3, 1, N) float32
        Straight R'G'B' of the pixels of `seen`.
    seen : Seen
    hue_deg : float
    matrix : {"bt601", "bt709"}
    """
    if seen.index.size == 0:
        return NO_SPILL
    percent = 100 * spill_of(colour[:, 0], hue_deg, matrix)
    inside, rim = seen.matte >= SUBJECT, (percent * seen.matte)[seen.rim]
    own, weight = percent[inside], seen.matte[inside]
    return Spill(
        mean_percent=float(np.average(own, weights=weight)) if own.size else 0.0,
        p95_percent=float(np.percentile(own, 95)) if own.size else 0.0,
        area_percent=float(100 * np.mean(own > VISIBLE_PERCENT)) if own.size else 0.0,
        rim_mean_percent=float(rim.mean()) if rim.size else 0.0,
        rim_p95_percent=float(np.percentile(rim, 95)) if rim.size else 0.0,
    )


def measure_spill(
    colour: Planes, matte: NDArray[np.float32], hue_deg: float, matrix: Matrix
) -> Spill:
    """Return the spill on a subject: mean, 95th percentile and area, and that of its rim.

    Parameters
    ----------
    colour : (3, H, W) float32
        Straight R'G'B'.
    matte : (H, W) float32 in [0, 1]
        1 = subject.
    hue_deg : float
        Of the backing, on the vectorscope.
    matrix : {"bt601", "bt709"}

    Returns
    -------
    Spill
        All zero where there is no subject. A neutral grey behind the subject
        adds nothing to S, so that at the rim S is that of the straight colour
        times the matte, whatever the grey.
    """
    seen = seen_of(matte)
    return measure_seen(seen.of(colour), seen, hue_deg, matrix)


_REMEDY = (
    "Raise the spill amount; move the subject two to three metres from the backing and light the "
    "backing less."
)
_RIM_REMEDY = (
    "The edge shows the backing's colour: look at the subject on neutral grey; move it two to "
    "three metres from the backing and light the backing less."
)


def judge_spill(spill: Spill, name: str = "spill.after_p95") -> Verdict:
    """Judge the spill that is left on a subject by its 95th percentile.

    Parameters
    ----------
    spill : Spill
    name : str
        Name of the measure in the verdict.
    """
    return judge(name, spill.p95_percent, _REMEDY)


def judge_rim(spill: Spill) -> Verdict:
    """Judge the spill that is left at the rim of a subject by its 95th percentile."""
    return judge("spill.rim_p95", spill.rim_p95_percent, _RIM_REMEDY)
