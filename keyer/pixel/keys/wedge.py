"""The wedge in the chroma plane: how far a colour lies inside a range of hues.

Chroma is turned so that X lies along a hue and Z across it; the component
inside a wedge of full angle A about the hue is X - |Z| / tan(A / 2), not below
0. This is the classical chroma keyer (from memory: K. Jack, "Video
Demystified", chroma keying). A key takes the backing's tint out of a subject
with a wedge of 60 degrees to either side: it moves the colour along the hue
only and leaves luma as it is. What is then left is measured by another law
(`keyer.measure.spill`).
"""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np

from keyer.kinds.arrays import Flat
from keyer.pixel.kernels.jit import kernel

SPILL_WEDGE_DEG = 120.0
"""Full angle about the key hue within which a key takes colour for the backing's tint."""


@kernel
def inside(x: np.float32, z: np.float32, slope: np.float32) -> np.float32:
    """Component inside the wedge of one colour; for use in kernels."""
    component = x - slope * abs(z)
    return component if component > np.float32(0.0) else np.float32(0.0)


def inside_plainly(
    planes: Sequence[Flat] | Flat,
    along: Sequence[np.float32] | Flat,
    across: Sequence[np.float32] | Flat,
    slope: np.float32,
) -> Flat:
    """Component inside the wedge of flat planes of R', G' and B'."""
    red, green, blue = planes
    x, z = (one[0] * red + one[1] * green + one[2] * blue for one in (along, across))
    return np.asarray(np.fmax(x - slope * np.abs(z), 0), np.float32)


def wedge_slope(acceptance_deg: float) -> float:
    """Fall of the component with distance from the hue's axis.

    Parameters
    ----------
    acceptance_deg : float
        Full angle of the wedge.

    Returns
    -------
    float
        1 / tan(acceptance / 2); 0 for a half plane.
    """
    return 1.0 / math.tan(math.radians(acceptance_deg) / 2)
