import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from hypothesis.extra import numpy as hnp
from support import TWIN, planes

from keyer.errors import FrameShapeError
from keyer.kinds.picture import RgbPicture, YccPicture
from keyer.pixel.colour.load import (
    at_depth,
    from_array,
    load,
    load_alpha,
    load_alpha_band,
    load_band,
    plane_at_depth,
    store,
    store_band,
    to_array,
)

WHITE = {np.uint8: 255, np.uint16: 65535}

SIDES = st.integers(1, 9)


@st.composite
def pictures(draw):
    """Arrays as they come to the doors."""
    shape = (draw(SIDES), draw(SIDES), *draw(st.sampled_from([(), (1,), (3,), (4,)])))
    depth = draw(st.sampled_from([np.uint8, np.uint16, np.float32]))
    numbers = st.floats(-2, 2, width=32) if depth is np.float32 else None
    return draw(hnp.arrays(depth, shape, elements=numbers))


@pytest.mark.parametrize("depth", WHITE)
def test_every_code_survives_loading_and_storing(depth):
    """The store rounds half up, so that half a code of error is allowed and 1 ulp is used."""
    codes = np.arange(WHITE[depth] + 1, dtype=depth).reshape(1, 16, -1).repeat(3, axis=0)
    loaded = load(RgbPicture(codes))
    np.testing.assert_array_equal(store(loaded, depth), codes)
    assert loaded.min() == 0.0
    assert loaded.max() == 1.0


@pytest.mark.parametrize("depth", WHITE)
def test_load_twin(depth):
    codes = np.random.default_rng(3).integers(0, WHITE[depth] + 1, (3, 9, 31)).astype(depth)
    expected = codes / np.float64(WHITE[depth])
    np.testing.assert_allclose(load(RgbPicture(codes)), expected, atol=TWIN)


@pytest.mark.parametrize("depth", WHITE)
@given(values=hnp.arrays(np.float32, (2, 5), elements=st.floats(-3, 3, width=32)))
def test_store_twin(depth, values):
    """floor(x white + 0.5) after the clamp, but for values that float32 puts on the other side."""
    exact = np.clip(values.astype(np.float64), 0, 1) * WHITE[depth] + 0.5
    stored = store(values, depth).astype(np.float64)
    assert np.all(stored <= exact + 0.01)
    assert np.all(stored > exact - 1.01)


def test_store_rounds_half_up_and_clamps():
    """By hand: x 255 + 0.5, floored; what is no number becomes black."""
    values = np.array([[0.5 / 255, 1.49 / 255, 2.5 / 255, -1.0, 2.0, np.nan, np.inf, -np.inf]])
    np.testing.assert_array_equal(
        store(values.astype(np.float32), np.uint8), [[1, 1, 3, 0, 255, 0, 255, 0]]
    )


def test_float_pictures_keep_what_lies_beyond_the_nominal_range():
    values = np.array([-0.25, 0.5, 1.75], np.float32).reshape(1, 1, 3).repeat(3, axis=0)
    np.testing.assert_array_equal(store(load(RgbPicture(values)), np.float32), values)


def test_a_band_may_be_part_of_a_larger_buffer():
    codes = np.random.default_rng(4).integers(0, 256, (3, 20, 6)).astype(np.uint8)
    buffer = np.full((3, 16, 6), -1, np.float32)
    load_band(RgbPicture(codes), 12, 20, buffer[:, :8])
    out = np.zeros_like(codes)
    store_band(buffer[:, :8], out, 12)
    np.testing.assert_array_equal(out[:, 12:], codes[:, 12:])
    assert not out[:, :12].any()
    assert np.all(buffer[:, 8:] == -1)


def test_a_load_in_bands_is_that_of_one_band():
    codes = np.random.default_rng(5).integers(0, 65536, (3, 200, 7)).astype(np.uint16)
    whole = np.empty((3, 200, 7), np.float32)
    load_band(RgbPicture(codes), 0, 200, whole)
    np.testing.assert_array_equal(load(RgbPicture(codes)), whole)


def test_alpha_is_one_where_there_is_none():
    out = np.zeros((2, 3), np.float32)
    load_alpha_band(RgbPicture(np.zeros((3, 4, 3), np.uint8)), 1, 3, out)
    assert np.all(out == 1)


def test_alpha_of_each_kind():
    """White of 10 bits is code 1023, in either range."""
    rgb = RgbPicture(np.zeros((3, 1, 3), np.uint8), np.array([[0, 51, 255]], np.uint8))
    np.testing.assert_allclose(load_alpha(rgb), [[0, 0.2, 1]], atol=TWIN)
    grey = np.full((1, 3), 512, np.uint16)
    codes = np.array([[0, 341, 1023]], np.uint16)
    ycc = YccPicture(grey, grey, grey, 10, full_range=False, matrix="bt709", alpha=codes)
    np.testing.assert_allclose(load_alpha(ycc), [[0, 1 / 3, 1]], atol=TWIN)


@given(array=pictures())
def test_arrays_come_out_as_they_went_in(array):
    out = to_array(from_array(array))
    assert out.dtype == array.dtype
    if array.ndim == 2 or array.shape[2] == 1:
        expected = np.repeat(array.reshape(*array.shape[:2], 1), 3, axis=2)
    else:
        expected = array
    np.testing.assert_array_equal(out, expected)


def test_planes_at_the_door_are_red_green_blue_alpha_and_contiguous():
    array = np.arange(2 * 3 * 4, dtype=np.uint8).reshape(2, 3, 4)
    picture = from_array(array)
    np.testing.assert_array_equal(picture.planes[0], array[..., 0])
    np.testing.assert_array_equal(picture.planes[2], array[..., 2])
    np.testing.assert_array_equal(picture.alpha, array[..., 3])
    assert picture.planes.flags.c_contiguous
    array[:] = 0
    assert picture.planes.any()


def test_views_are_taken_as_well_as_whole_arrays():
    array = np.random.default_rng(6).integers(0, 256, (6, 8, 3)).astype(np.uint8)
    np.testing.assert_array_equal(to_array(from_array(array[::2, ::-1])), array[::2, ::-1])


@pytest.mark.parametrize(
    ("array", "demand"),
    [
        (np.zeros((2, 2, 2), np.uint8), "1, 3 or 4 channels"),
        (np.zeros((3, 2, 2, 3), np.uint8), "1, 3 or 4 channels"),
        (np.zeros(5, np.uint8), "1, 3 or 4 channels"),
        (np.zeros((0, 4, 3), np.uint8), "not empty"),
        (np.zeros((4, 0), np.uint8), "not empty"),
        (np.zeros((2, 2, 3), np.float64), "float32"),
        (np.zeros((2, 2, 3), bool), "uint8"),
        (np.zeros((2, 2, 3), np.int16), "uint16"),
        (np.full((2, 2, 3), np.nan, np.float32), "finite"),
        (np.full((2, 2), np.inf, np.float32), "finite"),
    ],
)
def test_an_array_that_is_no_picture_is_refused_in_one_line(array, demand):
    with pytest.raises(FrameShapeError, match=demand) as refusal:
        from_array(array, name="background")
    assert str(refusal.value).startswith("background must")
    assert "\n" not in str(refusal.value)


def test_depths_are_converted_only_where_they_differ():
    picture = RgbPicture(np.array([0, 128, 255], np.uint8).reshape(3, 1, 1))
    assert at_depth(picture, np.uint8) is picture
    deep = at_depth(picture, np.uint16)
    np.testing.assert_array_equal(deep.planes.ravel(), [0, 128 * 257, 65535])
    np.testing.assert_array_equal(at_depth(deep, np.uint8).planes, picture.planes)
    np.testing.assert_allclose(plane_at_depth(deep.planes[1], np.float32), 128 / 255, atol=TWIN)


def test_storing_float_planes_copies_nothing():
    values = planes()
    assert store(values, np.float32) is values
