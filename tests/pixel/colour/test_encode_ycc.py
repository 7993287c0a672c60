import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from support import planes, reference, solid

from keyer.errors import FrameShapeError, SettingError
from keyer.kinds.picture import RgbPicture
from keyer.pixel.colour.encode_ycc import empty_ycc, encode, encode_band
from keyer.pixel.colour.load import load, load_alpha

LEVELS = reference("video_levels")
BARS = LEVELS["bar"]
STEPS = {"420": (2, 2), "422": (2, 1), "444": (1, 1)}


def twin(rgb, sampling, bits, matrix, *, full_range):
    """Plain form in float64: equations of video_levels.toml, then filters over padded planes."""
    red, green, blue = rgb.astype(float)
    luma, known = LEVELS["luma"][matrix], LEVELS["equations"][matrix]
    y = luma["kr"] * red + luma["kg"] * green + luma["kb"] * blue
    step_x, step_y = STEPS[sampling]
    thin = []
    for difference in ((blue - y) / known["cb_divisor"], (red - y) / known["cr_divisor"]):
        rows = difference
        if step_y == 2:
            tall = np.pad(rows, ((0, rows.shape[0] % 2), (0, 0)), mode="edge")
            rows = (tall[::2] + tall[1::2]) / 2
        if step_x == 2:
            wide = np.pad(rows, ((0, 0), (1, 1)), mode="edge")
            rows = (wide[:, :-2] + 2 * wide[:, 1:-1] + wide[:, 2:])[:, ::2] / 4
        thin.append(rows)
    unit, top = 2 ** (bits - 8), 2**bits - 1
    spans = (top, 0, top, 2 ** (bits - 1)) if full_range else (219, 16, 224, 128)
    limits = (0, top) if full_range else (unit, top - unit)
    scale = 1 if full_range else unit
    codes = [(y * spans[0] + spans[1]) * scale]
    codes += [(plane * spans[2] + spans[3]) * scale for plane in thin]
    return [np.clip(plane, *limits) for plane in codes]


@pytest.mark.parametrize("full_range", [True, False])
@pytest.mark.parametrize("bits", [8, 10, 12])
@pytest.mark.parametrize("sampling", STEPS)
def test_twin(sampling, bits, full_range):
    """Codes are the twin's, rounded; 1e-3 allows for float32 beside a half."""
    rgb = planes(5, rows=9, columns=15) * 1.2 - 0.1
    for matrix in ("bt601", "bt709"):
        coded = encode(
            RgbPicture(rgb), sampling=sampling, bits=bits, matrix=matrix, full_range=full_range
        )
        exact = twin(rgb, sampling, bits, matrix, full_range=full_range)
        for found, wanted in zip((coded.luma, coded.cb, coded.cr), exact, strict=True):
            np.testing.assert_array_less(np.abs(found - wanted), 0.501)


@pytest.mark.parametrize("bits", [8, 10])
@pytest.mark.parametrize("sampling", STEPS)
@pytest.mark.parametrize(
    "bar", BARS, ids=lambda bar: f"{bar['standard']}-{bar['percent']}-{bar['colour']}"
)
def test_published_bars(bar, sampling, bits):
    """video_levels.toml [[bar]] rows ycbcr8 and ycbcr10, exactly."""
    coded = encode(
        RgbPicture(solid(bar["rgb"], 2, 6)), sampling=sampling, bits=bits, matrix=bar["standard"]
    )
    found = [int(plane[0, 1]) for plane in (coded.luma, coded.cb, coded.cr)]
    assert found == bar[f"ycbcr{bits}"]
    assert all(len(np.unique(plane)) == 1 for plane in (coded.luma, coded.cb, coded.cr))


@given(seed=st.integers(0, 2**31), matrix=st.sampled_from(["bt601", "bt709"]))
def test_pictures_without_thinning_come_back(seed, matrix):
    """12 bits, 4:4:4: half a code of each; the blue row weighs them 1 and 1.8556 x 219 / 224."""
    rgb = planes(seed)
    back = load(encode(RgbPicture(rgb), sampling="444", bits=12, matrix=matrix))
    np.testing.assert_allclose(back, rgb, atol=0.5 * (1 + 1.8556 * 219 / 224) / (219 * 16))


def test_narrow_range_keeps_headroom_and_leaves_the_reserved_codes():
    """video_levels.toml [quantisation]: 1..254 of 8 bits and 4..1019 of 10 may be written."""
    extremes = np.array([-5, -0.05, 1.05, 5], np.float32)
    grey = RgbPicture(np.tile(extremes, (3, 1, 1)))
    low, high = LEVELS["quantisation"]["reserved8"]["video_data_min"], 254
    assert high == LEVELS["quantisation"]["reserved8"]["video_data_max"]
    coded = encode(grey, sampling="444", bits=8, matrix="bt709")
    assert coded.luma.tolist() == [[low, 5, 246, high]]
    deep = encode(grey, sampling="444", bits=10, matrix="bt709")
    reserved = LEVELS["quantisation"]["reserved10"]
    assert (deep.luma.min(), deep.luma.max()) == (
        reserved["video_data_min"],
        reserved["video_data_max"],
    )


@pytest.mark.parametrize("sampling", STEPS)
def test_a_result_does_not_depend_on_bands_or_threads(sampling):
    rgb = planes(7, rows=131, columns=9)
    whole = encode(RgbPicture(rgb), sampling=sampling, bits=8, matrix="bt709", threads=1)
    out = empty_ycc(9, 131, sampling=sampling, bits=8, matrix="bt709")
    for top in range(0, 131, 22):
        encode_band(np.ascontiguousarray(rgb[:, top : top + 22]), out, top)
    for one, other in ((whole.luma, out.luma), (whole.cb, out.cb), (whole.cr, out.cr)):
        np.testing.assert_array_equal(one, other)
    again = encode(RgbPicture(rgb), sampling=sampling, bits=8, matrix="bt709", threads=3)
    np.testing.assert_array_equal(again.cr, out.cr)


def test_alpha_is_coded_over_the_full_range():
    rgb = RgbPicture(planes(1, 1, 3), np.array([[0, 0.5, 1]], np.float32))
    coded = encode(rgb, sampling="444", bits=10, matrix="bt709", alpha=True)
    assert coded.alpha.tolist() == [[0, 512, 1023]]
    np.testing.assert_allclose(load_alpha(coded), rgb.alpha, atol=0.5 / 1023)


def test_a_picture_without_alpha_is_coded_opaque():
    coded = encode(RgbPicture(planes()), sampling="444", bits=10, matrix="bt709", alpha=True)
    assert np.all(coded.alpha == 1023)


def test_what_is_no_number_becomes_a_low_code_and_nothing_worse():
    rgb = planes(1, 2, 4)
    rgb[:, 0, 0] = np.nan
    coded = encode(RgbPicture(rgb), sampling="444", bits=8, matrix="bt709")
    assert coded.luma[0, 0] == 1
    assert coded.luma[1, 3] > 1


def test_bands_that_split_a_pair_of_rows_are_refused():
    out = empty_ycc(4, 8, sampling="420", bits=8, matrix="bt709")
    with pytest.raises(FrameShapeError, match="even rows"):
        encode_band(planes(1, 2, 4), out, 1)
    with pytest.raises(FrameShapeError, match="even rows"):
        encode_band(planes(1, 3, 4), out, 0)


@pytest.mark.parametrize("wrong", [{"sampling": "411"}, {"bits": 7}, {"bits": 32}])
def test_unknown_layouts_are_refused(wrong):
    settings = {"sampling": "444", "bits": 8} | wrong
    with pytest.raises(SettingError, match="sampling must be"):
        empty_ycc(4, 4, matrix="bt709", **settings)
