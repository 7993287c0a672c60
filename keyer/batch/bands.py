"""Pictures coded in bands of rows that are compressed apart: rows that stay are so but once.

A hundred lower thirds over one picture share nine tenths of their rows. How a band is packed and
how bands become a file is a coding: `png_bands`, `tiff_bands`. The bytes depend on the pixels
alone, not on what was held.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any, Protocol

import numpy as np
from numpy.typing import NDArray

BAND_ROWS = 40
LEVEL = 1
"""Of deflate. By measurement: higher levels took up to twice as long and saved some percent."""

Pixels = NDArray[Any]


@dataclass(frozen=True)
class Shape:
    """Size and samples of a picture."""

    height: int
    width: int
    channels: int
    bits: int


def shape_of(pixels: Pixels) -> Shape:
    """Shape of (H, W), (H, W, 3) or (H, W, 4) uint8 or uint16 pixels."""
    channels = pixels.shape[2] if pixels.ndim == 3 else 1
    return Shape(pixels.shape[0], pixels.shape[1], channels, 8 * pixels.dtype.itemsize)


class Coding(Protocol):
    """A kind of file that is strung together from bands."""

    def pack(self, rows: Pixels) -> Any:
        """Compress a band."""

    def file(self, bands: list[Any], shape: Shape) -> bytes:
        """Join bands to a whole file."""

    def apart(self, data: bytes) -> tuple[Shape, list[bytes]] | None:
        """Take a file apart without unpacking its bands; None if it is written otherwise."""

    def unpack(self, band: bytes, number: int, shape: Shape) -> Pixels:
        """Unpack a band, the `number`th from the top."""


class HeldBands:
    """Encodes pictures of one size, keeping the bands of the first.

    Parameters
    ----------
    pixels : (H, W), (H, W, 3) or (H, W, 4) uint8 or uint16
        The picture with which the others share most rows.
    coding : Coding
    """

    def __init__(self, pixels: Pixels, coding: Coding) -> None:
        self._shape, self._coding = shape_of(pixels), coding
        tops = range(0, pixels.shape[0], BAND_ROWS)
        self._held = [coding.pack(pixels[top : top + BAND_ROWS]) for top in tops]

    def encode(self, pixels: Pixels, top: int, bottom: int) -> bytes:
        """Encode a picture that differs from the first in some rows only.

        Parameters
        ----------
        pixels : (rows, ...) of the first picture's kind
            Rows `top` to `bottom`, widened to whole bands by `widened`.
        top, bottom : int

        Returns
        -------
        bytes
            A whole file.
        """
        first = top // BAND_ROWS
        count = -(-(bottom - top) // BAND_ROWS)
        bands = list(self._held)
        for i in range(count):
            start = i * BAND_ROWS
            bands[first + i] = self._coding.pack(pixels[start : start + BAND_ROWS])
        return self._coding.file(bands, self._shape)

    def widened(self, top: int, bottom: int) -> tuple[int, int]:
        """Widen a range of rows to whole bands."""
        height = self._shape.height
        return top // BAND_ROWS * BAND_ROWS, min(-(-bottom // BAND_ROWS) * BAND_ROWS, height)


def coded(pixels: Pixels, coding: Coding) -> bytes:
    """Encode one picture in bands.

    Parameters
    ----------
    pixels : (H, W), (H, W, 3) or (H, W, 4) uint8 or uint16
    coding : Coding

    Returns
    -------
    bytes
        A whole file.
    """
    return HeldBands(pixels, coding).encode(pixels[:0], 0, 0)


def rows_in(number: int, shape: Shape) -> int:
    """Count the rows of a band."""
    return min(BAND_ROWS, shape.height - number * BAND_ROWS)


def by_columns(rows: Pixels) -> NDArray[Any]:
    """See a band as (rows, W, channels)."""
    return rows if rows.ndim == 3 else rows[..., np.newaxis]
