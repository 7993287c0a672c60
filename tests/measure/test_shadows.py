"""Shadows on a backing."""

import numpy as np
import pytest
from plates.portrait import HEIGHT, WIDTH, portrait
from plates.proof import KINDS, make
from signals.curves import relit

from keyer.measure.backing import survey_backing
from keyer.measure.shadows import Shadows, judge_shadows, measure_shadows


def shaded(stops, radius):
    """A plate with a round shadow on the backing, and how much loses over a third of a stop."""
    plate, matte, _ = portrait()
    rows, cols = np.mgrid[0:HEIGHT, 0:WIDTH]
    away = np.hypot(rows - 180, cols - 380) / radius
    missing = np.clip((1.15 - away) / 0.3, 0, 1) * stops
    seen = matte < 0.02
    plate = (plate + (1 - matte) * (relit(plate, -missing) - plate)).astype(np.float32)
    return plate, 100 * ((missing > 1 / 3) & seen).sum() / seen.sum()


@pytest.mark.parametrize("radius", [60, 120])
@pytest.mark.parametrize("stops", [0.6, 1.0, 1.7])
def test_depth_and_share_of_a_shadow(stops, radius):
    plate, share = shaded(stops, radius)
    found = measure_shadows(plate, survey_backing(plate, "bt709"), "bt709")
    assert found.depth_stops == pytest.approx(stops, abs=0.06)
    assert 0.55 * share < found.share_percent < 1.02 * share  # the steep rim is not sure backing
    assert judge_shadows(found).verdict == ("fails" if stops > 1.5 else "watch")


@pytest.mark.parametrize("kind", [k for k in KINDS if k.stops < 0.6], ids=lambda kind: kind.name)
def test_uneven_light_of_half_a_stop_is_no_shadow(kind):
    plate = make(kind).recorded
    found = measure_shadows(plate, survey_backing(plate, "bt709"), "bt709")
    assert found == Shadows(0.0, 0.0)
    assert judge_shadows(found).verdict == "holds"


def test_a_stop_of_uneven_light_is_hardly_taken_for_shadow():
    """A pool of light falls off in a cone, which no bow meets; 24 plates: 3.1 % and 0.56 stops."""
    for kind in (k for k in KINDS if k.stops == 1.0):
        for seed in (1, 2, 12):
            plate = make(kind, seed=seed).recorded
            found = measure_shadows(plate, survey_backing(plate, "bt709"), "bt709")
            assert found.share_percent < 4
            assert found.depth_stops < 0.6
