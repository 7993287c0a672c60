import cv2
import numpy as np
import pytest

import keyer
from keyer.errors import FrameShapeError, NoBackingError, SettingError

RNG = np.random.default_rng(12)
A, B = RNG.integers(0, 256, (2, 54, 96, 3), dtype=np.uint8)


def test_mix_agrees_with_opencv_within_rounding():
    expected = cv2.addWeighted(A, 0.75, B, 0.25, 0)
    assert np.abs(keyer.mix(A, B, 0.25).astype(int) - expected).max() <= 1


@pytest.mark.parametrize("depth", [np.uint8, np.uint16, np.float32])
def test_depth_is_kept_and_inputs_are_not_touched(depth):
    a, b = A.astype(depth), B.astype(depth)
    before = a.copy()
    result = keyer.mix(a, b, 0.5)
    assert result.dtype == depth
    assert result.shape == a.shape
    np.testing.assert_array_equal(a, before)


def test_wipe_halfway_shows_both():
    result = keyer.wipe(A, B, 0.5, "barWipe/leftToRight")
    np.testing.assert_array_equal(result[:, :47], B[:, :47])
    np.testing.assert_array_equal(result[:, 49:], A[:, 49:])


def test_wipe_takes_modifiers():
    result = keyer.wipe(A, B, 0.5, 1, modifiers=keyer.Modifiers(reverse=True))
    np.testing.assert_array_equal(result[:, :47], A[:, :47])
    np.testing.assert_array_equal(result[:, 49:], B[:, 49:])


def _plate():
    plate = np.empty((54, 96, 3), np.uint8)
    plate[:] = (40, 170, 60)
    plate[14:, 30:66] = RNG.integers((120, 60, 50), (220, 120, 90), (40, 36, 3))
    return plate


def test_chroma_key_sets_itself():
    plate = _plate()
    result = keyer.chroma_key(plate, B)
    np.testing.assert_array_equal(result[:10], B[:10])
    np.testing.assert_array_equal(result[20:, 36:60], plate[20:, 36:60])


def test_backing_is_surveyed():
    """By hand (BT.709): Y' 0.527, Cb -0.158, Cr -0.235, so 180 + atan(0.235 / 0.158)."""
    backing = keyer.survey_backing(_plate())
    assert backing.hue_deg == pytest.approx(236.2, abs=0.2)
    with pytest.raises(NoBackingError):
        keyer.survey_backing(np.full((54, 96, 3), 128, np.uint8))


def test_matte_and_spill_measures_take_arrays():
    matte = np.zeros((54, 96), np.uint8)
    matte[14:, 30:66] = 255
    coverage = keyer.measure_matte(matte)
    assert coverage.solid_percent == pytest.approx(100 * 40 * 36 / (54 * 96))
    spill = keyer.measure_spill(_plate(), 255 - matte, 231.0)
    # the plate's green (40, 170, 60) lies 110 codes above its blue
    assert spill.mean_percent == pytest.approx(100 * 110 / 255, abs=1e-3)


@pytest.mark.parametrize(
    "call",
    [
        lambda: keyer.mix(A, B[:50], 0.5),
        lambda: keyer.mix(A.astype(np.int64), B, 0.5),
        lambda: keyer.mix(A[..., :2], B, 0.5),
        lambda: keyer.mix(np.full((4, 4, 3), np.nan, np.float32), np.zeros((4, 4, 3), "f4"), 0.5),
        lambda: keyer.measure_spill(A, np.zeros((3, 3), np.uint8), 230),
    ],
    ids=["size", "depth", "channels", "nan", "matte"],
)
def test_wrong_arrays_are_refused(call):
    with pytest.raises(FrameShapeError):
        call()


@pytest.mark.parametrize(
    "call",
    [
        lambda: keyer.mix(A, B, float("nan")),
        lambda: keyer.mix(A, B, 0.5, kind="sideways"),
        lambda: keyer.mix(A, B, 0.5, light="dim"),
        lambda: keyer.wipe(A, B, 0.5, "nothing"),
        lambda: keyer.wipe(A, B, 0.5, soft=float("inf")),
    ],
    ids=["at", "kind", "light", "pattern", "soft"],
)
def test_wrong_settings_are_refused(call):
    with pytest.raises(SettingError):
        call()


def test_unknown_names_are_missed_as_usual():
    with pytest.raises(AttributeError, match="nothing"):
        _ = keyer.nothing
    assert "mix" in dir(keyer)
