"""Edges that luma still holds where chroma was recorded with fewer samples.

With 4:2:0 or 4:2:2 the matte that chroma tells is soft by a pixel or two. Where
luma and matte rise and fall together, the fine part of luma tells the fine
part of the matte: a local straight line from luma to matte, as in K. He et al.,
"Guided Image Filtering", ECCV 2010. What the result loses or gains when it is
blurred like the chroma is put back (M. Irani and S. Peleg, "Improving
Resolution by Image Registration", 1991).
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import cv2
import numpy as np
from numpy.typing import NDArray

from keyer.pixel.jit import kernel

Plane = NDArray[np.float32]
Flat = NDArray[np.float32]

WINDOW = 5
"""Pixels across over which luma and matte are compared."""

POORER_ACROSS, POORER_DOWN = 0.68, 0.56
"""Edges of chroma with less of luma's fine detail than this were recorded with fewer samples."""

SMOOTHER_ACROSS, SMOOTHER_DOWN = 0.45, 0.4
"""Grain of chroma this much smoother than that of luma was recorded with fewer samples."""

LEAST_GRAIN = 0.0015
"""Fine grain of luma from which grain tells anything."""

ALIKE = 0.3
"""Chroma with less than this is the same from pixel to pixel: its samples were repeated."""

ROUNDS = 3


@kernel
def _add(matte: Flat, change: Flat, solid: NDArray[np.uint8]) -> None:
    """Change a matte, held in 0..1, and at 1 where solid."""
    none, full = np.float32(0.0), np.float32(1.0)
    for i in range(matte.size):
        value = matte[i] + change[i]
        value = value if value > none else none
        value = value if value < full else full
        matte[i] = full if solid[i] else value


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

    Returns
    -------
    Sampling
    """
    planes = luma, cb, cr
    if min(luma.shape) < 8 or int(edge.sum()) < 64:
        return Sampling()
    whole = [float(plane[edge].var()) + 1e-6 for plane in planes]

    def poorer(kind: Sampling) -> float:
        of_luma, of_cb, of_cr = (
            share / level for share, level in zip(_fine(planes, kind, edge), whole, strict=True)
        )
        return math.sqrt((of_cb + of_cr) / 2 / max(of_luma, 1e-9))

    def smoother(kind: Sampling) -> float:
        if int(calm.sum()) < 256:
            return 0.0
        of_luma, of_cb, of_cr = _fine(planes, kind, calm)
        return math.sqrt((of_cb + of_cr) / 2 / of_luma) if of_luma > LEAST_GRAIN**2 else 0.0

    for steps in ((2, 2), (2, 1)):
        repeated = Sampling(*steps, repeated=True)
        if poorer(repeated) < ALIKE:
            return repeated
    across, down = Sampling(2, 1), Sampling(1, 2)
    if poorer(across) >= POORER_ACROSS or smoother(across) >= SMOOTHER_ACROSS:
        return Sampling()
    return Sampling(2, 1 + (poorer(down) < POORER_DOWN and smoother(down) < SMOOTHER_DOWN))


def _fine(planes: tuple[Plane, ...], kind: Sampling, where: NDArray[np.bool_]) -> tuple[float, ...]:
    """Variance of what a sampling takes out of each plane."""
    return tuple(float(((plane - kind.blur(plane))[where] ** 2).mean()) for plane in planes)


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
