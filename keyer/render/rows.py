"""Rows of pictures as a thread composes them: loaded into planes that it uses again and again."""

from __future__ import annotations

import threading

import numpy as np
from numpy.typing import NDArray

from keyer.kinds.picture import Picture, Planes
from keyer.kinds.settings import Light
from keyer.pixel.load import load_alpha_band, load_band
from keyer.pixel.over import premultiply
from keyer.pixel.transfer import to_light

_kept = threading.local()


def buffer(name: str, channels: int, rows: int, width: int) -> NDArray[np.float32]:
    """Return this thread's planes for a purpose, made once and used again.

    Parameters
    ----------
    name : str
        Purpose; planes of one name are the same memory.
    channels, rows, width : int

    Returns
    -------
    (channels, rows, width) float32
        Holding whatever was in them.
    """
    size = channels * rows * width
    flat: NDArray[np.float32] | None = getattr(_kept, name, None)
    if flat is None or flat.size < size:
        flat = np.empty(size, np.float32)
        setattr(_kept, name, flat)
    return flat[:size].reshape(channels, rows, width)


def loaded(picture: Picture, name: str, top: int, bottom: int, light: Light) -> Planes:
    """Load the rows of a picture, in the light asked for.

    Parameters
    ----------
    picture : Picture
    name : str
        Of the buffer.
    top, bottom : int
        First row and the row after the last.
    light : {"video", "linear"}

    Returns
    -------
    (3, rows, W) float32
    """
    band = buffer(name, 3, bottom - top, picture.width)
    load_band(picture, top, bottom, band)
    if light == "linear":
        to_light(band)
    return band


def ground(picture: Picture, name: str, top: int, bottom: int, light: Light) -> Planes:
    """Load the rows of a picture that nothing lies under: black where it is clear.

    Parameters
    ----------
    picture, name, top, bottom, light
        As for `loaded`.

    Returns
    -------
    (3, rows, W) float32
    """
    band = loaded(picture, name, top, bottom, light)
    if picture.alpha is not None:
        cover = buffer("matte", 1, bottom - top, picture.width)[0]
        load_alpha_band(picture, top, bottom, cover)
        premultiply(band, cover)
    return band


def swap(result: Planes) -> None:
    """Let the buffer that holds the result be the next overlay's `first`."""
    second = getattr(_kept, "second", None)
    if second is not None and np.shares_memory(result, second):
        _kept.first, _kept.second = _kept.second, _kept.first
