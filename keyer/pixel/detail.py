"""Edges that luma still holds where chroma was recorded with fewer samples.

With 4:2:0 or 4:2:2 the matte that chroma tells is soft by a pixel or two. Where
luma and matte rise and fall together, the fine part of luma tells the fine
part of the matte: a local straight line from luma to matte, as in K. He et al.,
"Guided Image Filtering", ECCV 2010. What the result loses or gains when it is
blurred like the chroma is put back (M. Irani and S. Peleg, "Improving
Resolution by Image Registration", 1991).
"""

from __future__ import annotations

from dataclasses import dataclass

import cv2
import numpy as np
from numpy.typing import NDArray

Plane = NDArray[np.float32]

WINDOW = 5
"""Pixels across over which luma and matte are compared."""

POORER = 0.57
"""Chroma with less of luma's fine detail than this was recorded with fewer samples."""

ALIKE = 0.3
"""Chroma with less than this is the same from pixel to pixel: its samples were repeated."""

ROUNDS = 3


@dataclass(frozen=True)
class Sampling:
    """How chroma was sampled.

    Attributes
    ----------
    across, down : int
        Pixels to a sample: 1 or 2.
    repeated : bool
        Samples were repeated rather than interpolated.
    """

    across: int = 1
    down: int = 1
    repeated: bool = False

    def blur(self, plane: Plane) -> Plane:
        """Blur a plane as the chroma was.

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


def measure_sampling(luma: Plane, cb: Plane, cr: Plane, edge: NDArray[np.bool_]) -> Sampling:
    """Tell from the edges of a picture how its chroma was sampled.

    Parameters
    ----------
    luma, cb, cr : (H, W) float32
    edge : (H, W) bool
        Where there is detail to compare.

    Returns
    -------
    Sampling
    """
    if min(luma.shape) < 8 or int(edge.sum()) < 64:
        return Sampling()

    def poorer(kind: Sampling) -> float:
        fine = [plane - kind.blur(plane) for plane in (luma, cb, cr)]
        of_luma, of_cb, of_cr = (float((plane[edge] ** 2).mean()) for plane in fine)
        whole = [float(plane[edge].var()) + 1e-6 for plane in (luma, cb, cr)]
        share = (of_cb / whole[1] + of_cr / whole[2]) / 2
        return float(np.sqrt(share / max(of_luma / whole[0], 1e-9)))

    for steps in ((2, 2), (2, 1)):
        repeated = Sampling(*steps, repeated=True)
        if poorer(repeated) < ALIKE:
            return repeated
    if poorer(Sampling(2, 1)) >= POORER:
        return Sampling()
    return Sampling(2, 1 + (poorer(Sampling(1, 2)) < POORER))


def sharpen_by_luma(
    matte: Plane, luma: Plane, sampling: Sampling, solid: NDArray[np.bool_], noise: float
) -> Plane:
    """Give a matte made of blurred colours the edges of luma.

    Parameters
    ----------
    matte : (H, W) float32
        Made of the picture blurred as its chroma.
    luma : (H, W) float32
    sampling : Sampling
    solid : (H, W) bool
        Kept at 1.
    noise : float
        Standard deviation of the grain.

    Returns
    -------
    (H, W) float32
    """
    blurred = sampling.blur(luma)
    fine = luma - blurred
    weight = 1 - cv2.erode(solid.view(np.uint8), np.ones((3, 3), np.uint8)).astype(np.float32)

    def mean(plane: Plane) -> Plane:
        return np.asarray(cv2.boxFilter(plane, -1, (WINDOW, WINDOW)), np.float32)

    share = mean(weight) + np.float32(1e-3)
    level, cover = mean(weight * blurred) / share, mean(weight * matte) / share
    both = mean(weight * blurred * matte) / share - level * cover
    spread = mean(weight * blurred**2) / share - level**2
    slope = both / (spread + np.float32(1e-4 + noise**2))
    slope = mean(weight * slope) / share
    sharp = np.where(solid, 1, np.clip(matte + slope * fine, 0, 1)).astype(np.float32)
    for _ in range(ROUNDS):
        lost = matte - sampling.blur(sharp)
        sharp = np.where(solid, 1, np.clip(sharp + lost, 0, 1)).astype(np.float32)
    return sharp
