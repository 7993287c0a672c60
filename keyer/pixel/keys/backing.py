"""The backing at every pixel: one colour, a smooth surface, or a clean plate.

A surface is fitted to the parts that are surely backing and carried on behind
the subject: a robust slope and bow over the whole picture, and what is left of
the light carried from the nearest sure parts.
"""

from __future__ import annotations

import cv2
import numpy as np
from numpy.typing import NDArray

from keyer.errors import FrameShapeError
from keyer.kinds.arrays import Planes
from keyer.kinds.settings import Rgb
from keyer.pixel.mattes.push_pull import push_pull

FEW = 24
"""Sure pixels below which no surface is fitted."""

SHADED = 0.05
"""Weight of what lies below the surface when shadows are to be left out."""

SEAM = 0.1
"""Difference of colour in a clean plate from which it is no grain."""

FIT_PIXELS = 3000
"""Pixels from which the slope and bow are fitted, about."""


def flat_backing(colour: Rgb, height: int, width: int) -> Planes:
    """Return a backing of one colour.

    Parameters
    ----------
    colour : three floats
    height, width : int

    Returns
    -------
    (3, H, W) float32
    """
    planes = np.empty((3, height, width), np.float32)
    planes[:] = np.array(colour, np.float32)[:, None, None]
    return planes


def smooth_backing(
    small: Planes, sure: NDArray[np.bool_], colour: Rgb, height: int, width: int
) -> Planes:
    """Fit a smooth surface to the sure parts of a small copy of a plate.

    Parameters
    ----------
    small : (3, h, w) float32
        The plate, averaged down.
    sure : (h, w) bool
        Where it is surely backing.
    colour : three floats
        The backing's colour, used where there is next to nothing to fit.
    height, width : int
        Size of the plate.

    Returns
    -------
    (3, H, W) float32
    """
    if int(sure.sum()) < FEW:
        return flat_backing(colour, height, width)
    terms = _terms(*sure.shape)
    bows = np.stack([_bow(plane, sure, terms, below=1.0) for plane in small])
    rest = np.where(sure, small - bows, 0).astype(np.float32)
    soft = _smoothed(rest, sure)
    surface = bows + soft
    for plane, seen in zip(surface, small, strict=True):
        low, high = np.quantile(seen[sure], [0.005, 0.995])
        slack = 0.15 * (high - low) + 0.01
        plane.clip(low - slack, high + slack, out=plane)
    return _enlarged(surface, height, width)


def lit_backing(
    small: Planes, sure: NDArray[np.bool_], colour: Rgb, height: int, width: int
) -> Planes:
    """Fit the backing as it would be without shadows: a bow over its brighter parts.

    Parameters
    ----------
    small : (3, h, w) float32
        The plate, averaged down.
    sure : (h, w) bool
        Where it is surely backing.
    colour : three floats
        The backing's colour, used where there is next to nothing to fit.
    height, width : int
        Size of the plate.

    Returns
    -------
    (3, H, W) float32
    """
    if int(sure.sum()) < FEW:
        return flat_backing(colour, height, width)
    terms = _terms(*sure.shape)
    bows = np.stack([_bow(plane, sure, terms, below=SHADED) for plane in small])
    return _enlarged(bows, height, width)


def clean_plate(plate: Planes, height: int, width: int) -> Planes:
    """Take a picture of the empty backing as the backing.

    Parameters
    ----------
    plate : (3, H, W) float32
        Recorded by the same camera with the subject away.
    height, width : int
        Size of the picture to be keyed.

    Returns
    -------
    (3, H, W) float32
        Grain smoothed away.

    Raises
    ------
    FrameShapeError
        If the sizes differ.
    """
    if plate.shape != (3, height, width):
        msg = (
            f"clean plate must have the size of the picture, {width} x {height},"
            f" got {plate.shape[2]} x {plate.shape[1]}. Record it with the same camera and format."
        )
        raise FrameShapeError(msg)
    # seams and corners stay as sharp as they are: a soft one would look like a strand
    smooth = cv2.bilateralFilter(np.dstack(list(plate)), 9, SEAM, 3)
    return np.ascontiguousarray(smooth.transpose(2, 0, 1))


def _enlarged(small: Planes, height: int, width: int) -> Planes:
    size = width, height
    planes = [cv2.resize(plane, size, interpolation=cv2.INTER_LINEAR) for plane in small]
    return np.stack(planes).astype(np.float32, copy=False)


def _terms(height: int, width: int) -> NDArray[np.float32]:
    """Constant, slopes and bows over the picture, (h, w, 6)."""
    down = np.linspace(-1, 1, height, dtype=np.float32)[:, None] * np.ones((1, width), np.float32)
    across = np.linspace(-1, 1, width, dtype=np.float32)[None] * np.ones((height, 1), np.float32)
    return np.stack([np.ones_like(down), across, down, across**2, across * down, down**2], 2)


def _bow(
    plane: NDArray[np.float32],
    sure: NDArray[np.bool_],
    terms: NDArray[np.float32],
    *,
    below: float,
) -> NDArray[np.float32]:
    """Least squares with Cauchy weights, so that what is not backing hardly counts.

    What lies below the surface counts `below` times as much as what lies above.
    """
    step = max(1, int(sure.sum()) // FIT_PIXELS)
    known = terms[sure][::step].astype(np.float64)
    values = plane[sure][::step].astype(np.float64)
    weight = np.ones(values.shape)
    # Slopes and bows are held back a little: behind the subject nothing else would hold them.
    hold = 1e-3 * values.size * np.diag([0.0, 1.0, 1.0, 4.0, 4.0, 4.0])
    solution: NDArray[np.floating] = np.zeros(terms.shape[-1])
    for _ in range(5):
        weighed = known * weight[:, None]
        solution = np.linalg.solve(weighed.T @ known + hold, weighed.T @ values)
        off = values - known @ solution
        scale = 1.4826 * float(np.median(np.abs(off))) + 1e-4
        weight = np.asarray(1 / (1 + (off / (3 * scale)) ** 2), np.float64)
        weight[off < 0] *= below
    return np.asarray(terms @ solution.astype(np.float32), np.float32)


def _smoothed(rest: Planes, sure: NDArray[np.bool_]) -> Planes:
    """Smooth what the bow leaves over within the sure parts, and carry it on."""
    weight = sure.astype(np.float32)
    sigma = max(1.0, 0.02 * min(sure.shape))
    share = cv2.GaussianBlur(weight, (0, 0), sigma)
    near = [cv2.GaussianBlur(plane, (0, 0), sigma) for plane in rest]
    level = np.stack(near) / np.maximum(share, 1e-3)
    return push_pull(level.astype(np.float32, copy=False), weight)
