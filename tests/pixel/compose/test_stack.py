"""Kernels that lay colours on each other, against plain numpy."""

import numpy as np
from support import TWIN

from keyer.pixel.compose.stack import colour_clear, lay_flat, lay_ramp, straighten_stack

NEAR, FAR = np.float32([0.9, 0.1, 0.4]), np.float32([0.0, 1.0, 0.2])


def start(seed=1):
    """Premultiplied planes and alpha, as after some layers."""
    generator = np.random.default_rng(seed)
    alpha = generator.random((9, 14), dtype=np.float32)
    planes = generator.random((3, 9, 14), dtype=np.float32) * alpha
    cover, along = generator.random((2, 4, 6), dtype=np.float32)
    return planes, alpha, cover, along


def twin(planes, alpha, cover, colour, opacity, x0, y0):
    """The same in numpy: co' = co (1 - w) + w c, ao' = ao (1 - w) + w."""
    planes, alpha = planes.copy(), alpha.copy()
    here = (slice(y0, y0 + 4), slice(x0, x0 + 6))
    weight = cover * np.float32(opacity)
    alpha[here] = alpha[here] * (1 - weight) + weight
    planes[:, *here] = planes[:, *here] * (1 - weight) + weight * colour
    return planes, alpha


def test_flat_colour():
    planes, alpha, cover, _ = start()
    expected = twin(planes, alpha, cover, NEAR[:, None, None], 0.7, 3, 2)
    lay_flat(planes, alpha, cover, NEAR, np.float32(0.7), 3, 2)
    assert np.allclose(planes, expected[0], atol=TWIN)
    assert np.allclose(alpha, expected[1], atol=TWIN)


def test_ramp():
    planes, alpha, cover, along = start(2)
    colour = NEAR[:, None, None] + along * (FAR - NEAR)[:, None, None]
    expected = twin(planes, alpha, cover, colour, 0.6, 8, 5)
    lay_ramp(planes, alpha, cover, along, NEAR, FAR, np.float32(0.6), 8, 5)
    assert np.allclose(planes, expected[0], atol=TWIN)
    assert np.allclose(alpha, expected[1], atol=TWIN)


def test_straightened():
    planes, alpha, *_ = start(3)
    alpha[2] = 0
    expected = np.where(alpha > 1e-6, planes / np.maximum(alpha, 1e-6), 0)
    straighten_stack(planes, alpha)
    assert np.allclose(planes, expected, rtol=1e-6, atol=TWIN)


def test_clear_pixels_of_a_rectangle_take_a_colour():
    planes, alpha, *_ = start(4)
    alpha[2:4] = 0
    before = planes.copy()
    colour_clear(planes, alpha, NEAR, 3, 5, 1, 2)
    assert np.allclose(planes[:, 2:4, 1:6], NEAR[:, None, None])
    planes[:, 2:4, 1:6] = before[:, 2:4, 1:6]
    assert np.array_equal(planes, before)
