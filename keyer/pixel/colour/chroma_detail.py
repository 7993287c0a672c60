"""Chroma with fewer samples, given the detail of luma.

Within a few pixels the colours of a thing lie about on a straight line: so chroma follows luma
there by a local straight line (He et al., *Guided Image Filtering*, ECCV 2010; Kopf et al., *Joint
Bilateral Upsampling*, SIGGRAPH 2007, for the idea). The line is fitted where both are known, on a
copy as small as the chroma, and what luma has beyond that copy is carried over.
"""

from __future__ import annotations

import cv2
import numpy as np

from keyer.kinds.arrays import Plane, Planes
from keyer.kinds.picture import Matrix
from keyer.pixel.colour.luma_chroma import LUMA
from keyer.pixel.colour.weigh import luma_of

REACH = 2
"""Pixels of the copy to each side on which a line is fitted."""

FLAT = 4e-4
"""Variance of luma that is taken for grain: 2 % of white."""


def chroma_detail(planes: Planes, matrix: Matrix, across: int, down: int) -> Planes:
    """Return a picture whose chroma, recorded with fewer samples, has the detail of its luma.

    Parameters
    ----------
    planes : (3, H, W) float32
        R'G'B'.
    matrix : {"bt601", "bt709"}
    across, down : int
        Pixels to a sample of chroma.

    Returns
    -------
    (3, H, W) float32
        New planes; luma stays as it is.
    """
    _, height, width = planes.shape
    size = -(-width // across), -(-height // down)
    small = [cv2.resize(plane, size, interpolation=cv2.INTER_AREA) for plane in planes]
    red, green, blue = LUMA[matrix]
    light = (red * small[0] + green * small[1] + blue * small[2]).astype(np.float32)
    window = (2 * REACH + 1, 2 * REACH + 1)
    usual = cv2.blur(light, window)
    spread = cv2.blur(light * light, window) - usual * usual + np.float32(FLAT)

    def slope(plane: Plane) -> Plane:
        """By how much a primary less luma changes with luma."""
        off = plane - light
        both = cv2.blur(light * off, window) - usual * cv2.blur(off, window)
        found = cv2.resize(cv2.blur(both / spread, window), (width, height))
        return np.asarray(found, np.float32)

    luma = luma_of(planes, matrix)
    detail = luma - cv2.resize(light, (width, height))
    found = planes.copy()
    of_red, of_blue = slope(small[0]) * detail, slope(small[2]) * detail
    found[0] += of_red
    found[2] += of_blue
    found[1] -= (red * of_red + blue * of_blue) * np.float32(1 / green)
    return found
