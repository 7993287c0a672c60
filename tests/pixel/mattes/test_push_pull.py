"""Colour carried from where it is known to everywhere else."""

import numpy as np
import pytest

from keyer.pixel.mattes.push_pull import push_pull


def test_what_is_certain_stays():
    rng = np.random.default_rng(1)
    planes = rng.random((3, 40, 56), dtype=np.float32)
    weight = (rng.random((40, 56)) < 0.3).astype(np.float32)
    filled = push_pull(planes, weight)
    known = weight == 1
    assert np.allclose(filled[:, known], planes[:, known], atol=1e-5)


def test_one_colour_is_carried_everywhere():
    planes = np.zeros((3, 33, 47), np.float32)
    planes[:, 5, 7] = (0.2, 0.5, 0.8)
    weight = np.zeros((33, 47), np.float32)
    weight[5, 7] = 1
    filled = push_pull(planes, weight)
    assert np.allclose(filled, np.array([0.2, 0.5, 0.8])[:, None, None], atol=1e-4)


def test_the_nearer_colour_wins_and_nothing_overshoots():
    planes = np.zeros((1, 40, 120), np.float32)
    planes[:, :, 100:] = 1
    weight = np.zeros((40, 120), np.float32)
    weight[:, :20] = 1
    weight[:, 100:] = 1
    filled = push_pull(planes, weight)[0]
    assert filled.min() >= -1e-6
    assert filled.max() <= 1 + 1e-6
    assert filled[20, 25] < 0.2
    assert filled[20, 95] > 0.8


def test_nothing_known_gives_nothing():
    assert not push_pull(np.ones((2, 9, 9), np.float32), np.zeros((9, 9), np.float32)).any()


@pytest.mark.parametrize("size", [(1, 1), (1, 9), (9, 1), (2, 2), (3, 5)])
def test_small_planes(size):
    assert push_pull(np.ones((3, *size), np.float32), np.ones(size, np.float32)).shape == (3, *size)
