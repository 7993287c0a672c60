"""Light and coded values, and which of the two were mixed."""

import numpy as np
import pytest

from keyer.pixel.colour.transfer import decode_signal, encode_light
from keyer.pixel.keys.edge_light import DOUBT, code_of, light_of, mixed_in_light

SIZE = 60, 80
GREEN, SKIN, RED = (0.13, 0.62, 0.25), (0.75, 0.5, 0.4), (0.8, 0.15, 0.1)


def flat(colour):
    planes = np.empty((3, *SIZE), np.float32)
    planes[:] = np.array(colour, np.float32)[:, None, None]
    return planes


@pytest.mark.parametrize(("ours", "exact"), [(light_of, decode_signal), (code_of, encode_light)])
def test_both_ways_are_those_of_the_recommendation(ours, exact):
    values = np.linspace(0, 1.1, 300, dtype=np.float32).reshape(3, 10, 10)
    np.testing.assert_allclose(ours(values), exact(values), atol=2e-6)


def test_there_and_back():
    values = np.linspace(0, 1, 300, dtype=np.float32).reshape(3, 10, 10)
    np.testing.assert_allclose(code_of(light_of(values)), values, atol=3e-4)  # the printed knee


@pytest.mark.parametrize("subject", [SKIN, RED])
@pytest.mark.parametrize("light", [True, False])
def test_how_an_edge_was_mixed_is_told(subject, light):
    cover = np.tile(np.linspace(0, 1, SIZE[1], dtype=np.float32), (SIZE[0], 1))
    own, behind = flat(subject), flat(GREEN)
    if light:
        mixed = code_of(cover * light_of(own) + (1 - cover) * light_of(behind))
    else:
        mixed = cover * own + (1 - cover) * behind
    grain = np.random.default_rng(3).normal(0, 0.006, mixed.shape)
    seen = (mixed + grain).astype(np.float32)
    told = mixed_in_light(seen, own, behind, np.ones(SIZE, bool), 0.006)
    assert (told > DOUBT) == light
    assert abs(told) > 0.2


def test_nothing_is_told_by_nothing():
    own = flat(SKIN)
    assert mixed_in_light(own, own, own, np.ones(SIZE, bool), 0.01) == 0.0
    assert mixed_in_light(own, own, flat(GREEN), np.zeros(SIZE, bool), 0.01) == 0.0
