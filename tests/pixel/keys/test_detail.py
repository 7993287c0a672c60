"""Edges that luma holds where chroma was recorded with fewer samples."""

import cv2
import numpy as np
import pytest
from plates import errors, shapes
from support import TWIN

from keyer.pixel.colour.sampling import Sampling
from keyer.pixel.keys.detail import ROUNDS, WINDOW, sharpen_by_luma


def test_a_blurred_matte_gets_the_edges_of_luma_back():
    rng = np.random.default_rng(6)
    canvas = shapes.body(180, 240, rng)
    shapes.add_strands(canvas, 80, (0.5, 1.2), rng)
    matte = shapes.coverage(canvas, 180, 240)
    luma = 0.55 + matte * (0.2 - 0.55)
    sampling = Sampling(2, 2)
    blurred = sampling.blur(matte)
    sharp = sharpen_by_luma(blurred, luma, sampling, matte == 1, 0.004)
    assert errors.mse(sharp, matte) < 0.1 * errors.mse(blurred, matte)


def test_luma_without_detail_leaves_the_matte():
    matte = np.linspace(0, 1, 60, dtype=np.float32)[None].repeat(40, 0)
    luma = np.full_like(matte, 0.4)
    sampling = Sampling(2, 2)
    sharp = sharpen_by_luma(matte, luma, sampling, np.zeros((40, 60), bool), 0.004)
    assert np.abs(sharp - matte)[:, 4:-4].max() < 0.02


def test_twin():
    rng = np.random.default_rng(7)
    matte, luma = rng.random((2, 24, 30), dtype=np.float32)
    solid = rng.random((24, 30)) < 0.2
    sampling = Sampling(2, 2)
    weight = 1 - cv2.erode(solid.view(np.uint8), np.ones((3, 3), np.uint8)).astype(np.float32)

    def mean(plane):
        return cv2.boxFilter(plane, -1, (WINDOW, WINDOW))

    blurred, share = sampling.blur(luma), mean(weight) + 1e-3
    level, cover = mean(weight * blurred) / share, mean(weight * matte) / share
    both = mean(weight * blurred * matte) / share - level * cover
    slope = both / (mean(weight * blurred**2) / share - level**2 + 1e-4 + 0.01**2)
    slope = mean((weight * slope).astype(np.float32)) / share
    expected = np.where(solid, 1, np.clip(matte + slope * (luma - blurred), 0, 1))
    for _ in range(ROUNDS):
        lost = matte - sampling.blur(expected.astype(np.float32))
        expected = np.where(solid, 1, np.clip(expected + lost, 0, 1))
    found = sharpen_by_luma(matte, luma, sampling, solid, 0.01)
    # Slopes near flat luma are large numbers, so rounding shows.
    assert np.abs(found - expected).max() < 100 * TWIN


@pytest.mark.parametrize("size", [(1, 1), (1, 7), (5, 5), (9, 3)])
def test_odd_and_small_sizes(size):
    plane = np.ones(size, np.float32)
    assert np.allclose(Sampling(2, 2).blur(plane), 1)
    assert sharpen_by_luma(plane, plane, Sampling(2, 2), plane > 2, 0.01).shape == size
