"""Where a chroma key can leave something, told from the coded chroma alone.

The colours that a key makes wholly clear are a convex part of the chroma plane
(a wedge, beyond a line), and interpolation cannot leave it: where all chroma
samples about a pixel are clear, the pixel is. So most of a backing need not be
converted, keyed and laid over anything.
"""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import NDArray

from keyer.kinds.arrays import Codes
from keyer.kinds.picture import YccPicture
from keyer.kinds.settings import KeySettings
from keyer.pixel.colour.decode_ycc import chroma_steps, code_range
from keyer.pixel.kernels.jit import kernel
from keyer.pixel.keys.fast import backing_level
from keyer.pixel.keys.wedge import wedge_slope

Row = NDArray[np.float32]

_SAFE = 1e-4
"""Share by which a sample must be clearer than clear, for the sake of rounding."""


@kernel
def _components(
    cb: Codes,
    cr: Codes,
    neutral: np.float32,
    cos: np.float32,
    sin: np.float32,
    slope: np.float32,
    out: Row,
) -> None:
    """Component inside the wedge (`keyer.pixel.keys.wedge`) of a row, in codes."""
    for k in range(out.size):
        blue, red = np.float32(cb[k]) - neutral, np.float32(cr[k]) - neutral
        out[k] = cos * blue + sin * red - slope * abs(cos * red - sin * blue)


@kernel
def _unclear(
    cb: Codes,
    cr: Codes,
    neutral: np.float32,
    cos: np.float32,
    sin: np.float32,
    slope: np.float32,
    least: np.float32,
    spans: NDArray[np.int64],
) -> None:
    """Find the first sample of each row that is not clear, and the one after the last."""
    width = cb.shape[1]
    row = np.empty(width, np.float32)
    for r in range(cb.shape[0]):
        _components(cb[r], cr[r], neutral, cos, sin, slope, row)
        first = 0
        while first < width and row[first] >= least:
            first += 1
        end = width
        while end > first and row[end - 1] >= least:
            end -= 1
        spans[r, 0], spans[r, 1] = first, end


def unclear_spans(
    picture: YccPicture,
    settings: KeySettings,
    faint: float = 0.0,
    first: int = 0,
    last: int | None = None,
) -> NDArray[np.int64]:
    """Find in each row of chroma samples those about which a key may not be clear.

    Parameters
    ----------
    picture : YccPicture
    settings : KeySettings
    faint : float
        Matte up to which a pixel is taken as clear.
    first, last : int, optional
        Rows of chroma to look at, `last` excluded; default: all.

    Returns
    -------
    (rows of chroma, 2) int64
        First column of luma that may not be clear, and the one after the last;
        equal where all are clear. A row of luma is clear where all rows of
        chroma that it is interpolated from are.
    """
    step, _ = chroma_steps(picture)
    cb, cr = picture.cb[first:last], picture.cr[first:last]
    rows = cb.shape[0]
    slope = wedge_slope(settings.acceptance_deg)
    level = backing_level(
        settings.backing, settings.hue_deg, settings.acceptance_deg, picture.matrix
    )
    codes = code_range(picture.bits, full_range=picture.full_range)
    clear = settings.clip_percent / 100 + faint / settings.gain  # signal up to which it is
    least = level * (1 - clear) * codes.chroma_span * (1 + _SAFE)
    if slope < -1e-9 or least <= 0:  # no convex part, or one without an edge
        return np.tile(np.array([0, picture.width]), (rows, 1))
    hue = math.radians(settings.hue_deg)
    spans = np.empty((rows, 2), np.int64)
    _unclear(
        cb,
        cr,
        np.float32(codes.neutral),
        np.float32(math.cos(hue)),
        np.float32(math.sin(hue)),
        np.float32(slope),
        np.float32(least),
        spans,
    )
    some = spans[:, 0] < spans[:, 1]
    spans[~some] = 0
    if step == 2:  # a sample tells on the columns up to its neighbours
        spans[some, 0] = np.maximum(2 * spans[some, 0] - 1, 0)
        spans[some, 1] = np.minimum(2 * spans[some, 1] + 1, picture.width)
    return spans
