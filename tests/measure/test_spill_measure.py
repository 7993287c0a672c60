import numpy as np
import pytest
from support import solid

from keyer.measure.spill import judge_spill, measure_spill
from keyer.pixel.colour import hue_of

HUE = hue_of((0.0, 1.0, 0.0), "bt709")
OPAQUE = np.ones((4, 8), np.float32)


def test_full_green_is_119_percent_of_full_chroma():
    """0.5957 (video_levels.toml [[vector]] green) over 0.5."""
    spill = measure_spill(solid((0.0, 1.0, 0.0)), OPAQUE, HUE, "bt709")
    assert spill.mean_percent == pytest.approx(119.13, abs=0.02)
    assert spill.p95_percent == pytest.approx(119.13, abs=0.02)
    assert spill.area_percent == 100.0


def test_half_of_the_subject_tinted():
    colour = solid((0.5, 0.5, 0.5))
    colour[1, :, :4] = 0.6
    spill = measure_spill(colour, OPAQUE, HUE, "bt709")
    assert spill.area_percent == 50.0
    whole = measure_spill(solid((0.5, 0.6, 0.5)), OPAQUE, HUE, "bt709")
    assert spill.mean_percent == pytest.approx(whole.mean_percent / 2, rel=1e-4)


def test_what_is_not_subject_does_not_count():
    matte = OPAQUE.copy()
    matte[:, 4:] = 0.4
    colour = solid((0.5, 0.5, 0.5))
    colour[1, :, 4:] = 1.0
    assert measure_spill(colour, matte, HUE, "bt709").mean_percent == pytest.approx(0, abs=1e-4)


def test_no_subject_no_spill():
    spill = measure_spill(solid((0.0, 1.0, 0.0)), np.zeros((4, 8), np.float32), HUE, "bt709")
    assert spill.mean_percent == 0.0


def test_verdict():
    green = measure_spill(solid((0.4, 0.7, 0.4)), OPAQUE, HUE, "bt709")
    grey = measure_spill(solid((0.4, 0.4, 0.4)), OPAQUE, HUE, "bt709")
    assert judge_spill(green).verdict == "fails"
    assert judge_spill(grey).verdict == "holds"
