"""HLG, PQ and BT.2020 in standard range: values of the Recommendations, and colour-science."""

import warnings

import numpy as np
import pytest

from keyer.pixel.colour import hdr

with warnings.catch_warnings():
    warnings.simplefilter("ignore")
    import colour


def grey(value):
    return np.full((3, 1, 1), value, np.float32)


def test_hlg_is_that_of_an_independent_library():
    signal = np.random.default_rng(1).random((3, 40, 5), np.float32)
    theirs = colour.models.eotf_BT2100_HLG(np.moveaxis(signal, 0, -1), L_B=0, L_W=1000)
    np.testing.assert_allclose(np.moveaxis(hdr.hlg_light(signal), 0, -1), theirs, rtol=3e-4)


def test_pq_is_that_of_an_independent_library():
    signal = np.linspace(0.02, 1, 500, dtype=np.float32)
    np.testing.assert_allclose(
        hdr.pq_light(signal), colour.models.eotf_BT2100_PQ(signal), rtol=3e-4
    )


# Report BT.2408, table 1: nominal signals of reflectances on a screen of 1000 cd/m2 (HLG %, PQ %)
@pytest.mark.parametrize(("light", "hlg", "pq"), [(203, 0.75, 0.58), (26, 0.38, 0.38)])
def test_reference_levels_of_bt2408(light, hlg, pq):
    # the table has whole percents: half a percent of HLG is 4 % of light at white, 3 % below
    assert hdr.hlg_light(grey(hlg)).item(0) == pytest.approx(light, rel=0.04)
    assert hdr.pq_light(grey(pq)).item(0) == pytest.approx(light, rel=0.06)


def test_peak_of_hlg_is_the_screens():
    assert hdr.hlg_light(grey(1.0)).item(0) == pytest.approx(1000, rel=1e-4)


def test_the_parts_of_the_tone_curve_meet():
    knee = np.float32(58.5 / 0.83802)
    below, above = hdr.tone_map(np.array([knee * 0.99999, knee * 1.00001], np.float32))
    # the constants have five digits, so they meet to a thousandth
    assert above == pytest.approx(below, rel=1e-3)


def test_the_tone_curve_keeps_its_order_and_ends_below_super_white():
    light = np.linspace(0, 1000, 4000, dtype=np.float32)
    assert (np.diff(hdr.tone_map(light)) > -0.05).all()
    # by hand: 15.09968 ln(1000 / 69.807 - 0.74204) + 78.99439 = 118.4 cd/m2, 107.3 % of signal
    assert hdr.tone_map(light)[-1] == pytest.approx(118.4, abs=0.1)
    assert hdr.to_standard(grey(1.0), "hlg", wide=True).max() == pytest.approx(1.073, abs=0.002)


def test_reference_white_comes_near_white():
    # by hand: 203 / 69.807 - 0.74204 = 2.1660; 15.09968 ln of it + 78.99439 = 90.67 cd/m2
    white = hdr.to_standard(grey(0.58069), "pq", wide=True)  # 203 cd/m2
    assert white == pytest.approx((90.67 / 100) ** (1 / 2.4), abs=2e-3)


@pytest.mark.parametrize("transfer", ["hlg", "pq", "sdr"])
def test_greys_stay_grey(transfer):
    ramp = np.tile(np.linspace(0, 1, 50, dtype=np.float32), (3, 1, 1))
    out = hdr.to_standard(ramp, transfer, wide=True)
    assert np.ptp(out, axis=0).max() < 2e-4
    assert (np.diff(out[0, 0]) >= -1e-3).all()


def test_colours_go_from_bt2020_to_bt709_as_an_independent_library_takes_them():
    theirs = colour.matrix_RGB_to_RGB(
        colour.RGB_COLOURSPACES["ITU-R BT.2020"],
        colour.RGB_COLOURSPACES["ITU-R BT.709"],
        chromatic_adaptation_transform=None,
    )
    np.testing.assert_allclose(hdr.TO_709, theirs, atol=1e-4)


def test_standard_range_in_bt709_stays_as_it_is():
    planes = np.random.default_rng(2).random((3, 9, 7), np.float32)
    np.testing.assert_allclose(hdr.to_standard(planes, "sdr", wide=False), planes, atol=1e-6)


def test_what_lies_beyond_bt709_is_cut_off():
    green = np.array([0, 0.8, 0], np.float32)[:, None, None]
    out = hdr.to_standard(green, "sdr", wide=True)
    assert out[0].item() == 0
    assert out[2].item() == 0
    assert out[1].item() > 0.8


def test_the_matrix_of_bt2020():
    # BT.2020-2 table 4: R' = Y' + 1.4746 Cr, B' = Y' + 1.8814 Cb
    y, cb, cr = 0.5, 0.1, -0.2
    as_709 = np.array([y + 1.5748 * cr, 0, y + 1.8556 * cb])
    as_709[1] = (y - 0.2126 * as_709[0] - 0.0722 * as_709[2]) / 0.7152
    red, green, blue = hdr.matrix_of_2020(as_709.astype(np.float32))
    assert red == pytest.approx(y + 1.4746 * cr, abs=1e-5)
    assert blue == pytest.approx(y + 1.8814 * cb, abs=1e-5)
    assert 0.2627 * red + 0.6780 * green + 0.0593 * blue == pytest.approx(y, abs=1e-5)
