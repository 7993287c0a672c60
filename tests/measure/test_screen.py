"""Luminance on a television screen, ITU-R BT.1886 with black at nothing."""

import numpy as np
import pytest
from measured import fine_light
from signals.curves import bt1886_light
from support import TWIN, planes

from keyer.measure.cells import light_of, make_grid
from keyer.measure.screen import screen_light


def shown(colour):
    light = light_of(np.array(colour, float) / 255).astype(np.float32).reshape(3, 1, 1)
    return float(screen_light(light)[0, 0])


@pytest.mark.parametrize("code", [0, 1, 5, 16, 40, 88, 128, 200, 231, 232, 254, 255])
def test_greys(code):
    assert shown((code,) * 3) == pytest.approx(float(bt1886_light(code / 255)), abs=2e-6)


def test_a_code_of_232_lies_below_160_candelas():
    """By hand: (232 / 255)^2.4 x 200 cd/m2 = 159.4; by the curve of sRGB it were 161.4."""
    assert 200 * shown((232, 232, 232)) == pytest.approx(159.4, abs=0.05)
    assert 200 * float(light_of(np.array(232 / 255))) == pytest.approx(161.4, abs=0.05)


def test_colours_are_weighed_as_bt709_does():
    rng = np.random.default_rng(1)
    for colour in rng.integers(0, 256, (50, 3)):
        expected = np.dot([0.2126, 0.7152, 0.0722], bt1886_light(colour / 255))
        assert shown(colour) == pytest.approx(expected, abs=3e-6)


def test_cells_of_one_colour_are_exact_and_mixed_ones_near():
    """Half black, half white: 0.48 for 0.5."""
    assert shown((188, 188, 188)) == pytest.approx(0.481, abs=1e-3)
    picture = planes(2, 54, 96)
    grid = make_grid(32, 18)
    light = fine_light(np.repeat(np.repeat(picture[:, :18, :32], 3, 1), 3, 2), make_grid(96, 54))
    assert light.shape == (3, 54, 96)
    expected = np.tensordot([0.2126, 0.7152, 0.0722], bt1886_light(picture[:, :18, :32]), 1)
    found = screen_light(light)[1::3, 1::3]
    np.testing.assert_allclose(found, expected, atol=5 * TWIN)
    assert grid.columns > 0
