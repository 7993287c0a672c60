"""The light on a backing, point by point."""

import numpy as np
import pytest
from plates import making
from plates.proof import GREEN, KINDS, make
from signals.curves import relit

from keyer.measure.backing import survey_backing
from keyer.measure.evenness import measure_evenness


def mapped(planes):
    return measure_evenness(planes, survey_backing(planes, "bt709"), "bt709")


def test_a_slope_of_a_stop_is_mapped_from_minus_to_plus_half():
    slope = np.linspace(-0.5, 0.5, 320, dtype=np.float32)
    found = mapped(relit(making.flat(GREEN, 180, 320), slope).astype(np.float32))
    middle = found.stops[found.stops.shape[0] // 2]
    expected = np.linspace(-0.5, 0.5, middle.size)
    assert np.nanmax(np.abs(middle - expected)) < 0.02
    # a sixth of a stop to either side of the middle is even: a third of the picture
    assert found.brighter_percent == pytest.approx(100 / 3, abs=1.5)
    assert found.darker_percent == pytest.approx(100 / 3, abs=1.5)


def test_an_even_backing_is_even():
    found = mapped(making.flat(GREEN, 180, 320))
    assert np.nanmax(np.abs(found.stops)) < 1e-3
    assert found.brighter_percent == found.darker_percent == 0


def test_the_subject_is_left_out():
    plate = make(KINDS[0])
    found = mapped(plate.recorded)
    true = plate.matte[:: found.step, :: found.step][: found.stops.shape[0], : found.stops.shape[1]]
    assert np.isnan(found.stops[true > 0.9]).mean() > 0.99
    assert np.isfinite(found.stops[true == 0]).mean() > 0.9
