"""Spill: light of the backing on the subject, and taking it out.

The spill of a pixel is its chroma along the key hue less the chroma across it,
scaled so that a wedge of 60 degrees to either side of the hue counts:
S = X - |Z| / tan 60, not below 0. Taking it out moves the colour along the hue
only and leaves luma as it is.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from keyer.kinds.picture import Matrix, Planes
from keyer.pixel.colour import hue_axes
from keyer.pixel.jit import kernel
from keyer.pixel.key import wedge_slope

SPILL_WEDGE_DEG = 120.0
"""Full angle about the key hue within which colour counts as spill."""

Flat = NDArray[np.float32]


@kernel
def _spill(
    red: Flat, green: Flat, blue: Flat, along: Flat, across: Flat, slope: np.float32, out: Flat
) -> None:
    ar, ag, ab = along[0], along[1], along[2]
    cr, cg, cb = across[0], across[1], across[2]
    for i in range(out.size):
        x = ar * red[i] + ag * green[i] + ab * blue[i]
        z = cr * red[i] + cg * green[i] + cb * blue[i]
        inside = x - slope * abs(z)
        out[i] = inside if inside > np.float32(0.0) else np.float32(0.0)


@kernel
def _take_out(
    red: Flat,
    green: Flat,
    blue: Flat,
    along: Flat,
    across: Flat,
    change: Flat,
    slope: np.float32,
) -> None:
    ar, ag, ab = along[0], along[1], along[2]
    cr, cg, cb = across[0], across[1], across[2]
    dr, dg, db = change[0], change[1], change[2]
    for i in range(red.size):
        x = ar * red[i] + ag * green[i] + ab * blue[i]
        z = cr * red[i] + cg * green[i] + cb * blue[i]
        inside = x - slope * abs(z)
        inside = inside if inside > np.float32(0.0) else np.float32(0.0)
        red[i] += dr * inside
        green[i] += dg * inside
        blue[i] += db * inside


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
    _spill(
        red,
        green,
        blue,
        axes.along,
        axes.across,
        np.float32(wedge_slope(SPILL_WEDGE_DEG)),
        out.reshape(-1),
    )
    return out


def suppress_spill(band: Planes, hue_deg: float, amount_percent: float, matrix: Matrix) -> None:
    """Take spill out of a band, in place.

    Works on straight and on premultiplied colour alike, since spill scales
    with the colour.

    Parameters
    ----------
    band : (3, rows, W) float32, C-contiguous
    hue_deg : float
        Key hue.
    amount_percent : float
        0 leaves the band as it is, 100 takes all of it.
    matrix : {"bt601", "bt709"}
    """
    if amount_percent <= 0.0:
        return
    axes = hue_axes(hue_deg, matrix)
    red, green, blue = band.reshape(3, -1)
    _take_out(
        red,
        green,
        blue,
        axes.along,
        axes.across,
        axes.unit * np.float32(-amount_percent / 100),
        np.float32(wedge_slope(SPILL_WEDGE_DEG)),
    )
