"""Smooth noise that moves and comes back."""

import numpy as np
from hypothesis import given
from hypothesis import strategies as st
from wiping import noise_plane

from keyer.pixel.wipes.noise import lattice, noise_line


def twin(nodes, x, y):
    """Gradient noise as K. Perlin defines it, one place at a time."""
    column, row = int(x), int(y)
    u, v = x - column, y - row

    def fade(t):
        return t**3 * (t * (6 * t - 15) + 10)

    def slope(i, j):
        return nodes[row + j, column + i] @ (u - i, v - j)

    upper = slope(0, 0) + fade(u) * (slope(1, 0) - slope(0, 0))
    lower = slope(0, 1) + fade(u) * (slope(1, 1) - slope(0, 1))
    return upper + fade(v) * (lower - upper)


def test_noise_agrees_with_its_twin():
    nodes = lattice((0.0, 0.0), (6.0, 4.0), 9, 0.3)
    out = np.empty(50, np.float32)
    noise_line(nodes, np.float32(0.2), np.float32(1.7), np.float32(0.11), np.float32(0), out)
    expected = [twin(nodes.astype(float), 0.2 + 0.11 * i, 1.7) for i in range(50)]
    np.testing.assert_allclose(out, expected, atol=2e-6)


def test_noise_is_nothing_at_the_nodes_and_never_above_1():
    plane = noise_plane(60, 80, origin=(0.0, 0.0), step=(0.1, 0.1), seed=5)
    np.testing.assert_allclose(plane[::10, ::10], 0, atol=2e-5)
    assert np.abs(plane).max() <= 1.0
    assert np.abs(plane).max() > 0.5


@given(st.integers(0, 2**31 - 1), st.floats(-3, 3))
def test_a_whole_cycle_brings_the_noise_back(seed, phase):
    one, other = (lattice((0.0, 0.0), (5.0, 5.0), seed, phase + turn) for turn in (0, 1))
    np.testing.assert_allclose(one, other, atol=1e-5)


def test_the_lattice_does_not_depend_on_its_extent():
    large = lattice((-3.0, -2.0), (10.0, 8.0), 4, 0.0)
    small = lattice((-1.0, 0.0), (4.0, 3.0), 4, 0.0)
    np.testing.assert_array_equal(large[2 : 2 + small.shape[0], 2 : 2 + small.shape[1]], small)
