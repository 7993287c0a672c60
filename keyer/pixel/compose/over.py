"""Laying one picture on another: Porter and Duff 1984, as in W3C Compositing and Blending Level 1.

The renderer needs one operator: a premultiplied subject over what lies below.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from keyer.kinds.arrays import Flat, Planes
from keyer.pixel.kernels.jit import kernel, kernel_beside


def _over_plainly(fill: Flat, matte: Flat, under: Flat) -> None:
    under *= 1 - matte
    under += fill


def _multiply_plainly(plane: Flat, matte: Flat) -> None:
    plane *= matte


def _divide_plainly(plane: Flat, matte: Flat) -> None:
    some = matte > np.float32(1e-6)
    np.divide(plane, matte, out=plane, where=some)
    np.copyto(plane, 0, where=~some)


@kernel_beside(_over_plainly)
def _over(fill: Flat, matte: Flat, under: Flat) -> None:
    for i in range(under.size):
        under[i] = fill[i] + (np.float32(1.0) - matte[i]) * under[i]


@kernel
def _scale(plane: Flat, share: np.float32) -> None:
    for i in range(plane.size):
        plane[i] *= share


@kernel_beside(_multiply_plainly)
def _multiply(plane: Flat, matte: Flat) -> None:
    for i in range(plane.size):
        plane[i] *= matte[i]


@kernel_beside(_divide_plainly)
def _divide(plane: Flat, matte: Flat) -> None:
    for i in range(plane.size):
        cover = matte[i]
        plane[i] = plane[i] / cover if cover > np.float32(1e-6) else np.float32(0.0)


def scale_band(band: Planes, share: float) -> None:
    """Multiply every sample of a band, in place.

    Parameters
    ----------
    band : (C, rows, W) float32, C-contiguous
    share : float
    """
    _scale(band.reshape(-1), np.float32(share))


def premultiply(band: Planes, matte: NDArray[np.float32]) -> None:
    """Multiply straight colour by its matte, in place.

    Parameters
    ----------
    band : (3, rows, W) float32, C-contiguous
    matte : (rows, W) float32
    """
    for channel in band:
        _multiply(channel.reshape(-1), matte.reshape(-1))


def unpremultiply(band: Planes, matte: NDArray[np.float32]) -> None:
    """Divide premultiplied colour by its matte, in place; clear pixels become black.

    Parameters
    ----------
    band : (3, rows, W) float32, C-contiguous
    matte : (rows, W) float32
    """
    for channel in band:
        _divide(channel.reshape(-1), matte.reshape(-1))


def over_in_place(fill: Planes, matte: NDArray[np.float32], under: Planes) -> None:
    """Lay a premultiplied subject over a background: fill + (1 - matte) x under.

    Parameters
    ----------
    fill : (C, rows, W) float32, C-contiguous
        Premultiplied colour of the subject.
    matte : (rows, W) float32
        1 = subject.
    under : (C, rows, W) float32, C-contiguous
        Premultiplied; becomes the result.
    """
    cover = matte.reshape(-1)
    for channel, below in zip(fill, under, strict=True):
        _over(channel.reshape(-1), cover, below.reshape(-1))
