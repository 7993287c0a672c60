import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from support import planes, reference

from keyer.pixel.colour.transfer import decode_signal, encode_light, to_light, to_signal

LEVELS = reference("video_levels")
TABLE = 3e-6
"""What straight lines between 4096 steps of the curve may lose (measured: 1.3e-6)."""


@pytest.mark.parametrize("sample", LEVELS["transfer_sample"], ids=lambda row: str(row["linear"]))
def test_encoding_curve(sample):
    """video_levels.toml [[transfer_sample]] (BT.709-6 item 1.2)."""
    assert float(encode_light(np.float64(sample["linear"]))) == pytest.approx(
        sample["bt709"], abs=1e-8
    )


@pytest.mark.parametrize("sample", LEVELS["decode_sample"], ids=lambda row: str(row["signal"]))
def test_decoding_curve(sample):
    """video_levels.toml [[decode_sample]] (inverse of BT.709-6 item 1.2)."""
    assert float(decode_signal(np.float64(sample["signal"]))) == pytest.approx(
        sample["bt709_inverse_oetf"], abs=1e-8
    )


def test_bands_follow_the_formulas():
    signal = np.linspace(-0.1, 1.3, 5001, dtype=np.float32).reshape(1, 1, -1)
    light = signal.copy()
    to_light(light)
    np.testing.assert_allclose(light, decode_signal(signal), atol=TABLE)
    again = np.linspace(-0.1, 1.3, 5001, dtype=np.float32).reshape(1, 1, -1)
    to_signal(again)
    np.testing.assert_allclose(again, encode_light(signal), atol=TABLE)


@given(st.integers(0, 2**31))
def test_to_light_and_back_is_the_identity(seed):
    band = planes(seed)
    result = band.copy()
    to_light(result)
    to_signal(result)
    gap = (band >= 0.081) & (band < 0.08125)  # the published curve jumps here
    np.testing.assert_allclose(result[~gap], band[~gap], atol=1e-5)
    np.testing.assert_allclose(result, band, atol=3e-4)
