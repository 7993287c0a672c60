import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from support import TWIN, planes, reference, solid

from keyer.kinds.settings import KeySettings
from keyer.pixel.colour.luma_chroma import hue_axes, hue_of, rgb_to_ycc
from keyer.pixel.keys.fast import backing_level, clip_and_gain, key_matte, key_signal, take_subject
from keyer.pixel.keys.wedge import wedge_slope

COMPOSITING = reference("compositing")
GREEN = (0.1, 0.7, 0.15)


def _settings(**changes):
    values = {
        "hue_deg": hue_of(GREEN, "bt709"),
        "acceptance_deg": 120.0,
        "clip_percent": 5.0,
        "gain": 1.2,
        "spill_percent": 100.0,
        "backing": GREEN,
    }
    return KeySettings(**(values | changes))


def _signal(band, settings):
    out = np.empty(band.shape[1:], np.float32)
    key_signal(band, settings, "bt709", out)
    return out


@pytest.mark.parametrize("case", COMPOSITING["chroma_plane_example"], ids=lambda case: case["name"])
def test_wedge_of_the_chroma_plane(case):
    """compositing.toml [[chroma_plane_example]]: Kfg with A = 90 degrees."""
    full = (0.0, 1.0, 0.0)
    settings = _settings(
        hue_deg=case["theta_deg"], acceptance_deg=90.0, backing=full, clip_percent=0.0
    )
    level = backing_level(full, case["theta_deg"], 90.0, "bt709")
    signal = _signal(solid(tuple(case["rgb"])), settings)
    np.testing.assert_allclose((1 - signal) * level, case["Kfg"], atol=2e-6)


def test_signal_is_0_at_the_backing_and_1_outside_the_wedge():
    settings = _settings()
    assert _signal(solid(GREEN), settings)[0, 0] == pytest.approx(0.0, abs=TWIN)
    assert _signal(solid((0.8, 0.5, 0.4)), settings)[0, 0] == 1.0


@given(st.integers(0, 2**31), st.floats(10, 180))
def test_signal_twin(seed, acceptance):
    band, settings = planes(seed), _settings(acceptance_deg=acceptance)
    _, cb, cr = rgb_to_ycc(band.astype(np.float64), "bt709")
    hue = np.radians(settings.hue_deg)
    x = cb * np.cos(hue) + cr * np.sin(hue)
    z = cr * np.cos(hue) - cb * np.sin(hue)
    inside = np.maximum(x - np.abs(z) / np.tan(np.radians(acceptance) / 2), 0)
    expected = 1 - inside / backing_level(GREEN, settings.hue_deg, acceptance, "bt709")
    np.testing.assert_allclose(_signal(band, settings), expected, atol=5 * TWIN)


def test_clip_and_gain_example():
    """compositing.toml [keyer.clip_gain_example]."""
    case = COMPOSITING["keyer"]["clip_gain_example"]
    signal = np.array([case["s"]], np.float32)
    clip_and_gain(signal, 100 * case["clip"], case["gain"])
    np.testing.assert_allclose(signal[0], case["k"], atol=TWIN)


def test_matte_is_signal_clip_and_gain():
    band, settings = planes(11), _settings()
    expected = _signal(band, settings)
    clip_and_gain(expected, settings.clip_percent, settings.gain)
    matte = np.empty(band.shape[1:], np.float32)
    key_matte(band, settings, "bt709", matte)
    np.testing.assert_allclose(matte, expected, atol=TWIN)


def _matte(level: float):
    return np.full((7, 33), level, np.float32)


def test_lifting_the_backing_leaves_the_premultiplied_subject():
    """compositing.toml [keyer.suppression_example]."""
    case = COMPOSITING["keyer"]["suppression_example"]
    band = solid(tuple(case["Cf"]))
    matte = np.full(band.shape[1:], case["alpha"], np.float32)
    take_subject(band, matte, _settings(backing=tuple(case["Ck"]), spill_percent=0.0), "bt709")
    np.testing.assert_allclose(band[:, 0, 0], case["fill"], atol=TWIN)


def tint_of(band, hue_deg):
    """What lies within 60 degrees of a hue: X - |Z| / tan 60 of the turned chroma plane."""
    _, cb, cr = rgb_to_ycc(band.astype(np.float64), "bt709")
    hue = np.radians(hue_deg)
    x = cb * np.cos(hue) + cr * np.sin(hue)
    z = cr * np.cos(hue) - cb * np.sin(hue)
    return np.maximum(x - np.abs(z) / np.tan(np.radians(60)), 0)


def test_clear_pixels_are_exactly_0_and_solid_ones_untouched():
    settings = _settings(spill_percent=0.0)
    clear, whole = planes(3), planes(3) * np.float32(1.2)
    take_subject(clear, _matte(0.0), settings, "bt709")
    take_subject(whole, _matte(1.0), settings, "bt709")
    assert not clear.any()
    np.testing.assert_array_equal(whole, planes(3) * np.float32(1.2))


def test_taking_spill_keeps_luma_and_takes_all_of_it():
    band, settings = planes(9), _settings()
    take_subject(band, _matte(1.0), settings, "bt709")
    luma = rgb_to_ycc(planes(9), "bt709")[0]
    np.testing.assert_allclose(rgb_to_ycc(band, "bt709")[0], luma, atol=2e-6)
    assert tint_of(band, settings.hue_deg).max() < 2e-6


def test_colours_without_the_hue_are_left_alone():
    band = solid((0.8, 0.5, 0.4))
    take_subject(band, np.ones((4, 8), np.float32), _settings(), "bt709")
    np.testing.assert_array_equal(band, solid((0.8, 0.5, 0.4)))


@given(st.integers(0, 2**31), st.floats(0, 100))
def test_take_twin(seed, amount):
    band, matte = planes(seed), planes(seed + 1)[0]
    settings = _settings(spill_percent=amount)
    backing = np.array(GREEN)[:, None, None]
    fill = np.clip(band - (1.0 - matte) * backing, 0, matte)
    spill = tint_of(fill.astype(np.float32), settings.hue_deg)
    change = hue_axes(settings.hue_deg, "bt709").unit[:, None, None]
    take_subject(band, matte, settings, "bt709")
    np.testing.assert_allclose(band, fill - amount / 100 * spill * change, atol=3 * TWIN)


def test_half_plane_has_no_slope():
    assert wedge_slope(180.0) == pytest.approx(0.0, abs=1e-12)
    assert wedge_slope(90.0) == pytest.approx(1.0)
