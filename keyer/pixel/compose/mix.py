"""Mixes of two pictures, and of a picture with a colour.

All work in place on bands of planar float32: a kernel that reads and writes the
same plane under one name is one that the compiler can vectorise.
At progress 0 the result is exactly A, at 1 exactly B.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from keyer.kinds.arrays import Flat, Planes
from keyer.kinds.settings import MixKind, Rgb
from keyer.pixel.kernels.jit import kernel_beside


def _weighted_plainly(a: Flat, b: Flat, share: np.float32) -> None:
    more = share * b
    a *= 1 - share
    a += more


def _brighter_plainly(a: Flat, b: Flat, share: np.float32) -> None:
    np.fmax((1 - share) * a, share * b, out=a)


def _toward_plainly(a: Flat, value: np.float32, share: np.float32) -> None:
    a *= 1 - share
    a += share * value


@kernel_beside(_weighted_plainly)
def _weighted(a: Flat, b: Flat, share: np.float32) -> None:
    keep = np.float32(1.0) - share
    for i in range(a.size):
        a[i] = keep * a[i] + share * b[i]


@kernel_beside(_brighter_plainly)
def _brighter(a: Flat, b: Flat, share: np.float32) -> None:
    keep = np.float32(1.0) - share
    for i in range(a.size):
        first = keep * a[i]
        second = share * b[i]
        a[i] = first if first > second else second


@kernel_beside(_toward_plainly)
def _toward(a: Flat, value: np.float32, share: np.float32) -> None:
    keep = np.float32(1.0) - share
    add = share * value
    for i in range(a.size):
        a[i] = keep * a[i] + add


def mix_band(a: Planes, b: Planes, progress: float, kind: MixKind) -> None:
    """Mix a second band into a first, in place.

    Parameters
    ----------
    a, b : (C, rows, W) float32, C-contiguous
    progress : float
        0 is A, 1 is B.
    kind : {"mix", "additive", "non-additive"}
        `mix` and `additive` are two names of (1 - p) A + p B, the sum of the
        two weighted pictures; `non-additive` is max((1 - p) A, p B) for each
        component, so that the brighter picture wins (both: common practice).
    """
    if progress >= 1.0:
        np.copyto(a, b)
    elif progress > 0.0:
        blend = _brighter if kind == "non-additive" else _weighted
        blend(a.reshape(-1), b.reshape(-1), np.float32(progress))


def toward_colour(a: Planes, colour: Rgb, share: float) -> None:
    """Mix a band with a colour, in place.

    Parameters
    ----------
    a : (3, rows, W) float32, C-contiguous
    colour : tuple of three floats
    share : float
        0 leaves A, 1 is the colour.
    """
    for channel, value in zip(a, colour, strict=True):
        mix_with(channel, value, share)


def mix_with(a: NDArray[np.float32], value: float, share: float) -> None:
    """Mix planes with one value, in place; as `toward_colour` does with three."""
    _toward(a.reshape(-1), np.float32(value), np.float32(share))
