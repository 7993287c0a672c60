"""The correction that gives one picture the black, white and chroma of another."""

import numpy as np
import pytest
from support import planes

from keyer.kinds.settings import Correction
from keyer.measure.tone import BALANCE, BLACK, GAIN, SATURATION, correction_to, measure_tone
from keyer.pixel.colour.correct import correct_band
from keyer.pixel.colour.luma_chroma import rgb_to_ycc_matrix
from keyer.pixel.compose.generate import bars, ramp

BARS = bars(448, 64, 75).planes
GREY = ramp(512, 64).planes


def _corrected(picture, correction, matrix="bt709"):
    found = np.ascontiguousarray(picture, np.float32).copy()
    correct_band(found, correction, matrix)
    return found


def _matched(own, other, matrix="bt709"):
    tones = measure_tone(other, matrix), measure_tone(own, matrix)
    chosen = correction_to(*tones, matrix)
    return _corrected(own, chosen, matrix), chosen


def test_a_grey_scale_is_measured_by_its_ends_and_its_middle():
    """By hand: of a straight ramp a hundredth lies below 0.01 and a hundredth above 0.99."""
    tone = measure_tone(GREY, "bt709")
    assert (tone.black, tone.white) == pytest.approx((0.01, 0.99), abs=2e-3)
    assert tone.mean == pytest.approx((0.5, 0.5, 0.5), abs=1e-3)
    assert tone.spread == pytest.approx(0, abs=1e-6)


@pytest.mark.parametrize("matrix", ["bt601", "bt709"])
def test_bars_are_measured_by_hand(matrix):
    """75 % bars: white, yellow, cyan, green, magenta, red, blue and, if any, black, alike wide."""
    tone = measure_tone(BARS, matrix)
    colours = np.unique(BARS[:, 0, :].T.round(6), axis=0)
    shares = [np.mean(np.all(np.isclose(BARS[:, 0, :].T, c), axis=1)) for c in colours]
    ycc = colours @ rgb_to_ycc_matrix(matrix).T
    assert (tone.black, tone.white) == pytest.approx((ycc[:, 0].min(), ycc[:, 0].max()), abs=1e-6)
    chroma = ycc[:, 1:]
    middle = np.average(chroma, axis=0, weights=shares)
    spread = np.sqrt(np.average(np.sum((chroma - middle) ** 2, axis=1), weights=shares))
    assert tone.spread == pytest.approx(spread, abs=1e-6)


@pytest.mark.parametrize(
    "spoilt",
    [
        Correction(black_percent=8, gain_percent=85),
        Correction(balance=(105, 100, 92)),
        Correction(black_percent=-4, gain_percent=110, balance=(96, 101, 103)),
    ],
)
def test_a_grey_scale_that_was_spoilt_is_made_good(spoilt):
    """Black, white and balance come back to within a tenth of a percent or two, as settings do."""
    own = _corrected(GREY, spoilt)
    found, chosen = _matched(own, GREY)
    np.testing.assert_allclose(found, GREY, atol=0.004)
    assert chosen.saturation_percent == pytest.approx(100, abs=0.1)


def test_the_settings_on_a_grey_scale_are_those_worked_out_by_hand():
    """Black 8 % and white 85 %: x = 0.08 + 0.77 y, so y = -0.1039 + 1.2987 x."""
    _, chosen = _matched(_corrected(GREY, Correction(black_percent=8, gain_percent=85)), GREY)
    assert chosen.black_percent == pytest.approx(-10.4, abs=0.1)
    assert chosen.gain_percent == pytest.approx(119.5, abs=0.1)
    assert chosen.balance == pytest.approx((100, 100, 100), abs=0.1)


@pytest.mark.parametrize(
    "spoilt",
    [
        Correction(saturation_percent=80),
        Correction(black_percent=5, gain_percent=90, saturation_percent=125),
    ],
)
@pytest.mark.parametrize("matrix", ["bt601", "bt709"])
def test_bars_that_were_spoilt_are_made_good(spoilt, matrix):
    found, chosen = _matched(_corrected(BARS, spoilt, matrix), BARS, matrix)
    np.testing.assert_allclose(found, BARS, atol=0.004)
    assert chosen.saturation_percent == pytest.approx(1e4 / spoilt.saturation_percent, abs=0.2)


@pytest.mark.parametrize("seed", range(6))
def test_black_white_and_mean_chroma_come_to_be_those_of_the_other(seed):
    random = np.random.default_rng(seed)
    tint = random.uniform(0.9, 1.1, (3, 1, 1)).astype(np.float32)
    own = planes(seed, 40, 64) * 0.7 + 0.1
    other = (planes(seed + 50, 40, 64) * 0.8 + 0.05) * tint
    found, _ = _matched(own, other)
    now, wanted = measure_tone(found, "bt709"), measure_tone(other, "bt709")
    for one, another in ((now.black, wanted.black), (now.white, wanted.white)):
        assert one == pytest.approx(another, abs=0.03)  # the balance moves them a little
    chroma = [rgb_to_ycc_matrix("bt709")[1:] @ tone.mean for tone in (now, wanted)]
    np.testing.assert_allclose(*chroma, atol=0.003)


def test_what_is_flat_or_grey_is_left_alone():
    flat, grey = np.full((3, 20, 20), 0.4, np.float32), GREY[:, :20]
    assert _matched(flat, flat)[1] == Correction()
    assert _matched(flat, GREY)[1].gain_percent == 100
    assert _matched(BARS, grey)[1].saturation_percent == 100


def test_a_correction_has_limits():
    dark = GREY * np.float32(0.1) + np.float32(0.6)
    _, chosen = _matched(dark, GREY)
    assert chosen.black_percent == BLACK[0]
    assert GAIN[0] <= chosen.gain_percent <= GAIN[1]
    pale = _corrected(BARS, Correction(saturation_percent=20))
    assert _matched(pale, BARS)[1].saturation_percent == SATURATION[1]
    blue = GREY * np.array([[[1]], [[1]], [[0.3]]], np.float32)
    assert _matched(blue, GREY)[1].balance[2] == BALANCE[1]


def test_only_what_is_asked_for_is_looked_at():
    picture = np.concatenate([GREY, np.zeros_like(GREY) + 5], axis=2)
    where = np.zeros(picture.shape[1:], bool)
    where[:, :512] = True
    assert measure_tone(picture, "bt709", where) == measure_tone(GREY, "bt709")
    assert measure_tone(picture, "bt709", np.zeros_like(where)) is None
