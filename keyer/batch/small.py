"""Results made small for contact sheets, while they are rendered or from a batch's own files.

A picture is brought to its small size in the bands in which it is compressed, so that the
bands which rows share are made small once. Of a file that a former run has made, those bands are
known by their compressed bytes, and no more than the others is decoded.
"""

from __future__ import annotations

import hashlib
import zlib
from typing import Any

import cv2
import numpy as np
from numpy.typing import NDArray

from keyer.batch.bands import BAND_ROWS, Coding, Shape
from keyer.kinds.arrays import Planes

_BEHIND, _CHECK = (0.42, 0.52), 24
"""Greys of the checkerboard behind what is see-through, and the side of its squares."""

Pixels = NDArray[Any]
SmallPixels = NDArray[np.uint8]


class Shrink:
    """How pictures of one size are made small.

    Parameters
    ----------
    height, width : int
        Of the pictures.
    pixel_aspect : float
    largest : int
        Columns and rows that a small one may have.
    premultiplied : bool
        Whether the colours beside an alpha are multiplied by it.

    Attributes
    ----------
    step : int
        Rows that a whole band becomes.
    width : int
        Columns of a small picture; its pixels are square.
    """

    def __init__(
        self,
        height: int,
        width: int,
        pixel_aspect: float,
        largest: int,
        *,
        premultiplied: bool = False,
    ) -> None:
        self._premultiplied = premultiplied
        scale = min(largest / max(width * pixel_aspect, height), 1.0)
        self.step = max(1, int(BAND_ROWS * scale))
        self.width = max(1, round(width * pixel_aspect * self.step / BAND_ROWS))

    def band(self, pixels: Pixels, number: int) -> SmallPixels:
        """Average a band of rows down to the size of the small picture.

        Parameters
        ----------
        pixels : (rows, W), (rows, W, 3) or (rows, W, 4) uint8 or uint16
            The fourth is alpha: the band is laid over a checkerboard.
        number : int
            Of the band, from the top.

        Returns
        -------
        (rows, W, 3) uint8
        """
        rows = max(1, round(pixels.shape[0] * self.step / BAND_ROWS))
        size = (self.width, rows)
        if pixels.dtype == np.uint16:
            pixels = (pixels >> 8).astype(np.uint8)
        if pixels.ndim == 2:
            grey = np.asarray(cv2.resize(pixels, size, interpolation=cv2.INTER_AREA))
            return np.repeat(grey[..., np.newaxis], 3, axis=2).astype(np.uint8, copy=False)
        if pixels.shape[2] == 3:
            small = cv2.resize(pixels, size, interpolation=cv2.INTER_AREA)
            return np.asarray(small).astype(np.uint8, copy=False)
        planes = pixels * np.float32(1 / 255)
        if not self._premultiplied:
            planes[..., :3] *= planes[..., 3:]
        return over_check(
            np.asarray(cv2.resize(planes, size, interpolation=cv2.INTER_AREA)), number * self.step
        )


def over_check(pixels: Planes, top: int = 0) -> SmallPixels:
    """Lay premultiplied colour over a checkerboard.

    Parameters
    ----------
    pixels : (H, W, 4) float32 in [0, 1]
    top : int
        Row of the whole picture with which they begin.

    Returns
    -------
    (H, W, 3) uint8
    """
    rows, columns = np.indices(pixels.shape[:2])
    squares = (rows + top) // _CHECK + columns // _CHECK
    check = np.where(squares % 2, *_BEHIND)[..., np.newaxis].astype(np.float32)
    whole = pixels[..., :3] + (1 - pixels[..., 3:]) * check
    return np.clip(whole * 255 + np.float32(0.5), 0, 255).astype(np.uint8)


class SmallPictures:
    """Pictures that share most rows with a first one, made small.

    Parameters
    ----------
    pixels : (H, W), (H, W, 3) or (H, W, 4) uint8 or uint16
        The first one.
    shrink : Shrink
    """

    def __init__(self, pixels: Pixels, shrink: Shrink) -> None:
        self._shrink = shrink
        self._held = self._bands(pixels, 0)

    def _bands(self, pixels: Pixels, first: int) -> list[SmallPixels]:
        tops = range(0, pixels.shape[0], BAND_ROWS)
        return [
            self._shrink.band(pixels[top : top + BAND_ROWS], first + n)
            for n, top in enumerate(tops)
        ]

    def replaced(self, pixels: Pixels, top: int) -> SmallPixels:
        """Make a picture small that differs from the first in some rows only.

        Parameters
        ----------
        pixels : (rows, ...)
            Whole bands of it.
        top : int
            Its first row.

        Returns
        -------
        (h, w, 3) uint8
        """
        bands = list(self._held)
        first = top // BAND_ROWS
        found = self._bands(pixels, first)
        bands[first : first + len(found)] = found
        return np.concatenate(bands)


class SmallFiles:
    """Reads a batch's own stills small, keeping the bands that were met before.

    Parameters
    ----------
    coding : Coding
        In which they are written.
    pixel_aspect : float
    largest : int
    premultiplied : bool
    """

    _MOST_KEPT = 1024

    def __init__(
        self, coding: Coding, pixel_aspect: float, largest: int, *, premultiplied: bool = False
    ) -> None:
        self._coding, self._aspect, self._largest = coding, pixel_aspect, largest
        self._premultiplied = premultiplied
        self._known: dict[tuple[bytes, int, Shape], SmallPixels] = {}
        """Bands by their digests; several threads may read and fill it."""

    def read(self, data: bytes) -> SmallPixels | None:
        """Read a still.

        Returns
        -------
        (h, w, 3) uint8, or None where it is not written in bands
        """
        found = self._coding.apart(data)
        if found is None:
            return None
        shape, bands = found
        shrink = Shrink(
            shape.height,
            shape.width,
            self._aspect,
            self._largest,
            premultiplied=self._premultiplied,
        )
        try:
            parts = [self._band(band, n, shape, shrink) for n, band in enumerate(bands)]
        except (zlib.error, ValueError):
            return None
        return np.concatenate(parts)

    def _band(self, data: bytes, number: int, shape: Shape, shrink: Shrink) -> SmallPixels:
        key = (hashlib.sha256(data).digest(), number, shape)
        small = self._known.get(key)
        if small is None:
            if len(self._known) >= self._MOST_KEPT:
                self._known.clear()
            rows = self._coding.unpack(data, number, shape)
            small = self._known[key] = shrink.band(rows, number)
        return small
