from dataclasses import replace

import numpy as np
import pytest
from support import TWIN, reference

from keyer.errors import FrameShapeError
from keyer.kinds.picture import YccPicture
from keyer.pixel.colour.load import load, load_band, store

LEVELS = reference("video_levels")
BARS = LEVELS["bar"]
STEPS = {"420": (2, 2), "422": (2, 1), "444": (1, 1)}


def picture(sampling="420", bits=8, rows=11, columns=13, seed=1, **changes):
    """Random planes."""
    step_x, step_y = STEPS[sampling]
    depth = np.uint8 if bits == 8 else np.uint16
    random = np.random.default_rng(seed)
    chroma = (-(-rows // step_y), -(-columns // step_x))
    settings = {"full_range": False, "matrix": "bt709", "left_sited": True} | changes
    return YccPicture(
        random.integers(0, 1 << bits, (rows, columns)).astype(depth),
        random.integers(0, 1 << bits, chroma).astype(depth),
        random.integers(0, 1 << bits, chroma).astype(depth),
        bits,
        **settings,
    )


def spread(chroma, at_rows, at_columns, shape):
    """Interpolate linearly from where samples sit to every luma position."""
    rows, columns = shape
    wide = [np.interp(np.arange(columns), at_columns, line) for line in chroma.astype(float)]
    tall = [np.interp(np.arange(rows), at_rows, line) for line in np.array(wide).T]
    return np.array(tall).T


def twin(frame, sampling):
    """Plain form in float64: sample positions, then the equations of video_levels.toml."""
    step_x, step_y = STEPS[sampling]
    rows, columns = np.arange(frame.cb.shape[0]), np.arange(frame.cb.shape[1])
    at_rows = rows * 2 + 0.5 if step_y == 2 else rows
    at_columns = columns * step_x + (0.5 if step_x == 2 and not frame.left_sited else 0)
    unit = 2 ** (frame.bits - 8)
    top = 2**frame.bits - 1
    black, span, neutral, chroma_span = (
        (0, top, 2 ** (frame.bits - 1), top)
        if frame.full_range
        else (16 * unit, 219 * unit, 128 * unit, 224 * unit)
    )
    y = (frame.luma.astype(float) - black) / span
    cb, cr = (
        (spread(plane, at_rows, at_columns, frame.luma.shape) - neutral) / chroma_span
        for plane in (frame.cb, frame.cr)
    )
    known = LEVELS["equations"][frame.matrix]
    luma = LEVELS["luma"][frame.matrix]
    red = y + known["cr_divisor"] * cr
    blue = y + known["cb_divisor"] * cb
    green = (y - luma["kr"] * red - luma["kb"] * blue) / luma["kg"]
    return np.stack([red, green, blue])


@pytest.mark.parametrize("left_sited", [True, False])
@pytest.mark.parametrize("full_range", [True, False])
@pytest.mark.parametrize("bits", [8, 10, 12])
@pytest.mark.parametrize("sampling", STEPS)
def test_twin(sampling, bits, full_range, left_sited):
    """Random codes reach beyond -0.5..1.5, hence the relative tolerance beside it."""
    for matrix in ("bt601", "bt709"):
        frame = picture(sampling, bits, full_range=full_range, left_sited=left_sited, matrix=matrix)
        np.testing.assert_allclose(load(frame), twin(frame, sampling), atol=TWIN, rtol=TWIN)


@pytest.mark.parametrize("bits", [8, 10])
@pytest.mark.parametrize(
    "bar", BARS, ids=lambda bar: f"{bar['standard']}-{bar['percent']}-{bar['colour']}"
)
def test_published_bars(bar, bits):
    """video_levels.toml [[bar]]: Y'CbCr codes give R'G'B' within a code of 8 bits."""
    y, cb, cr = bar[f"ycbcr{bits}"]
    depth = np.uint8 if bits == 8 else np.uint16
    flat = [np.full((2, 2), code, depth) for code in (y, cb, cr)]
    frame = YccPicture(*flat, bits, full_range=False, matrix=bar["standard"])
    found = store(load(frame), np.uint8)[:, 0, 0].astype(int)
    np.testing.assert_allclose(found, bar["rgb8_full"], atol=1)
    other = "bt601" if bar["standard"] == "bt709" else "bt709"
    wrong = store(load(replace(frame, matrix=other)), np.uint8)[:, 0, 0].astype(int)
    if bar["colour"] not in {"white", "black"}:
        assert np.abs(wrong - bar["rgb8_full"]).max() > 4


@pytest.mark.parametrize("bits", [8, 10, 12])
@pytest.mark.parametrize("full_range", [True, False])
def test_greys_are_exactly_neutral_and_white_is_white(bits, full_range):
    depth = np.uint8 if bits == 8 else np.uint16
    luma = np.arange(1 << bits, dtype=depth)[None, :]
    neutral = np.full((1, (1 << bits) // 2), 1 << (bits - 1), depth)
    frame = YccPicture(luma, neutral, neutral, bits, full_range, "bt709")
    red, green, blue = load(frame)
    np.testing.assert_array_equal(red, green)
    np.testing.assert_array_equal(red, blue)
    unit = 1 << (bits - 8)
    black, white = (0, (1 << bits) - 1) if full_range else (16 * unit, 235 * unit)
    assert red[0, black] == 0.0
    assert red[0, white] == pytest.approx(1, abs=1e-7)
    assert store(red, np.uint16)[0, white] == 65535


@pytest.mark.parametrize("sampling", STEPS)
@pytest.mark.parametrize("band", [1, 2, 3, 8, 64])
def test_a_result_does_not_depend_on_where_bands_begin(sampling, band):
    frame = picture(sampling, rows=21, columns=10)
    whole = load(frame)
    for top in range(0, 21, band):
        bottom = min(top + band, 21)
        out = np.empty((3, bottom - top, 10), np.float32)
        load_band(frame, top, bottom, out)
        np.testing.assert_array_equal(out, whole[:, top:bottom])


@pytest.mark.parametrize("sampling", STEPS)
def test_one_pixel_and_one_column(sampling):
    for rows, columns in ((1, 1), (1, 5), (5, 1), (2, 2)):
        frame = picture(sampling, rows=rows, columns=columns)
        np.testing.assert_allclose(load(frame), twin(frame, sampling), atol=TWIN, rtol=TWIN)


def test_a_chroma_edge_is_ramped_not_repeated():
    """By hand: between the even columns 2 (neutral) and 4 (code 178), column 3 has code 153."""
    luma = np.full((2, 8), 126, np.uint8)
    cr = np.array([[128, 128, 178, 178]], np.uint8)
    frame = YccPicture(luma, np.full_like(cr, 128), cr, 8, full_range=False, matrix="bt709")
    red = load(frame)[0, 0]
    step = 1.5748 * 50 / 224
    np.testing.assert_allclose(red - red[0], [0, 0, 0, step / 2, step, step, step, step], atol=TWIN)


def test_planes_of_no_known_sampling_are_refused():
    plane = np.zeros((4, 8), np.uint8)
    quarter = np.zeros((4, 2), np.uint8)
    with pytest.raises(FrameShapeError, match="4:4:4, 4:2:2 or 4:2:0"):
        load(YccPicture(plane, quarter, quarter, 8, full_range=False, matrix="bt709"))
