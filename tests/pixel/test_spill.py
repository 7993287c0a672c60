import numpy as np
import pytest
from support import planes, solid

from keyer.pixel.colour import hue_axes, hue_of, rgb_to_ycc
from keyer.pixel.spill import spill_of, suppress_spill

GREEN_HUE = hue_of((0.0, 1.0, 0.0), "bt709")


def _twin(band, hue_deg):
    _, cb, cr = rgb_to_ycc(band.astype(np.float64), "bt709")
    hue = np.radians(hue_deg)
    x = cb * np.cos(hue) + cr * np.sin(hue)
    z = cr * np.cos(hue) - cb * np.sin(hue)
    return np.maximum(x - np.abs(z) / np.tan(np.radians(60)), 0)


def test_spill_twin():
    band = planes(8)
    np.testing.assert_allclose(spill_of(band, 200.0, "bt709"), _twin(band, 200.0), atol=2e-6)


def test_pure_green_spills_its_whole_chroma_and_grey_none():
    """Amplitude of 100 % green: video_levels.toml [[vector]] green, 0.5957."""
    green = spill_of(solid((0.0, 1.0, 0.0)), GREEN_HUE, "bt709")
    assert green[0, 0] == pytest.approx(0.5957, abs=1e-4)
    assert spill_of(solid((0.5, 0.5, 0.5)), GREEN_HUE, "bt709")[0, 0] == pytest.approx(0, abs=1e-6)


def test_suppression_keeps_luma_and_takes_all_spill():
    band = planes(9)
    luma = rgb_to_ycc(band, "bt709")[0]
    suppress_spill(band, GREEN_HUE, 100.0, "bt709")
    np.testing.assert_allclose(rgb_to_ycc(band, "bt709")[0], luma, atol=2e-6)
    assert spill_of(band, GREEN_HUE, "bt709").max() < 2e-6


def test_amount_is_a_share():
    band = planes(9)
    before = _twin(band, GREEN_HUE)
    expected = band - 0.4 * before * hue_axes(GREEN_HUE, "bt709").unit[:, None, None]
    suppress_spill(band, GREEN_HUE, 40.0, "bt709")
    np.testing.assert_allclose(band, expected, atol=2e-6)


def test_nothing_is_taken_at_0():
    band = planes(9)
    suppress_spill(band, GREEN_HUE, 0.0, "bt709")
    np.testing.assert_array_equal(band, planes(9))


def test_colours_without_the_hue_are_left_alone():
    band = solid((0.8, 0.5, 0.4))
    suppress_spill(band, GREEN_HUE, 100.0, "bt709")
    np.testing.assert_array_equal(band, solid((0.8, 0.5, 0.4)))
