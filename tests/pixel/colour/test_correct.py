"""Corrections, measured on a grey scale and on colour bars."""

import numpy as np
import pytest

from keyer.kinds.settings import Correction
from keyer.pixel.colour.correct import correct_band
from keyer.pixel.colour.luma_chroma import rgb_to_ycc_matrix
from keyer.pixel.compose.generate import bars, ramp

GREYS = np.linspace(0, 1, 11, dtype=np.float32)


def scale(**settings):
    """The grey scale of eleven steps, corrected; R', G' and B'."""
    band = np.ascontiguousarray(np.broadcast_to(GREYS, (3, 1, 11)), np.float32)
    correct_band(band, Correction(**settings), "bt709")
    return band[:, 0]


def test_nothing_is_changed_by_nothing():
    np.testing.assert_array_equal(scale(), np.broadcast_to(GREYS, (3, 11)))


def test_black_level_lifts_black_and_leaves_white():
    """By hand: 10 % at black, white as it was, straight between."""
    np.testing.assert_allclose(scale(black_percent=10)[0], 0.1 + 0.9 * GREYS, atol=1e-6)


def test_gain_leaves_black():
    np.testing.assert_allclose(scale(gain_percent=150)[1], 1.5 * GREYS, atol=1e-6)


@pytest.mark.parametrize("gamma", [0.5, 1.8])
def test_gamma_leaves_both(gamma):
    np.testing.assert_allclose(scale(gamma=gamma)[2], GREYS ** (1 / gamma), atol=1e-5)


def test_balance_is_a_gain_of_each():
    found = scale(balance=(110.0, 100.0, 80.0))
    for channel, gain in zip(found, (1.1, 1.0, 0.8), strict=True):
        np.testing.assert_allclose(channel, gain * GREYS, atol=1e-6)


def test_they_go_in_their_order():
    """By hand: (0.05 + (0.9 - 0.05) x) to the power 1/2."""
    found = scale(black_percent=5, gain_percent=90, gamma=2.0)[0]
    np.testing.assert_allclose(found, np.sqrt(0.05 + 0.85 * GREYS), atol=1e-5)


@pytest.mark.parametrize("matrix", ["bt601", "bt709"])
@pytest.mark.parametrize(("saturation", "hue"), [(50, 0), (0, 0), (130, 0), (100, 30), (80, -90)])
def test_chroma_of_the_bars_is_scaled_and_turned_and_luma_stays(matrix, saturation, hue):
    band = bars(80, 4, 75).planes.copy()
    to_ycc = rgb_to_ycc_matrix(matrix)
    before = np.tensordot(to_ycc, band[:, 0].astype(float), 1)
    correct_band(band, Correction(saturation_percent=saturation, hue_deg=hue), matrix)
    after = np.tensordot(to_ycc, band[:, 0].astype(float), 1)
    np.testing.assert_allclose(after[0], before[0], atol=1e-5)
    turned = (before[1] + 1j * before[2]) * saturation / 100 * np.exp(1j * np.deg2rad(hue))
    np.testing.assert_allclose(after[1] + 1j * after[2], turned, atol=1e-5)


def test_a_grey_ramp_stays_grey_whatever_is_done_to_chroma():
    band = ramp(64, 2).planes.copy()
    before = band.copy()
    correct_band(band, Correction(saturation_percent=300, hue_deg=77), "bt709")
    np.testing.assert_allclose(band, before, atol=1e-6)
