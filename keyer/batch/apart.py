"""The titles of a frame apart from its picture: colour and key, as a keyer lays them.

Always on coded values, whatever light the sheet mixes in: that is how a keyer
puts fill and key together again.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from keyer.batch.scene import Scene
from keyer.kinds.picture import Planes, RgbPicture
from keyer.render.compose import compose
from keyer.render.frame import Base, Frame, Laid, Overlay

_LEAST_KEY = 1e-4


@dataclass(frozen=True, eq=False)
class Cutout:
    """Straight colour and key of a part of the picture; clear outside.

    Attributes
    ----------
    colour : (3, h, w) float32
    key : (h, w) float32
    left, top : int
    """

    colour: Planes
    key: NDArray[np.float32]
    left: int
    top: int

    def set_in(self, pixels: NDArray[Any], window: tuple[int, int], width: int) -> NDArray[Any]:
        """Set pixels of this part into whole rows that are clear otherwise.

        Parameters
        ----------
        pixels : (h, w) or (h, w, channels)
        window : (top, bottom)
            Rows wanted; they hold this part.
        width : int
            Of the picture.
        """
        whole = np.zeros((window[1] - window[0], width, *pixels.shape[2:]), pixels.dtype)
        top = self.top - window[0]
        whole[top : top + pixels.shape[0], self.left : self.left + pixels.shape[1]] = pixels
        return whole


def cut_out(scene: Scene, laid: tuple[Overlay, ...], window: tuple[int, int]) -> Cutout:
    """Cut the titles out of a frame.

    Parameters
    ----------
    scene : Scene
    laid : tuple of overlays
        The titles, from the back to the front.
    window : (top, bottom)
        Rows that hold them.

    Returns
    -------
    Cutout
    """
    if len(laid) == 1 and isinstance(laid[0], Laid):
        only = laid[0]
        picture = only.picture
        plain = only.opacity == 1.0 and only.reveal is None
        if plain and isinstance(picture, RgbPicture) and picture.alpha is not None:
            return Cutout(picture.planes, picture.alpha, only.left, only.top)
    return composed_apart(scene, laid, window)


def composed_apart(scene: Scene, laid: tuple[Overlay, ...], window: tuple[int, int]) -> Cutout:
    """Cut out titles that lie on each other, or are on their way in or out.

    The one renderer lays them over black, which is the fill, and over white:
    the key is what they leave of it.
    """
    fill, white = (
        compose(Frame(Base(scene.plain(level)), laid), np.float32, window=window, threads=1).planes
        for level in (0.0, 1.0)
    )
    key = np.clip(1 - (white - fill).mean(axis=0), 0, 1)
    colour = np.zeros_like(fill)
    for overlay in laid:  # where nothing covers, the titles' own colours stand
        if isinstance(overlay, Laid) and isinstance(overlay.picture, RgbPicture):
            top = overlay.top - window[0]
            rows = slice(top, top + overlay.picture.height)
            columns = slice(overlay.left, overlay.left + overlay.picture.width)
            colour[:, rows, columns] = overlay.picture.planes
    np.divide(fill, key, out=colour, where=key > _LEAST_KEY)
    return Cutout(colour, key, 0, window[0])
