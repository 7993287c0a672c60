import numpy as np
import pytest
from support import TWIN, planes, reference

from keyer.pixel.compose.over import (
    over_in_place,
    premultiply,
    scale_band,
    unpremultiply,
)

COMPOSITING = reference("compositing")


def _matte(seed=5):
    return np.random.default_rng(seed).random((7, 33), dtype=np.float32)


@pytest.mark.parametrize(
    "case",
    [
        *COMPOSITING["over_example"],
        *(row for row in COMPOSITING["operator_example"] if row["operator"] == "source-over"),
    ],
    ids=lambda row: f"{row['alpha_s']}-{row['alpha_b']}",
)
def test_over_examples_on_a_band(case):
    """compositing.toml [[over_example]] and [[operator_example]] (W3C Compositing, Level 1)."""
    fill = np.full((3, 1, 4), 0.0, np.float32)
    fill += np.array(case["Cs"], np.float32)[:, None, None] * np.float32(case["alpha_s"])
    under = np.zeros((3, 1, 4), np.float32)
    under += np.array(case["Cb"], np.float32)[:, None, None] * np.float32(case["alpha_b"])
    over_in_place(fill, np.full((1, 4), case["alpha_s"], np.float32), under)
    np.testing.assert_allclose(under[:, 0, 0], case["co"], atol=TWIN)


def test_over_twin():
    fill, under, matte = planes(1), planes(2), _matte()
    expected = fill + (1 - matte) * under
    over_in_place(fill, matte, under)
    np.testing.assert_allclose(under, expected, atol=TWIN)


def test_unpremultiply_undoes_premultiply():
    band, matte = planes(4), _matte() + np.float32(0.01)
    result = band.copy()
    premultiply(result, matte)
    np.testing.assert_allclose(result, band * matte, atol=TWIN)
    unpremultiply(result, matte)
    np.testing.assert_allclose(result, band, atol=1e-5)


def test_unpremultiply_leaves_no_light_where_it_is_clear():
    band = planes(4)
    unpremultiply(band, np.zeros((7, 33), np.float32))
    assert not band.any()


def test_scale():
    band = planes(4)
    scale_band(band, 0.25)
    np.testing.assert_allclose(band, 0.25 * planes(4), atol=TWIN)
