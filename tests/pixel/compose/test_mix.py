import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from support import TWIN, planes, reference, solid

from keyer.pixel.compose.mix import mix_band, toward_colour

MIX = reference("compositing")["mix"]

TWINS = {
    "mix": lambda a, b, p: (1 - p) * a + p * b,
    "additive": lambda a, b, p: (1 - p) * a + p * b,
    "non-additive": lambda a, b, p: np.maximum((1 - p) * a, p * b),
}


@pytest.mark.parametrize("kind", ["mix", "additive"])
def test_worked_example_of_the_additive_mix(kind):
    """compositing.toml [mix.additive]."""
    case = MIX["additive"]
    a = solid((case["A"],) * 3)
    mix_band(a, solid((case["B"],) * 3), case["p"], kind)
    np.testing.assert_allclose(a, case["out"], atol=TWIN)


def test_the_brighter_picture_wins_a_non_additive_mix():
    """By hand from compositing.toml [mix.non_additive]: max(0.7 x 0.8, 0.3 x 0.9) = 0.56."""
    a = solid((0.8, 0.1, 0.0))
    mix_band(a, solid((0.9, 0.9, 0.0)), 0.3, "non-additive")
    np.testing.assert_allclose(a[:, 0, 0], [0.56, 0.27, 0.0], atol=TWIN)


@pytest.mark.parametrize("kind", TWINS)
@given(seed=st.integers(0, 2**31), progress=st.floats(0, 1, width=32))
def test_twin(kind, seed, progress):
    a, b = planes(seed), planes(seed + 1)
    expected = TWINS[kind](a, b, np.float32(progress))
    mix_band(a, b, progress, kind)
    np.testing.assert_allclose(a, expected, atol=TWIN)


@pytest.mark.parametrize("kind", TWINS)
def test_ends_are_the_sources_bit_for_bit(kind):
    a, b = planes(1), planes(2)
    start, end = a.copy(), a.copy()
    mix_band(start, b, 0.0, kind)
    mix_band(end, b, 1.0, kind)
    np.testing.assert_array_equal(start, a)
    np.testing.assert_array_equal(end, b)


def test_toward_colour():
    a = planes()
    expected = 0.25 * a + 0.75 * np.array([0.1, 0.5, 0.9], np.float32)[:, None, None]
    toward_colour(a, (0.1, 0.5, 0.9), 0.75)
    np.testing.assert_allclose(a, expected, atol=TWIN)
