"""Thin solid parts, gaps, and what is brighter than any mixture."""

import cv2
import numpy as np
import pytest

from keyer.pixel.colour import LUMA, hue_axes
from keyer.pixel.solid import solid_parts
from keyer.pixel.thin import gaps, plateaus, raise_bright, to_plateaus


def bar(width, level=1.0, blur=0.6, size=(120, 160)):
    """An upright bar in the middle of a clear matte, as a lens shows it."""
    matte = np.zeros(size, np.float32)
    left = (size[1] - width) // 2
    matte[:, left : left + width] = level
    return cv2.GaussianBlur(matte, (0, 0), blur)


@pytest.mark.parametrize("width", [5, 7, 12])
def test_a_tube_with_spill_is_made_solid(width):
    matte = to_plateaus(bar(width, 0.87))
    inside = slice(80 - width // 2 + 1, 80 + width // 2 - 1)
    assert (matte[20:100, inside] > 0.99).all()


def test_a_wire_of_two_pixels_has_no_plateau():
    # a mixture of about 87 % looks no different
    np.testing.assert_array_equal(to_plateaus(bar(2)), bar(2))


def test_glass_stays():
    glass = bar(20, 0.6)
    np.testing.assert_array_equal(to_plateaus(glass), glass)


def test_a_spot_where_strands_cross_stays():
    matte = np.zeros((720, 960), np.float32)
    matte[360:366, 480:486] = 0.87
    spot = cv2.GaussianBlur(matte, (0, 0), 0.6)
    np.testing.assert_array_equal(to_plateaus(spot), spot)
    matte[300:420, 480:486] = 0.87
    assert to_plateaus(cv2.GaussianBlur(matte, (0, 0), 0.6))[310:410, 482:484].min() > 0.99


def test_what_moves_stays():
    moved = cv2.blur(bar(30), (24, 1))
    assert not plateaus(moved)[:, :70].any()
    np.testing.assert_array_equal(to_plateaus(moved)[:, :70], moved[:, :70])


def test_clear_and_solid_stay():
    matte = bar(40, blur=0.3)
    done = to_plateaus(matte)
    assert (done[matte == 0] == 0).all()
    assert (done[matte == 1] == 1).all()
    assert (done >= matte).all()


def test_gap_between_solid_parts_is_not_solid():
    matte = np.ones((120, 160), np.float32)
    matte[:, 78:81] = 0
    matte = cv2.GaussianBlur(matte, (0, 0), 0.6)
    assert gaps(matte)[:, 78:81].all()
    solid = solid_parts(matte)
    assert not solid[10:-10, 78:81].any()
    assert solid[10:-10, 20:60].all()


def twin(planes, subject, backing, wanted, axes, matrix, matte):
    luma, along = np.array(LUMA[matrix]), np.array(axes.along)

    def weigh(stack, weights):
        return np.tensordot(weights, stack.astype(np.float64), 1)

    own = np.maximum(weigh(subject, luma), weigh(backing, luma))
    doubt = np.clip((weigh(planes, luma) - own - 0.05) / 0.1, 0, 1)
    neutral = np.minimum(1 - weigh(planes, along) / np.maximum(weigh(backing, along), 0.02), 1)
    raised = matte + doubt * np.maximum(neutral - matte, 0)
    return np.where(wanted, raised, matte)


def test_bright_parts_agree_with_the_twin():
    rng = np.random.default_rng(3)
    planes, subject, backing = rng.random((3, 3, 70, 50), np.float32)
    matte = rng.random((70, 50), np.float32)
    wanted = rng.random((70, 50)) < 0.7
    axes = hue_axes(230.0, "bt709")
    expected = twin(planes, subject, backing, wanted, axes, "bt709", matte)
    raise_bright(planes, subject, backing, wanted, axes, "bt709", matte)
    np.testing.assert_allclose(matte, expected, atol=1e-5)


def test_chrome_before_a_brown_saddle():
    ones = np.ones((4, 4), np.float32)
    blue, brown, chrome = (
        np.stack([level * ones for level in colour])
        for colour in ((0.1, 0.2, 0.65), (0.5, 0.3, 0.2), (0.7, 0.7, 0.72))
    )
    matte = np.full((4, 4), 0.8, np.float32)
    everywhere = np.ones((4, 4), np.bool_)
    raise_bright(chrome, brown, blue, everywhere, hue_axes(350.0, "bt709"), "bt709", matte)
    assert (matte > 0.9).all()
