"""How different two pictures look.

CIE 1976 colour difference (ISO/CIE 11664-4) of pictures read as sRGB
(IEC 61966-2-1). Of it 2.3 is about the least that is seen where two colours
touch (Mahy, Van Eycken and Oosterlinck, 1994; from memory).
"""

from __future__ import annotations

from dataclasses import dataclass

import cv2
import numpy as np
from numpy.typing import NDArray

from keyer.pixel.colour.load import from_array, load

SEEN = 2.3
"""Colour difference from which on it counts as seen."""

_COLUMNS = 640
"""Pictures are brought down to so many columns: what is smaller is not seen on air."""


@dataclass(frozen=True)
class Difference:
    """Difference of two pictures: the largest, the mean, and on how much of the picture it is seen.

    Attributes
    ----------
    largest : int
        Codes of 8 bits, of the pixel and colour that differ most.
    seen_percent : float
        Of the picture, where the difference is seen.
    mean : float
        CIE 1976 colour difference, mean over the picture.
    """

    largest: int
    seen_percent: float
    mean: float

    @property
    def differs(self) -> bool:
        """Whether the pictures are not the same to the last bit."""
        return self.largest > 0


SAME = Difference(0, 0.0, 0.0)


def picture_difference(old: NDArray[np.uint8], new: NDArray[np.uint8]) -> Difference:
    """Measure how different two pictures look.

    Parameters
    ----------
    old, new : (H, W, 3) uint8
        R'G'B'. Of another size or shape, the old one is stretched over the new one.
    """
    if old.shape == new.shape and np.array_equal(old, new):
        return SAME
    if old.shape != new.shape:
        size = new.shape[1], new.shape[0]
        old = np.asarray(cv2.resize(old, size, interpolation=cv2.INTER_AREA), np.uint8)
    largest = int(cv2.absdiff(old, new).max())
    apart = np.linalg.norm(_lab(old) - _lab(new), axis=2)
    seen = 100 * float(np.count_nonzero(apart >= SEEN)) / apart.size
    return Difference(largest, seen, float(apart.mean()))


def _lab(pixels: NDArray[np.uint8]) -> NDArray[np.float32]:
    """Turn R'G'B' into CIE L*a*b*, brought down in size."""
    height, width = pixels.shape[:2]
    if width > _COLUMNS:
        size = _COLUMNS, max(round(height * _COLUMNS / width), 1)
        pixels = np.asarray(cv2.resize(pixels, size, interpolation=cv2.INTER_AREA), np.uint8)
    unit = np.ascontiguousarray(load(from_array(pixels)).transpose(1, 2, 0))
    return np.asarray(cv2.cvtColor(unit, cv2.COLOR_RGB2Lab), np.float32)
