from fractions import Fraction

import cv2
import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from PIL import Image
from skimage.transform import downscale_local_mean
from support import TWIN, planes, solid

from keyer.errors import SettingError
from keyer.kinds.picture import RgbPicture, YccPicture
from keyer.pixel.colour.load import load
from keyer.pixel.compose.fit import fit, placement
from keyer.pixel.compose.generate import checkerboard

HOWS = ["cover", "contain", "fill", "none"]
PAL_4_3, PAL_16_9 = Fraction(12, 11), Fraction(16, 11)


def smooth(rows, columns):
    """Waves of many pixels each, which any good filter keeps."""
    y, x = np.mgrid[0:rows, 0:columns] / (rows, columns)[0]
    waves = [np.sin(3 * x + 2 * y), np.cos(5 * y), np.sin(4 * x - y)]
    return (np.array(waves) * 0.4 + 0.5).astype(np.float32)


def area_weights(before, after):
    """Rows of weights: how much of each input pixel an output pixel covers, in float64."""
    edges = np.arange(after + 1) * before / after
    pixels = np.arange(before)
    covered = np.minimum(edges[1:, None], pixels + 1) - np.maximum(edges[:-1, None], pixels)
    return np.maximum(covered, 0) * after / before


@pytest.mark.parametrize("how", HOWS)
def test_nothing_to_do_gives_the_same_object(how):
    rgb = RgbPicture(planes())
    assert fit(rgb, 33, 7, how=how) is rgb
    grey = np.zeros((6, 8), np.uint8)
    ycc = YccPicture(grey, grey, grey, 8, full_range=False, matrix="bt601")
    aspect = {"pixel_aspect_in": PAL_4_3, "pixel_aspect_out": PAL_4_3}
    assert fit(ycc, 8, 6, how=how, **aspect) is ycc


@pytest.mark.parametrize("how", HOWS)
@given(
    size_in=st.tuples(st.integers(1, 40), st.integers(1, 40)),
    size_out=st.tuples(st.integers(1, 40), st.integers(1, 40)),
    aspect=st.fractions(Fraction(1, 4), 4, max_denominator=11),
)
def test_placement_lies_within_both(how, size_in, size_out, aspect):
    (left, top, columns, rows), size = placement(*size_in, *size_out, aspect, how)
    assert 0 <= left < left + columns <= size_in[0]
    assert 0 <= top < top + rows <= size_in[1]
    assert 1 <= size[0] <= size_out[0]
    assert 1 <= size[1] <= size_out[1]
    if how in {"cover", "fill"}:
        assert size == size_out
    if how in {"contain", "fill"}:
        assert (left, top, columns, rows) == (0, 0, *size_in)
    if how == "contain":
        assert size[0] == size_out[0] or size[1] == size_out[1]
    if how == "none":
        assert rows == size[1]


@pytest.mark.parametrize(
    ("how", "crop", "size"),
    [
        ("cover", (0, 72, 768, 432), (1920, 1080)),
        ("contain", (0, 0, 768, 576), (1440, 1080)),
        ("fill", (0, 0, 768, 576), (1920, 1080)),
        ("none", (0, 0, 768, 576), (768, 576)),
    ],
)
def test_a_4_by_3_picture_in_a_16_by_9_frame(how, crop, size):
    """By hand: 768 x 9/16 = 432 rows fill it; 1080 x 4/3 = 1440 columns show it all."""
    assert placement(768, 576, 1920, 1080, Fraction(1), how) == (crop, size)


@pytest.mark.parametrize(
    ("how", "crop", "size"),
    [
        ("cover", (0, 68, 720, 439), (1280, 720)),
        ("contain", (0, 0, 720, 576), (982, 720)),
        ("none", (0, 0, 720, 576), (785, 576)),
    ],
)
def test_pixel_aspect_counts(how, crop, size):
    """By hand: 720 columns of 12/11 are seen as 785.45; 785.45 x 720/576 = 981.8."""
    found = placement(720, 576, 1280, 720, PAL_4_3, how)
    assert found.size == size
    if how == "cover":  # 720 x 785.45 / 1280 = 441.8 rows would be seen; rounded to whole pixels
        assert found.crop[3] == round(720 * 720 * 12 / 11 / 1280)
    else:
        assert found.crop == crop


def test_a_square_is_square_in_either_pixel_aspect():
    """By hand: 720 columns of 16/11 are seen as 1047.3; 64 rows x 1280 / 1047.3 = 78.2."""
    board = checkerboard(720, 576, (1.0,) * 3, (0.0,) * 3, squares=9, pixel_aspect=PAL_16_9)
    out = load(fit(board, 1280, 720, pixel_aspect_in=PAL_16_9, how="contain"))[0]
    across = np.flatnonzero(np.diff(out[40] > 0.5))
    down = np.flatnonzero(np.diff(out[:, 660] > 0.5))
    np.testing.assert_allclose(np.diff(down), 78.2, atol=1)
    np.testing.assert_allclose(np.diff(across), 78.2, atol=1)


@pytest.mark.parametrize("depth", [np.uint8, np.uint16, np.float32])
def test_a_crop_or_a_frame_alone_leaves_the_samples_as_they_are(depth):
    samples = np.random.default_rng(2).integers(0, 200, (3, 10, 12)).astype(depth)
    cut = fit(RgbPicture(samples), 12, 6, how="none")
    np.testing.assert_array_equal(cut.planes, samples[:, 2:8])
    assert cut.planes.dtype == depth
    framed = fit(RgbPicture(samples), 16, 10, how="none")
    np.testing.assert_array_equal(framed.planes[:, :, 2:14], samples)
    assert not framed.planes[:, :, :2].any()
    assert not framed.planes[:, :, 14:].any()


def test_shrinking_by_a_whole_number_is_the_mean_of_blocks():
    """scikit-image downscale_local_mean."""
    source = planes(3, 24, 36)
    expected = np.stack([downscale_local_mean(plane, (3, 3)) for plane in source])
    out = fit(RgbPicture(source), 12, 8, how="fill")
    np.testing.assert_allclose(out.planes, expected, atol=TWIN)


@given(rows=st.integers(1, 19), columns=st.integers(1, 23))
def test_shrinking_weighs_pixels_by_their_area(rows, columns):
    source = planes(4, 20, 24)
    expected = area_weights(20, rows) @ source.astype(float) @ area_weights(24, columns).T
    out = fit(RgbPicture(source), columns, rows, how="fill")
    np.testing.assert_allclose(out.planes, expected, atol=5e-6)


def test_one_axis_may_shrink_while_the_other_grows():
    source = smooth(40, 60)
    out = fit(RgbPicture(source), 30, 80, how="fill").planes
    narrow = source.astype(float) @ area_weights(60, 30).T
    np.testing.assert_allclose(out[:, ::2][:, 4:-4], narrow[:, 4:-4], atol=0.02)
    assert out.shape == (3, 80, 30)


def test_enlarging_agrees_with_pillow_on_a_smooth_picture():
    """Pillow's Lanczos has three lobes where ours has four; both keep waves of 20 pixels."""
    source = smooth(40, 60)
    out = fit(RgbPicture(source), 150, 100, how="fill").planes
    for plane, mine in zip(source, out, strict=True):
        theirs = Image.fromarray(plane).resize((150, 100), Image.Resampling.LANCZOS)
        np.testing.assert_allclose(mine, np.asarray(theirs), atol=4e-3)


def test_a_plain_picture_stays_plain():
    for size in ((7, 5), (40, 31), (3, 60)):
        out = fit(RgbPicture(solid((0.2, 0.5, 0.9), 12, 20)), *size, how="fill")
        np.testing.assert_allclose(out.planes, solid((0.2, 0.5, 0.9), size[1], size[0]), atol=2e-6)


def test_nothing_is_shifted():
    """The middle of a disc stays in the middle, at every scale."""
    y, x = np.mgrid[0:64, 0:64]
    disc = np.clip(20 - np.hypot(x - 31.5, y - 31.5), 0, 1).astype(np.float32)
    for side in (17, 40, 100, 211):
        plane = fit(RgbPicture(np.stack([disc] * 3)), side, side).planes[0].astype(float)
        moments = cv2.moments(plane.astype(np.float32))
        assert moments["m10"] / moments["m00"] == pytest.approx((side - 1) / 2, abs=0.02)


def test_colour_beneath_clear_pixels_does_not_bleed():
    """Half is red and opaque, half is green and clear: the edge stays red."""
    rgb = np.zeros((3, 16, 16), np.float32)
    rgb[0, :, :8], rgb[1, :, 8:] = 1, 1
    alpha = np.zeros((16, 16), np.float32)
    alpha[:, :8] = 1
    for side in (5, 12, 40):
        out = fit(RgbPicture(rgb, alpha), side, side)
        seen = out.alpha > 0.01
        np.testing.assert_allclose(out.planes[0][seen], 1, atol=1e-3)
        np.testing.assert_allclose(out.planes[1][seen], 0, atol=1e-3)
        assert out.alpha.min() >= 0
        assert out.alpha.max() <= 1


def test_a_picture_with_alpha_is_clear_where_it_leaves_the_frame_free():
    rgb = RgbPicture(np.full((3, 4, 4), 200, np.uint8), np.full((4, 4), 255, np.uint8))
    out = fit(rgb, 8, 4, how="contain")
    assert out.alpha[0].tolist() == [0, 0, 255, 255, 255, 255, 0, 0]
    assert not out.planes[:, :, 0].any()


def test_a_clip_picture_is_fitted_through_its_own_matrix():
    """Published BT.601 100 % red (81, 90, 240) stays red within a code of 8 bits."""
    flat = [np.full((8, 8), code, np.uint8) for code in (81, 90, 240)]
    frame = YccPicture(*flat, 8, full_range=False, matrix="bt601")
    out = fit(frame, 4, 4)
    np.testing.assert_allclose(out.planes[:, 2, 2], (1, 0, 0), atol=1.5 / 255)
    assert out.matrix == "bt601"


@pytest.mark.parametrize("how", HOWS)
def test_single_pixels(how):
    one = RgbPicture(solid((0.5, 0.25, 1.0), 1, 1))
    big = fit(one, 30, 20, how=how)
    np.testing.assert_allclose(big.planes[:, 9, 14], (0.5, 0.25, 1.0), atol=TWIN)
    small = fit(RgbPicture(solid((0.5, 0.25, 1.0), 20, 30)), 1, 1, how=how)
    np.testing.assert_allclose(small.planes[:, 0, 0], (0.5, 0.25, 1.0), atol=TWIN)


@pytest.mark.parametrize(
    "wrong",
    [{"how": "squeeze"}, {"width": 0}, {"height": -1}, {"pixel_aspect_in": Fraction(0)}],
)
def test_refusals(wrong):
    settings = {"width": 4, "height": 4} | wrong
    with pytest.raises(SettingError):
        fit(RgbPicture(planes()), **settings)
