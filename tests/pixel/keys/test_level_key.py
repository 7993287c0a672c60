import numpy as np
import pytest
from support import TWIN, planes, reference, solid

from keyer.pixel.keys.level_key import level_matte, luma_band


@pytest.mark.parametrize("matrix", ["bt601", "bt709"])
def test_luma_twin(matrix):
    """video_levels.toml [luma]."""
    weights = reference("video_levels")["luma"][matrix]
    band = planes(4)
    luma = np.empty(band.shape[1:], np.float32)
    luma_band(band, matrix, luma)
    expected = weights["kr"] * band[0] + weights["kg"] * band[1] + weights["kb"] * band[2]
    np.testing.assert_allclose(luma, expected, atol=TWIN)


def test_white_is_seen_and_black_is_not():
    for level, seen in ((0.0, 0.0), (0.3, 0.0), (0.5, 0.5), (0.7, 1.0), (1.0, 1.0)):
        luma = np.empty((4, 8), np.float32)
        luma_band(solid((level,) * 3), "bt709", luma)
        level_matte(luma, 30.0, 2.5, invert=False)
        np.testing.assert_allclose(luma, seen, atol=TWIN)


def test_invert_is_the_complement():
    signal = planes(6)[0]
    upright, turned = signal.copy(), signal.copy()
    level_matte(upright, 20.0, 1.7, invert=False)
    level_matte(turned, 20.0, 1.7, invert=True)
    np.testing.assert_allclose(upright + turned, 1.0, atol=TWIN)


def test_a_linear_key_takes_its_signal_as_it_is():
    signal = planes(6)[0]
    matte = signal.copy()
    level_matte(matte, 0.0, 1.0, invert=False)
    np.testing.assert_array_equal(matte, signal)
