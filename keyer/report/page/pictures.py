"""Pictures inside a page: brought down to what a screen shows, as JPEG."""

from __future__ import annotations

import io

import cv2
import numpy as np
from numpy.typing import NDArray
from PIL import Image

from keyer.report.page.render import data_uri

WIDEST = 720
"""Columns of a picture on a page: twice what a phone's screen is wide in CSS pixels, nearly."""

_QUALITY = 84


def jpeg_uri(pixels: NDArray[np.uint8], aspect: float | None = None, widest: int = WIDEST) -> str:
    """Put a picture into a page.

    Parameters
    ----------
    pixels : (H, W, 3) or (H, W) uint8
    aspect : float, optional
        Width over height as displayed; default: of square pixels.
    widest : int
        Most columns.

    Returns
    -------
    str
        A `data:` address.
    """
    height, width = pixels.shape[:2]
    shown = width if aspect is None else height * aspect
    columns = min(round(shown), widest)
    rows = max(round(height * columns / shown), 1)
    if (columns, rows) != (width, height):
        pixels = np.asarray(cv2.resize(pixels, (columns, rows), interpolation=cv2.INTER_AREA))
    memory = io.BytesIO()
    Image.fromarray(pixels).save(memory, "JPEG", quality=_QUALITY, optimize=True)
    return data_uri(memory.getvalue(), "image/jpeg")
