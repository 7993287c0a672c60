"""The fast key from Y'CbCr planes over Y'CbCr planes into Y'CbCr planes, in one pass of rows.

What `decode_ycc`, `key`, `over` and `encode_ycc` do one after the other, done
for the rows that share chroma while they are in the nearest cache, and only
for the columns on which something is left of the picture that is keyed.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from keyer.kinds.arrays import Codes
from keyer.kinds.picture import YccPicture
from keyer.kinds.settings import KeySettings
from keyer.pixel.colour import decode_ycc, encode_ycc
from keyer.pixel.colour.decode_ycc import chroma_steps, decode_row
from keyer.pixel.colour.encode_ycc import difference_row, luma_row, store_row, thin_row
from keyer.pixel.kernels.jit import kernel
from keyer.pixel.keys.clear import unclear_spans
from keyer.pixel.keys.fast import Constants, constants, matte_of, take_from

Row = NDArray[np.float32]
Spans = NDArray[np.int64]

Layers = tuple[Codes, Codes, Codes]

_REACH = 2
"""Columns beside a span that its chroma is filtered from; even, where chroma sits."""


@kernel
def _lay(fill: Row, matte: Row, under: Row, opacity: np.float32) -> None:
    for x in range(fill.size):
        fill[x] = opacity * fill[x] + (np.float32(1.0) - opacity * matte[x]) * under[x]


@kernel
def _key_rows(
    over: Layers,
    under: Layers,
    out: Layers,
    spans: Spans,
    top: int,
    bottom: int,
    step_x: int,
    step_y: int,
    over_shares: tuple[np.float32, np.float32],
    under_shares: tuple[np.float32, np.float32],
    over_weights: decode_ycc.Weights,
    under_weights: decode_ycc.Weights,
    key: Constants,
    opacity: np.float32,
    w: encode_ycc.Weights,
    c: encode_ycc.CodeLimits,
) -> None:
    """Key the rows of some rows of chroma, `top` to `bottom`, on their spans of columns."""
    height, width = out[0].shape
    rows = np.empty((9, width), np.float32)
    chroma = np.empty((4, width + 4), np.float32)
    sums = np.empty((2, width + 2), np.float32)
    for r in range(top, bottom):
        x0, x1 = spans[r, 0], spans[r, 1]
        if x0 >= x1:
            continue
        left, right = max(x0 - _REACH, 0), min(x1 + _REACH, width)
        size = right - left
        red, green, blue = rows[0, :size], rows[1, :size], rows[2, :size]
        red_under, green_under, blue_under = rows[3, :size], rows[4, :size], rows[5, :size]
        matte, luma, thin = rows[6, :size], rows[7, :size], rows[8, : (size + 1) // 2]
        sum_cb, sum_cr = sums[0, : size + 2], sums[1, : size + 2]
        last = min(r * step_y + step_y, height)
        share = np.float32(1.0) / np.float32(last - r * step_y)
        for y in range(r * step_y, last):
            decode_row(
                over[0], over[1], over[2], y, left, step_x, step_y,
                over_shares[0], over_shares[1], over_weights, chroma, red, green, blue,
            )  # fmt: skip
            decode_row(
                under[0], under[1], under[2], y, left, step_x, step_y,
                under_shares[0], under_shares[1], under_weights, chroma,
                red_under, green_under, blue_under,
            )  # fmt: skip
            matte_of(
                red, green, blue, key.along, key.across, key.slope, key.scale, key.clip, key.gain,
                matte,
            )  # fmt: skip
            take_from(
                red, green, blue, matte, key.backing, key.along, key.across, key.change,
                key.spill_slope,
            )  # fmt: skip
            _lay(red, matte, red_under, opacity)
            _lay(green, matte, green_under, opacity)
            _lay(blue, matte, blue_under, opacity)
            keep = np.float32(0.0 if y == r * step_y else 1.0)
            luma_row(red, green, blue, w, luma)
            store_row(luma[x0 - left : x1 - left], c.luma_span, c.black, c, out[0][y, x0:x1])
            if keep == 0:
                sum_cb[:], sum_cr[:] = 0, 0
            difference_row(blue, luma, share * w.cb, keep, sum_cb[1:-1])
            difference_row(red, luma, share * w.cr, keep, sum_cr[1:-1])
        first, end = x0 // step_x, (x1 + step_x - 1) // step_x
        skip = first - left // step_x
        for sums_of, into in ((sum_cb, out[1]), (sum_cr, out[2])):
            if step_x == 2:
                thin_row(sums_of, thin)
                found = thin[skip : skip + end - first]
            else:
                found = sums_of[1 + skip : 1 + skip + end - first]
            store_row(found, c.chroma_span, c.neutral, c, into[r, first:end])


def key_spans(picture: YccPicture, settings: KeySettings, faint: float) -> Spans:
    """Find the columns that a key can change, for each row of chroma.

    Parameters
    ----------
    picture : YccPicture
    settings : KeySettings
    faint : float
        Matte up to which a pixel is taken as clear.

    Returns
    -------
    (rows of chroma, 2) int64
        First and end column of luma, even but at the picture's right edge;
        equal where all is clear.
    """
    step_x, step_y = chroma_steps(picture)
    spans = unclear_spans(picture, settings, faint)
    none = spans[:, 0] >= spans[:, 1]
    spans[none] = picture.width, 0
    if step_y == 2:  # rows of luma lie between two rows of chroma
        first, end = spans.T.copy()
        for one, other in ((np.s_[1:], np.s_[:-1]), (np.s_[:-1], np.s_[1:])):
            spans[one, 0] = np.minimum(spans[one, 0], first[other])
            spans[one, 1] = np.maximum(spans[one, 1], end[other])
    if step_x == 2:  # chroma is filtered from its neighbours
        spans[:, 0] = np.maximum(spans[:, 0] - 1, 0) // 2 * 2
        spans[:, 1] = np.minimum((spans[:, 1] + 2) // 2 * 2, picture.width)
    spans[spans[:, 0] >= spans[:, 1]] = 0
    return spans


def key_coded(
    over: YccPicture,
    under: YccPicture,
    settings: KeySettings,
    opacity: float,
    out: YccPicture,
    spans: Spans,
    top: int,
    bottom: int,
) -> None:
    """Key a picture over another, on given columns of some rows of chroma.

    Parameters
    ----------
    over, under : YccPicture
        Of one size and sampling.
    settings : KeySettings
    opacity : float
        Of the whole subject.
    out : YccPicture
        Of their size and sampling, left-sited; samples outside `spans` are left.
    spans : (rows of chroma, 2) int64
        From `key_spans`.
    top, bottom : int
        Rows of chroma; `bottom` excluded.
    """
    step_x, step_y = chroma_steps(out)
    _key_rows(
        (over.luma, over.cb, over.cr),
        (under.luma, under.cb, under.cr),
        (out.luma, out.cb, out.cr),
        spans,
        top,
        bottom,
        step_x,
        step_y,
        decode_ycc.column_shares(over),
        decode_ycc.column_shares(under),
        decode_ycc.weights(over.matrix, over.bits, full_range=over.full_range),
        decode_ycc.weights(under.matrix, under.bits, full_range=under.full_range),
        constants(settings, over.matrix),
        np.float32(opacity),
        encode_ycc.weights(out.matrix),
        encode_ycc.code_limits(out.bits, full_range=out.full_range),
    )
