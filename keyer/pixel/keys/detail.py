"""Edges that luma still holds where chroma was recorded with fewer samples.

With 4:2:0 or 4:2:2 the matte that chroma tells is soft by a pixel or two. Where
luma and matte rise and fall together, the fine part of luma tells the fine
part of the matte: a local straight line from luma to matte, as in K. He et al.,
"Guided Image Filtering", ECCV 2010. What the result loses or gains when it is
blurred like the chroma is put back (M. Irani and S. Peleg, "Improving
Resolution by Image Registration", 1991).
"""

from __future__ import annotations

import cv2
import numpy as np
from numpy.typing import NDArray

from keyer.kinds.arrays import Flat, Plane
from keyer.pixel.colour.sampling import Sampling
from keyer.pixel.kernels.jit import kernel_beside

WINDOW = 5
"""Pixels across over which luma and matte are compared."""

ROUNDS = 3


def _add_plainly(matte: Flat, change: Flat, solid: NDArray[np.uint8]) -> None:
    np.fmax(matte + change, 0, out=matte)
    np.minimum(matte, 1, out=matte)
    np.copyto(matte, 1, where=solid != 0)


@kernel_beside(_add_plainly)
def _add(matte: Flat, change: Flat, solid: NDArray[np.uint8]) -> None:
    """Change a matte, held in 0..1, and at 1 where solid."""
    none, full = np.float32(0.0), np.float32(1.0)
    for i in range(matte.size):
        value = matte[i] + change[i]
        value = value if value > none else none
        value = value if value < full else full
        matte[i] = full if solid[i] else value


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
    sharp = matte.copy()
    held = solid.view(np.uint8).reshape(-1)
    _add(sharp.reshape(-1), (slope * fine).reshape(-1), held)
    for _ in range(ROUNDS):
        _add(sharp.reshape(-1), (matte - sampling.blur(sharp)).reshape(-1), held)
    return sharp
