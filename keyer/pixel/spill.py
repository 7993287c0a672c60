"""Spill: light of the backing on the subject.

The spill of a pixel is its chroma along the key hue less the chroma across it,
scaled so that a wedge of 60 degrees to either side of the hue counts:
S = X - |Z| / tan 60, not below 0. Taking it out (`keyer.pixel.key`) moves the
colour along the hue only and leaves luma as it is.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from keyer.kinds.picture import Matrix, Planes
from keyer.pixel.colour import hue_axes
from keyer.pixel.jit import kernel_beside
from keyer.pixel.wedge import inside, inside_plainly, wedge_slope

SPILL_WEDGE_DEG = 120.0
"""Full angle about the key hue within which colour counts as spill."""

Flat = NDArray[np.float32]


def _spill_plainly(
    red: Flat, green: Flat, blue: Flat, along: Flat, across: Flat, slope: np.float32, out: Flat
) -> None:
    out[:] = inside_plainly((red, green, blue), along, across, slope)


@kernel_beside(_spill_plainly)
def _spill(
    red: Flat, green: Flat, blue: Flat, along: Flat, across: Flat, slope: np.float32, out: Flat
) -> None:
    ar, ag, ab = along[0], along[1], along[2]
    cr, cg, cb = across[0], across[1], across[2]
    for i in range(out.size):
        x = ar * red[i] + ag * green[i] + ab * blue[i]
        z = cr * red[i] + cg * green[i] + cb * blue[i]
        out[i] = inside(x, z, slope)


def spill_of(band: Planes, hue_deg: float, matrix: Matrix) -> NDArray[np.float32]:
    """Spill of every pixel.

    Parameters
    ----------
    band : (3, rows, W) float32, C-contiguous
    hue_deg : float
        Key hue.
    matrix : {"bt601", "bt709"}

    Returns
    -------
    (rows, W) float32
        Chroma, 0..0.6; `keyer.pixel.colour.FULL_CHROMA` is full.
    """
    axes = hue_axes(hue_deg, matrix)
    red, green, blue = band.reshape(3, -1)
    out = np.empty(band.shape[1:], np.float32)
    slope = np.float32(wedge_slope(SPILL_WEDGE_DEG))
    _spill(red, green, blue, axes.along, axes.across, slope, out.reshape(-1))
    return out
