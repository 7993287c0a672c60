import numpy as np
import pytest
from support import planes, solid

from keyer.pixel.colour import hue_of, rgb_to_ycc
from keyer.pixel.spill import spill_of

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
