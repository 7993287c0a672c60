"""From Y'CbCr planes as a decoder delivers them to a band of R'G'B'.

Chroma that has fewer samples than luma is interpolated linearly between its
sample positions: on the even columns (left-sited) or midway between two, and
vertically midway between two rows (the common siting of MPEG-2 and of
ITU-T H.264, Annex E, `chroma_sample_loc_type` 0 and 1). The picture's edge
samples stand for those beyond it. A band sees the chroma rows beside it, so the
result does not depend on where bands begin.
"""

from __future__ import annotations

from functools import cache
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from keyer.errors import FrameShapeError
from keyer.kinds.arrays import Codes, Planes
from keyer.kinds.picture import Matrix, YccPicture
from keyer.pixel.colour.luma_chroma import LUMA
from keyer.pixel.kernels.jit import kernel

Row = NDArray[np.float32]
Rows = NDArray[np.float32]


class CodeRange(NamedTuple):
    """How sample codes stand for values.

    Attributes
    ----------
    black : float
        Code of Y' = 0.
    luma_span : float
        Codes from Y' = 0 to 1.
    neutral : float
        Code of Cb = Cr = 0.
    chroma_span : float
        Codes from -0.5 to 0.5.
    lowest, highest : int
        Codes that may be written; the others are kept for synchronisation.
    """

    black: float
    luma_span: float
    neutral: float
    chroma_span: float
    lowest: int
    highest: int


def code_range(bits: int, *, full_range: bool) -> CodeRange:
    """Return the code range of a sample depth.

    Parameters
    ----------
    bits : int
        8 to 16.
    full_range : bool

    Returns
    -------
    CodeRange
        Narrow: (219 Y' + 16) 2^(bits-8) and (224 C + 128) 2^(bits-8), with the
        lowest and highest 2^(bits-8) codes reserved (BT.709-6 item 4, BT.601-7
        item 2.5.3). Full: 0..2^bits - 1, chroma about 2^(bits-1) (as BT.2100-2
        table 9 and JFIF have it).
    """
    unit = 1 << (bits - 8)
    top = (1 << bits) - 1
    if full_range:
        return CodeRange(0.0, float(top), float(1 << (bits - 1)), float(top), 0, top)
    return CodeRange(16.0 * unit, 219.0 * unit, 128.0 * unit, 224.0 * unit, unit, top - unit)


class Weights(NamedTuple):
    """Factors of one conversion, as float32 for the kernel."""

    black: np.float32
    luma: np.float32
    neutral: np.float32
    red_cr: np.float32
    green_cb: np.float32
    green_cr: np.float32
    blue_cb: np.float32


@cache
def weights(matrix: Matrix, bits: int, *, full_range: bool) -> Weights:
    """Invert Y', Cb = (B'-Y') / (2-2Kb), Cr = (R'-Y') / (2-2Kr), on codes."""
    red, green, blue = LUMA[matrix]
    codes = code_range(bits, full_range=full_range)
    cr, cb = 2 - 2 * red, 2 - 2 * blue
    return Weights(
        np.float32(codes.black),
        np.float32(1 / codes.luma_span),
        np.float32(codes.neutral),
        np.float32(cr / codes.chroma_span),
        np.float32(-cb * blue / green / codes.chroma_span),
        np.float32(-cr * red / green / codes.chroma_span),
        np.float32(cb / codes.chroma_span),
    )


@kernel
def between_rows(
    near: Codes, far: Codes, near_share: np.float32, neutral: np.float32, out: Row
) -> None:
    """Chroma at a luma row, less neutral; `out` has one more sample at each end."""
    far_share = np.float32(1.0) - near_share
    count = near.size
    for k in range(count):
        out[k + 1] = near_share * np.float32(near[k]) + far_share * np.float32(far[k]) - neutral
    out[0] = out[1]
    out[count + 1] = out[count]


@kernel
def between_columns(chroma: Row, even_share: np.float32, odd_share: np.float32, out: Row) -> None:
    """Chroma at every luma column from a row padded by one sample at each end."""
    even_rest = np.float32(1.0) - even_share
    odd_rest = np.float32(1.0) - odd_share
    pairs = out.size // 2
    for k in range(pairs):
        out[2 * k] = even_share * chroma[k + 1] + even_rest * chroma[k]
        out[2 * k + 1] = odd_share * chroma[k + 1] + odd_rest * chroma[k + 2]
    if out.size % 2:
        out[2 * pairs] = even_share * chroma[pairs + 1] + even_rest * chroma[pairs]


@kernel
def to_rgb(luma: Codes, cb: Row, cr: Row, w: Weights, red: Row, green: Row, blue: Row) -> None:
    """One row of R'G'B' from luma codes and chroma less neutral."""
    for i in range(luma.size):
        y = (np.float32(luma[i]) - w.black) * w.luma
        red[i] = y + w.red_cr * cr[i]
        green[i] = y + w.green_cb * cb[i] + w.green_cr * cr[i]
        blue[i] = y + w.blue_cb * cb[i]


@kernel
def decode_row(
    luma: Codes,
    cb: Codes,
    cr: Codes,
    y: int,
    left: int,
    step_x: int,
    step_y: int,
    even_share: np.float32,
    odd_share: np.float32,
    w: Weights,
    chroma: Rows,
    red: Row,
    green: Row,
    blue: Row,
) -> None:
    """R'G'B' of a stretch of a row, from a column that has chroma on; for use in kernels.

    `chroma` is (4, at least the stretch and 4) and written over.
    """
    width = red.size
    near = y // step_y
    far = near
    near_share = np.float32(1.0)
    if step_y == 2:
        far = min(max(near + 2 * (y % 2) - 1, 0), cb.shape[0] - 1)
        near_share = np.float32(0.75)
    first, end = left // step_x, (left + width + step_x - 1) // step_x
    low, high = max(first - 1, 0), min(end + 1, cb.shape[1])
    count, skip = high - low, first - low
    padded_cb, padded_cr = chroma[0, : count + 2], chroma[1, : count + 2]
    between_rows(cb[near, low:high], cb[far, low:high], near_share, w.neutral, padded_cb)
    between_rows(cr[near, low:high], cr[far, low:high], near_share, w.neutral, padded_cr)
    codes = luma[y, left : left + width]
    if step_x == 2:
        row_cb, row_cr = chroma[2, :width], chroma[3, :width]
        between_columns(padded_cb[skip:], even_share, odd_share, row_cb)
        between_columns(padded_cr[skip:], even_share, odd_share, row_cr)
        to_rgb(codes, row_cb, row_cr, w, red, green, blue)
    else:
        to_rgb(codes, padded_cb[skip + 1 :], padded_cr[skip + 1 :], w, red, green, blue)


@kernel
def _decode_rows(
    luma: Codes,
    cb: Codes,
    cr: Codes,
    left: int,
    top: int,
    step_x: int,
    step_y: int,
    even_share: np.float32,
    odd_share: np.float32,
    w: Weights,
    red: Rows,
    green: Rows,
    blue: Rows,
) -> None:
    chroma = np.empty((4, red.shape[1] + 4), np.float32)
    for i in range(red.shape[0]):
        decode_row(
            luma, cb, cr, top + i, left, step_x, step_y, even_share, odd_share, w, chroma,
            red[i], green[i], blue[i],
        )  # fmt: skip


def chroma_steps(picture: YccPicture) -> tuple[int, int]:
    """Luma columns and rows for one chroma sample, told from the plane shapes.

    Returns
    -------
    tuple of two ints
        (1, 1) for 4:4:4, (2, 1) for 4:2:2, (2, 2) for 4:2:0.

    Raises
    ------
    FrameShapeError
        If the planes fit none of them.
    """
    for step_x, step_y in ((1, 1), (2, 1), (2, 2)):
        shape = (-(-picture.height // step_y), -(-picture.width // step_x))
        if picture.cb.shape == shape and picture.cr.shape == shape:
            return step_x, step_y
    msg = (
        f"chroma planes must be 4:4:4, 4:2:2 or 4:2:0 of the luma plane {picture.luma.shape}, "
        f"got {picture.cb.shape} and {picture.cr.shape}. Convert the clip first."
    )
    raise FrameShapeError(msg)


def column_shares(picture: YccPicture) -> tuple[np.float32, np.float32]:
    """Share of the nearest chroma sample in an even and an odd column; its neighbour has the rest.

    Returns
    -------
    tuple of two float32
    """
    even, odd = (1.0, 0.5) if picture.left_sited else (0.75, 0.75)
    return np.float32(even), np.float32(odd)


def decode_box(picture: YccPicture, left: int, top: int, out: Planes) -> None:
    """Convert a part of a Y'CbCr picture to R'G'B'.

    Parameters
    ----------
    picture : YccPicture
    left, top : int
        Where it begins; on a column that has chroma.
    out : (3, rows, columns) float32
        Nominal 0..1; codes outside the nominal range go beyond it.
    """
    step_x, step_y = chroma_steps(picture)
    even, odd = column_shares(picture)
    _decode_rows(
        picture.luma,
        picture.cb,
        picture.cr,
        left,
        top,
        step_x,
        step_y,
        even,
        odd,
        weights(picture.matrix, picture.bits, full_range=picture.full_range),
        out[0],
        out[1],
        out[2],
    )
