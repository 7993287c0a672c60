import numpy as np
import pytest

from keyer.kinds.settings import KeySettings
from keyer.pixel.colour import hue_of
from keyer.pixel.key import key_matte, take_subject
from keyer.pixel.over import over_band, scale_band
from keyer.pixel.playback import STRETCH, key_over_codes

GREEN = (0.1, 0.7, 0.15)


def _codes(seed, rows, columns):
    return np.random.default_rng(seed).integers(0, 256, (3, rows, columns), dtype=np.uint8)


@pytest.mark.parametrize("size", [(1, 1), (3, 5), (7, STRETCH - 1), (4, STRETCH + 3)])
@pytest.mark.parametrize("opacity", [1.0, 0.37, 0.0])
def test_one_pass_is_the_steps_one_after_the_other(size, opacity):
    """Within one code where a value lies on the border between two; elsewhere the same."""
    recorded, under = _codes(1, *size), _codes(2, *size)
    settings = KeySettings(hue_of(GREEN, "bt709"), 110.0, 5.0, 1.3, 80.0, GREEN)
    out = np.empty_like(recorded)
    key_over_codes(recorded, under, settings, "bt709", opacity, 0, size[0], out)

    fill = recorded.astype(np.float32) / np.float32(255)
    matte = np.empty(size, np.float32)
    key_matte(fill, settings, "bt709", matte)
    take_subject(fill, matte, settings, "bt709")
    scale_band(fill, opacity)
    scale_band(matte[np.newaxis], opacity)
    over_band(fill, matte, under.astype(np.float32) / np.float32(255))
    expected = np.floor(np.clip(fill, 0, 1) * 255 + 0.5)
    difference = np.abs(out.astype(int) - expected)
    assert difference.max() <= 1
    assert (difference > 0).mean() < 2e-3


def test_only_the_rows_asked_for_are_written():
    recorded, under = _codes(1, 6, 40), _codes(2, 6, 40)
    settings = KeySettings(hue_of(GREEN, "bt709"), 110.0, 5.0, 1.3, 80.0, GREEN)
    whole, part = np.empty_like(recorded), np.zeros_like(recorded)
    key_over_codes(recorded, under, settings, "bt709", 1.0, 0, 6, whole)
    key_over_codes(recorded, under, settings, "bt709", 1.0, 2, 5, part)
    np.testing.assert_array_equal(part[:, 2:5], whole[:, 2:5])
    assert not part[:, :2].any()
    assert not part[:, 5:].any()
