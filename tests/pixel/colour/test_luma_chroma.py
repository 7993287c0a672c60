import colour
import numpy as np
import pytest
from support import planes, reference

from keyer.pixel.colour.luma_chroma import hue_axes, hue_of, rgb_to_ycc, rgb_to_ycc_matrix

LEVELS = reference("video_levels")
PURE = {
    "red": (1.0, 0.0, 0.0),
    "green": (0.0, 1.0, 0.0),
    "blue": (0.0, 0.0, 1.0),
    "cyan": (0.0, 1.0, 1.0),
    "magenta": (1.0, 0.0, 1.0),
    "yellow": (1.0, 1.0, 0.0),
}


@pytest.mark.parametrize("vector", LEVELS["vector"], ids=lambda vector: vector["colour"])
@pytest.mark.parametrize("matrix", ["bt601", "bt709"])
def test_hue_of_bars_is_the_vector_angle(vector, matrix):
    """video_levels.toml [[vector]] (computed from BT.601-7 / BT.709-6 equations)."""
    expected = vector[f"cbcr_{matrix}_deg"]
    assert hue_of(PURE[vector["colour"]], matrix) == pytest.approx(expected, abs=0.01)


@pytest.mark.parametrize("vector", LEVELS["vector"], ids=lambda vector: vector["colour"])
def test_classical_vector_angles_come_out_of_the_analogue_axes(vector):
    """The classical figures are angles of U, V: BT.601 luma with their own factors."""
    _, cb, cr = rgb_to_ycc_matrix("bt601") @ np.array(PURE[vector["colour"]])
    factors = LEVELS["uv_factors"]
    u, v = factors["u_factor"] * 1.772 * cb, factors["v_factor"] * 1.402 * cr
    angle = np.degrees(np.arctan2(v, u)) % 360
    assert angle == pytest.approx(vector["ntsc_classical_deg"], abs=0.5)


@pytest.mark.parametrize("matrix", ["bt601", "bt709"])
def test_ycc_matrix_is_the_published_one(matrix):
    """video_levels.toml [equations]."""
    expected = LEVELS["equations"][matrix]["rgb_to_ycbcr"]
    np.testing.assert_allclose(rgb_to_ycc_matrix(matrix), expected, atol=1e-8)


def test_ycc_agrees_with_colour_science():
    rgb = planes()
    ours = rgb_to_ycc(rgb, "bt709")
    theirs = colour.RGB_to_YCbCr(
        np.moveaxis(rgb, 0, -1), colour.WEIGHTS_YCBCR["ITU-R BT.709"], out_legal=False
    )
    np.testing.assert_allclose(np.moveaxis(ours, 0, -1), theirs, atol=1e-6)


@pytest.mark.parametrize("hue", [0.0, 77.0, 229.68, 354.0])
def test_axes_measure_what_their_unit_moves(hue):
    axes = hue_axes(hue, "bt709")
    luma = rgb_to_ycc_matrix("bt709")[0]
    assert axes.along @ axes.unit == pytest.approx(1.0, abs=1e-5)
    assert axes.across @ axes.unit == pytest.approx(0.0, abs=1e-5)
    assert luma @ axes.unit == pytest.approx(0.0, abs=1e-5)


def test_grey_has_no_hue():
    assert hue_of((0.4, 0.4, 0.4), "bt709") == 0.0
