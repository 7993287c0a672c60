"""From R'G'B' bands to the Y'CbCr planes that an encoder takes.

The counterpart of `keyer.pixel.colour.decode_ycc`. Chroma with fewer samples than luma
is filtered first: the mean of two rows, and 1/4, 1/2, 1/4 of three columns about
the even ones, where left-sited samples lie. The picture's edge samples stand for
those beyond it.
"""

from __future__ import annotations

from functools import cache
from typing import Literal, NamedTuple

import numpy as np
from numpy.typing import NDArray

from keyer.errors import FrameShapeError, SettingError
from keyer.kinds.arrays import Codes, Planes
from keyer.kinds.picture import Matrix, Picture, YccPicture
from keyer.pixel.colour.decode_ycc import chroma_steps, code_range
from keyer.pixel.colour.load import load_alpha_band, load_band
from keyer.pixel.colour.luma_chroma import rgb_to_ycc_matrix
from keyer.pixel.kernels.bands import run_bands
from keyer.pixel.kernels.jit import kernel

Sampling = Literal["420", "422", "444"]

_BAND_ROWS = 64
"""Even, so that the row pairs of 4:2:0 stay together."""

_STEPS: dict[Sampling, tuple[int, int]] = {"420": (2, 2), "422": (2, 1), "444": (1, 1)}

Row = NDArray[np.float32]
Rows = NDArray[np.float32]


class CodeLimits(NamedTuple):
    """Scale, offset with the half for rounding, and limits, as float32 for the kernel."""

    luma_span: np.float32
    black: np.float32
    chroma_span: np.float32
    neutral: np.float32
    lowest: np.float32
    highest: np.float32


class Weights(NamedTuple):
    """Luma coefficients and the factors of B' - Y' and R' - Y'."""

    red: np.float32
    green: np.float32
    blue: np.float32
    cb: np.float32
    cr: np.float32


@cache
def code_limits(bits: int, *, full_range: bool) -> CodeLimits:
    """Work out what the kernels need of a sample depth (`decode_ycc.code_range`)."""
    known = code_range(bits, full_range=full_range)
    return CodeLimits(
        np.float32(known.luma_span),
        np.float32(known.black + 0.5),
        np.float32(known.chroma_span),
        np.float32(known.neutral + 0.5),
        np.float32(known.lowest),
        np.float32(known.highest),
    )


@cache
def weights(matrix: Matrix) -> Weights:
    """Work out what the kernels need of a matrix (`luma_chroma.rgb_to_ycc_matrix`)."""
    to_ycc = rgb_to_ycc_matrix(matrix)
    red, green, blue = to_ycc[0]
    return Weights(
        np.float32(red),
        np.float32(green),
        np.float32(blue),
        np.float32(0.5 / (1 - blue)),
        np.float32(0.5 / (1 - red)),
    )


@kernel
def luma_row(red: Row, green: Row, blue: Row, w: Weights, out: Row) -> None:
    """Luma of a row; for use in kernels, as all rows here."""
    for x in range(out.size):
        out[x] = w.red * red[x] + w.green * green[x] + w.blue * blue[x]


@kernel
def difference_row(colour: Row, luma: Row, scale: np.float32, keep: np.float32, out: Row) -> None:
    """Add a scaled colour difference to what is kept of a row."""
    for x in range(luma.size):
        out[x] = keep * out[x] + scale * (colour[x] - luma[x])


@kernel
def thin_row(chroma: Row, out: Row) -> None:
    """Weigh three columns about the even ones; `chroma` has one more sample at each end."""
    chroma[0] = chroma[1]
    chroma[chroma.size - 1] = chroma[chroma.size - 2]
    for k in range(out.size):
        sides = chroma[2 * k] + chroma[2 * k + 2]
        out[k] = np.float32(0.5) * chroma[2 * k + 1] + np.float32(0.25) * sides


@kernel
def store_row(values: Row, span: np.float32, offset: np.float32, c: CodeLimits, out: Codes) -> None:
    """Scale one row of luma or chroma to integer codes, limit them, and put them into `out`."""
    for x in range(values.size):
        code = values[x] * span + offset
        code = code if code > c.lowest else c.lowest
        out[x] = np.int32(code if code < c.highest else c.highest)


@kernel
def _encode_rows(
    red: Rows,
    green: Rows,
    blue: Rows,
    top: int,
    step_x: int,
    step_y: int,
    w: Weights,
    c: CodeLimits,
    luma: Codes,
    cb: Codes,
    cr: Codes,
) -> None:
    """Encode a band; short loops with few arrays each, which the compiler vectorises."""
    rows, width = red.shape
    row_luma = np.empty(width, np.float32)
    row_cb = np.zeros(width + 2, np.float32)
    row_cr = np.zeros(width + 2, np.float32)
    thin = np.empty(cb.shape[1], np.float32)
    for first in range(0, rows, step_y):
        last = min(first + step_y, rows)
        share = np.float32(1.0) / np.float32(last - first)
        for i in range(first, last):
            keep = np.float32(0.0 if i == first else 1.0)
            luma_row(red[i], green[i], blue[i], w, row_luma)
            store_row(row_luma, c.luma_span, c.black, c, luma[top + i])
            difference_row(blue[i], row_luma, share * w.cb, keep, row_cb[1:-1])
            difference_row(red[i], row_luma, share * w.cr, keep, row_cr[1:-1])
        out_cb, out_cr = cb[(top + first) // step_y], cr[(top + first) // step_y]
        if step_x == 2:
            thin_row(row_cb, thin)
            store_row(thin, c.chroma_span, c.neutral, c, out_cb)
            thin_row(row_cr, thin)
            store_row(thin, c.chroma_span, c.neutral, c, out_cr)
        else:
            store_row(row_cb[1:-1], c.chroma_span, c.neutral, c, out_cb)
            store_row(row_cr[1:-1], c.chroma_span, c.neutral, c, out_cr)


def empty_ycc(
    width: int,
    height: int,
    *,
    sampling: Sampling,
    bits: int,
    matrix: Matrix,
    full_range: bool = False,
    alpha: bool = False,
) -> YccPicture:
    """Make planes to encode bands into.

    Parameters
    ----------
    width, height : int
    sampling : {"420", "422", "444"}
    bits : int
        8 to 16.
    matrix : {"bt601", "bt709"}
    full_range : bool
    alpha : bool
        Whether there is a plane of opacity.

    Returns
    -------
    YccPicture
        Left-sited; its samples are not yet set.

    Raises
    ------
    SettingError
        If `sampling` or `bits` is none of these.
    """
    if sampling not in _STEPS or not 8 <= bits <= 16:
        msg = f"sampling must be 420, 422 or 444 and bits 8 to 16, got {sampling} and {bits}."
        raise SettingError(msg)
    step_x, step_y = _STEPS[sampling]
    depth = np.uint8 if bits == 8 else np.uint16
    chroma = (-(-height // step_y), -(-width // step_x))
    return YccPicture(
        luma=np.empty((height, width), depth),
        cb=np.empty(chroma, depth),
        cr=np.empty(chroma, depth),
        bits=bits,
        full_range=full_range,
        matrix=matrix,
        alpha=np.empty((height, width), depth) if alpha else None,
    )


def encode_band(band: Planes, out: YccPicture, top: int) -> None:
    """Convert a band of R'G'B' into rows of Y'CbCr planes.

    Parameters
    ----------
    band : (3, rows, W) float32
        Nominal 0..1. Beyond it, narrow range keeps what its headroom holds.
    out : YccPicture
        Left-sited; its luma and chroma rows are set.
    top : int
        First row in `out`; even for 4:2:0, as `rows` is, but for the last band.

    Raises
    ------
    FrameShapeError
        If a 4:2:0 band begins on an odd row, or ends on one within the picture.
    """
    step_x, step_y = chroma_steps(out)
    bottom = top + band.shape[1]
    if top % step_y or (bottom % step_y and bottom != out.height):
        msg = f"a 4:2:0 band must begin and end on even rows, got {top} to {bottom}."
        raise FrameShapeError(msg)
    _encode_rows(
        band[0],
        band[1],
        band[2],
        top,
        step_x,
        step_y,
        weights(out.matrix),
        code_limits(out.bits, full_range=out.full_range),
        out.luma,
        out.cb,
        out.cr,
    )


def _encode_alpha(alpha: NDArray[np.float32], out: YccPicture, top: int) -> None:
    if out.alpha is not None:
        white = (1 << out.bits) - 1
        codes = np.floor(np.clip(alpha, 0, 1) * np.float32(white) + np.float32(0.5))
        out.alpha[top : top + alpha.shape[0]] = np.minimum(codes, white)


def encode(
    picture: Picture,
    *,
    sampling: Sampling,
    bits: int,
    matrix: Matrix,
    full_range: bool = False,
    alpha: bool = False,
    threads: int | None = None,
) -> YccPicture:
    """Convert a whole picture to Y'CbCr planes.

    Parameters
    ----------
    picture : RgbPicture or YccPicture
    sampling, bits, matrix, full_range, alpha
        As in `empty_ycc`.
    threads : int, optional
        Default: every core.
    """
    out = empty_ycc(
        picture.width,
        picture.height,
        sampling=sampling,
        bits=bits,
        matrix=matrix,
        full_range=full_range,
        alpha=alpha,
    )

    def work(top: int, bottom: int) -> None:
        band = np.empty((3, bottom - top, picture.width), np.float32)
        load_band(picture, top, bottom, band)
        encode_band(band, out, top)
        if alpha:
            load_alpha_band(picture, top, bottom, band[0])
            _encode_alpha(band[0], out, top)

    run_bands(picture.height, picture.width, work, threads=threads, rows=_BAND_ROWS)
    return out
