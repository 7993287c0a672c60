"""Laying one picture on another: Porter and Duff 1984, as in W3C Compositing and Blending Level 1.

The renderer needs one operator, a premultiplied subject over what lies below;
`porter_duff` has all of them in plain numpy.
"""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
from numpy.typing import NDArray

from keyer.errors import SettingError
from keyer.kinds.arrays import Flat, Planes
from keyer.pixel.kernels.jit import kernel, kernel_beside

Array = NDArray[np.floating]
Factor = Callable[[Array], Array]


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


def _none(alpha: Array) -> Array:
    return np.zeros_like(alpha)


def _all(alpha: Array) -> Array:
    return np.ones_like(alpha)


def _inside(alpha: Array) -> Array:
    return alpha


def _outside(alpha: Array) -> Array:
    return 1 - alpha


OPERATORS: dict[str, tuple[Factor, Factor]] = {
    "clear": (_none, _none),
    "copy": (_all, _none),
    "destination": (_none, _all),
    "source-over": (_all, _outside),
    "destination-over": (_outside, _all),
    "source-in": (_inside, _none),
    "destination-in": (_none, _inside),
    "source-out": (_outside, _none),
    "destination-out": (_none, _outside),
    "source-atop": (_inside, _outside),
    "destination-atop": (_outside, _inside),
    "xor": (_outside, _outside),
    "lighter": (_all, _all),
}
"""Share of the source (of the backdrop's alpha) and of the backdrop (of the source's alpha)."""


def porter_duff(
    operator: str, source: Array, source_alpha: Array, backdrop: Array, backdrop_alpha: Array
) -> tuple[Array, Array]:
    """Compose two straight pictures by a named operator.

    Parameters
    ----------
    operator : str
        A key of `OPERATORS`; names of W3C Compositing and Blending Level 1, section 9.1.
    source, backdrop : (3, ...) float
        Straight colour.
    source_alpha, backdrop_alpha : (...) float
        0..1.

    Returns
    -------
    colour : (3, ...) float
        Premultiplied.
    alpha : (...) float
        Not held to 1 (`lighter` may exceed it).

    Raises
    ------
    SettingError
        If the operator is unknown.
    """
    if operator not in OPERATORS:
        msg = f"operator must be one of {', '.join(OPERATORS)}, got {operator!r}."
        raise SettingError(msg)
    of_source, of_backdrop = OPERATORS[operator]
    over = source_alpha * of_source(backdrop_alpha)
    under = backdrop_alpha * of_backdrop(source_alpha)
    return over * source + under * backdrop, over + under
