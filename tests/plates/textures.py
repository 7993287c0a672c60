"""Colour of the subjects: crops of pictures that scikit-image carries in its package.

No download: only files that lie in the installed package are used.
"""

from __future__ import annotations

import cv2
import numpy as np
from numpy.typing import NDArray
from skimage import data

Planes = NDArray[np.float32]

# (top, bottom, left, right) as shares of the picture
CROPS = {
    "suit": ("astronaut", (0.0, 1.0, 0.0, 1.0)),
    "cup": ("coffee", (0.0, 1.0, 0.1, 0.9)),
    "cat": ("chelsea", (0.0, 1.0, 0.05, 0.75)),
    "machine": ("motorcycle", (0.2, 1.0, 0.1, 0.9)),
    "tissue": ("immunohistochemistry", (0.0, 1.0, 0.0, 1.0)),
    "night": ("rocket", (0.0, 1.0, 0.0, 1.0)),
}


def _load(name: str) -> NDArray[np.uint8]:
    picture = data.stereo_motorcycle()[0] if name == "motorcycle" else getattr(data, name)()
    return np.asarray(picture[..., :3])


def texture(name: str, height: int, width: int) -> Planes:
    """Return a subject's colour, (3, H, W) R'G'B' 0..1, stretched to the size asked for."""
    picture, (top, bottom, left, right) = CROPS[name]
    whole = _load(picture)
    rows, cols = whole.shape[:2]
    crop = whole[int(top * rows) : int(bottom * rows), int(left * cols) : int(right * cols)]
    small = crop.shape[0] >= height
    how = cv2.INTER_AREA if small else cv2.INTER_CUBIC
    fitted = cv2.resize(crop, (width, height), interpolation=how)
    return np.ascontiguousarray(fitted.transpose(2, 0, 1)).astype(np.float32) / 255
