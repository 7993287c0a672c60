"""How the chroma of a picture was sampled, told from the picture itself.

4:2:0 and 4:2:2 carry fewer samples of chroma than of luma. By the time planes
of R'G'B' arrive, nothing says so any more; but their chroma has less fine
detail at edges, and smoother grain, than their luma.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import cv2
import numpy as np
from numpy.typing import NDArray

from keyer.kinds.arrays import Plane

WINDOW = 7
"""Pixels across over which luma and chroma are compared."""

CLEARLY = 0.004
"""How much better luma must explain chroma moved than chroma in its place."""

POORER_ACROSS, POORER_DOWN = 0.68, 0.56
"""Edges of chroma with less of luma's fine detail than this were recorded with fewer samples."""

SMOOTHER_ACROSS, SMOOTHER_DOWN = 0.45, 0.4
"""Grain of chroma this much smoother than that of luma was recorded with fewer samples."""

LEAST_GRAIN = 0.0015
"""Fine grain of luma from which grain tells anything."""

ALIKE = 0.3
"""Chroma with less than this is the same from pixel to pixel: its samples were repeated."""


@dataclass(frozen=True)
class Sampling:
    """How chroma was sampled.

    Attributes
    ----------
    across, down : int
        Pixels to a sample: 1 or 2.
    repeated : bool
        Samples were repeated rather than interpolated.
    shift : float
        How far to the right of its place chroma should be moved, in pixels.
    """

    across: int = 1
    down: int = 1
    repeated: bool = False
    shift: float = 0.0

    def blur(self, plane: Plane) -> Plane:
        """Blur a plane as the chroma of a sampling is blurred.

        Parameters
        ----------
        plane : (H, W) float32

        Returns
        -------
        (H, W) float32
        """
        height, width = plane.shape
        size = (-(-width // self.across), -(-height // self.down))
        how = cv2.INTER_NEAREST if self.repeated else cv2.INTER_LINEAR
        small = cv2.resize(plane, size, interpolation=cv2.INTER_AREA)
        return np.asarray(cv2.resize(small, (width, height), interpolation=how), np.float32)


def measure_sampling(
    luma: Plane, cb: Plane, cr: Plane, edge: NDArray[np.bool_], calm: NDArray[np.bool_]
) -> Sampling:
    """Tell from the edges of a picture, and from its grain, how its chroma was sampled.

    Parameters
    ----------
    luma, cb, cr : (H, W) float32
    edge : (H, W) bool
        Where there is detail to compare.
    calm : (H, W) bool
        Where there is nothing but grain.
    """
    planes = luma, cb, cr
    if min(luma.shape) < 8 or int(edge.sum()) < 64:
        return Sampling()
    whole = [float(plane[edge].var()) + 1e-6 for plane in planes]
    # Samples may sit on a pixel or between two: luma and chroma are looked at in both ways.
    ways = planes, tuple(moved(plane, 0.5) for plane in planes)

    def poorer(kind: Sampling) -> float:
        return min(
            _less([part / level for part, level in zip(_fine(way, kind, edge), whole, strict=True)])
            for way in ways
        )

    def smoother(kind: Sampling) -> float:
        if int(calm.sum()) < 256 or _fine(planes, kind, calm)[0] < LEAST_GRAIN**2:
            return 0.0
        return min(_less(_fine(way, kind, calm)) for way in ways)

    for steps in ((2, 2), (2, 1)):
        repeated = Sampling(*steps, repeated=True)
        if poorer(repeated) < ALIKE:
            return repeated
    across, down = Sampling(2, 1), Sampling(1, 2)
    if poorer(across) >= POORER_ACROSS or smoother(across) >= SMOOTHER_ACROSS:
        return Sampling()
    rows = 1 + (poorer(down) < POORER_DOWN and smoother(down) < SMOOTHER_DOWN)
    return Sampling(2, rows, shift=_misplaced(planes, Sampling(2, rows), edge))


def _less(fine: Sequence[float]) -> float:
    """How much less fine detail chroma has than luma, as a ratio of amplitudes."""
    of_luma, of_cb, of_cr = fine
    return math.sqrt((of_cb + of_cr) / 2 / max(of_luma, 1e-9))


def _fine(planes: Sequence[Plane], kind: Sampling, where: NDArray[np.bool_]) -> list[float]:
    """Variance of what a sampling takes out of each plane."""
    mask, pixels = where.view(np.uint8), int(np.count_nonzero(where))
    off = [cv2.norm(plane, kind.blur(plane), cv2.NORM_L2, mask) for plane in planes]
    return [distance**2 / pixels for distance in off]


def _misplaced(
    planes: tuple[Plane, Plane, Plane], kind: Sampling, edge: NDArray[np.bool_]
) -> float:
    """Find the place of chroma at which luma explains it best, by local straight lines."""
    luma = kind.blur(planes[0])

    def mean(plane: Plane) -> Plane:
        return np.asarray(cv2.boxFilter(plane, -1, (WINDOW, WINDOW)), np.float32)

    level = mean(luma)
    spread = mean(luma**2) - level**2 + np.float32(1e-5)

    def unexplained(shift: float) -> float:
        total = 0.0
        for plane in planes[1:]:
            chroma = kind.blur(moved(plane, shift))
            middle = mean(chroma)
            whole = mean(chroma**2) - middle**2
            left = whole - (mean(luma * chroma) - level * middle) ** 2 / spread
            total += float(left[edge].sum()) / max(float(whole[edge].sum()), 1e-9)
        return total

    here = unexplained(0.0)
    best = min((-0.5, 0.5), key=unexplained)
    return best if unexplained(best) < (1 - CLEARLY) * here else 0.0


def moved(plane: Plane, shift: float) -> Plane:
    """Move a plane to the right by a part of a pixel.

    Parameters
    ----------
    plane : (H, W) float32
    shift : float
        -1..1; to the left where negative.

    Returns
    -------
    (H, W) float32
    """
    if shift == 0.0:
        return plane
    beside = np.empty_like(plane)
    if shift > 0:
        beside[:, 1:], beside[:, 0] = plane[:, :-1], plane[:, 0]
    else:
        beside[:, :-1], beside[:, -1] = plane[:, 1:], plane[:, -1]
    part = abs(shift)
    return np.asarray(cv2.addWeighted(plane, 1 - part, beside, part, 0), np.float32)
