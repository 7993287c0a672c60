"""Shadows on a backing."""

import math

import numpy as np
import pytest
from plates.portrait import HEIGHT, WIDTH, portrait
from plates.proof import KINDS, make

from keyer.measure.backing import survey_backing
from keyer.measure.shadows import Shadows, judge_shadows, measure_shadows


def shaded(dark, radius):
    """A plate with a round shadow on the backing, and how much loses over a third of a stop."""
    plate, matte, _ = portrait()
    rows, cols = np.mgrid[0:HEIGHT, 0:WIDTH]
    away = np.hypot(rows - 180, cols - 380) / radius
    taken = np.clip((1.15 - away) / 0.3, 0, 1) * dark
    seen = matte < 0.02
    stops = -np.log2(1 - taken) / 0.45  # a stop is 2**0.45 of the coded value: BT.709-6 item 1.2
    plate = (plate * (1 - taken * (1 - matte))).astype(np.float32)
    return plate, 100 * ((stops > 1 / 3) & seen).sum() / seen.sum()


@pytest.mark.parametrize("radius", [60, 120])
@pytest.mark.parametrize("dark", [0.2, 0.4])
def test_depth_and_share_of_a_shadow(dark, radius):
    plate, share = shaded(dark, radius)
    found = measure_shadows(plate, survey_backing(plate, "bt709"), "bt709")
    assert found.depth_stops == pytest.approx(-math.log2(1 - dark) / 0.45, abs=0.06)
    assert 0.55 * share < found.share_percent < 1.02 * share  # the steep rim is not sure backing
    assert judge_shadows(found).verdict == ("watch" if dark == 0.2 else "fails")


@pytest.mark.parametrize("kind", [k for k in KINDS if k.stops < 0.6], ids=lambda kind: kind.name)
def test_uneven_light_of_half_a_stop_is_no_shadow(kind):
    plate = make(kind).recorded
    found = measure_shadows(plate, survey_backing(plate, "bt709"), "bt709")
    assert found == Shadows(0.0, 0.0)
    assert judge_shadows(found).verdict == "holds"


def test_a_stop_of_uneven_light_is_hardly_taken_for_shadow():
    for kind in (k for k in KINDS if k.stops == 1.0):
        for seed in (1, 2):
            plate = make(kind, seed=seed).recorded
            found = measure_shadows(plate, survey_backing(plate, "bt709"), "bt709")
            assert found.share_percent < 4
            assert judge_shadows(found).verdict == "holds"
