"""Stops of light, on signals coded by ITU-R BT.709-6 item 1.2."""

import numpy as np
import pytest
from signals.curves import relit

from keyer.measure.stops import FAINTEST, light_on, span_in_stops, stops_of


@pytest.mark.parametrize("matrix", ["bt601", "bt709"])
@pytest.mark.parametrize("colour", [(0.16, 0.68, 0.22), (0.13, 0.27, 0.72), (0.5, 0.5, 0.5)])
@pytest.mark.parametrize("stops", [-3.0, -1.0, -0.4, 0.0, 0.3])
def test_a_stop_is_twice_the_light_of_any_colour(colour, stops, matrix):
    lit = np.array([colour, relit(np.array(colour), stops)], np.float32).T
    first, second = stops_of(light_on(lit, matrix))
    # the signal's two parts miss each other by 0.00025 at 0.081: half a hundredth of a stop
    assert second - first == pytest.approx(stops, abs=0.006)


def test_one_stop_is_not_one_ratio_of_signals():
    """By hand, from ((V + 0.099) / 1.099)^(1 / 0.45): what 0.45 log2 of the signals leaves out."""
    low = np.array([[0.3, 0.3 * 2**0.45]] * 3, np.float32)
    high = np.array([[0.6, 0.6 * 2**0.45]] * 3, np.float32)
    by_hand = [np.log2((v * 2**0.45 + 0.099) / (v + 0.099)) / 0.45 for v in (0.3, 0.6)]
    assert by_hand == pytest.approx([0.779, 0.876], abs=1e-3)
    for signal, stops in zip((low, high), by_hand, strict=True):
        first, second = stops_of(light_on(signal, "bt709"))
        assert second - first == pytest.approx(stops, abs=1e-4)


def test_black_has_a_finite_depth():
    black = stops_of(light_on(np.array([[-1.0, 0.0, 1e-6]] * 3, np.float32), "bt709"))
    assert black == pytest.approx(np.log2(FAINTEST))
    assert span_in_stops(np.zeros(5, np.float32)) == 0.0


def test_single_pixels_do_not_make_a_span():
    light = np.full(1000, 0.5, np.float32)
    light[:5], light[5:10] = 0.01, 1.0
    assert span_in_stops(light) == 0.0
