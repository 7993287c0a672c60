"""Rows of pictures as a thread composes them."""

from __future__ import annotations

from keyer.kinds.picture import Picture, Planes
from keyer.kinds.settings import Light
from keyer.pixel.load import load_alpha_band, load_band
from keyer.pixel.over import premultiply
from keyer.pixel.scratch import buffer
from keyer.pixel.transfer import to_light


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
