import cv2
import numpy as np
import pytest
from measured import measure_levels
from support import TWIN, planes, reference, solid

from keyer.measure import levels as module
from keyer.measure.cells import WHOLE, Place
from keyer.measure.levels import (
    HIGHEST,
    LOWEST,
    MAX_AREA_PERCENT,
    LevelsMeter,
    code,
    judge_levels,
)
from keyer.pixel.colour.luma_chroma import rgb_to_ycc_matrix

R103 = reference("tolerances")["r103"]


def grey(value, rows=100, columns=60):
    return solid((value,) * 3, rows, columns)


def of_code(value, bits):
    """Signal of a narrow-range code."""
    return (value / 2 ** (bits - 8) - 16) / 219


def test_limits_are_the_published_ones():
    assert R103["v2_v3_10bit"]["preferred10"] == [LOWEST, HIGHEST]
    assert R103["area"]["max_area_percent"] == MAX_AREA_PERCENT
    tolerance = R103["v2_v3"]
    assert round(tolerance["codes_in_range10"] * tolerance["tolerance_percent"] / 100) == 44
    assert [64 - tolerance["tolerance10"], 940 + tolerance["tolerance10"]] == [LOWEST, HIGHEST]
    assert tolerance["applies_to"] == list(module.COMPONENTS)


@pytest.mark.parametrize(
    ("bits", "low", "high"),
    [
        (8, *R103["v2_v3"]["preferred8"]),
        (10, *R103["v2_v3_10bit"]["preferred10"]),
        (12, *R103["v2_v3_12bit"]["preferred12"]),
    ],
)
def test_codes_on_both_sides_of_the_limits(bits, low, high):
    step = 4 if bits == 12 else 1  # levels are judged in steps of ten bits
    for inside, beyond in ((low, low - step), (high, high + step)):
        assert measure_levels(grey(of_code(inside, bits)), "bt709").outside_percent == 0
        found = measure_levels(grey(of_code(beyond, bits)), "bt709")
        assert found.outside_percent == 100
        assert found.place == WHOLE


def test_codes_are_those_of_the_standard():
    assert (code(0), code(100)) == (64, 940)
    assert [code(0, 8), code(100, 8)] == R103["v2_v3"]["expected8"]
    assert [code(0, 12), code(100, 12)] == [256, 3760]


def test_filter_is_the_quoted_one():
    """The answer to a single sample: 1 2 3 4 3 2 1 along, 1 2 1 across, over 64."""
    weights = R103["filter"]
    expected = np.outer(weights["vertical"], weights["horizontal"]) / weights["both_divisor"]
    found = np.zeros((5, 15), np.float32)
    point = np.zeros((5, 15), np.float32)
    point[2, 7] = 1
    wide = np.empty(21, np.float32)
    for y in range(1, 4):
        module._soften(point[y - 1], point[y], point[y + 1], wide, found[y])
    np.testing.assert_allclose(found[1:4, 4:11], expected, atol=TWIN)
    assert found.sum() == pytest.approx(1)


def twin(picture, matrix):
    """The measure in plain numpy, filtered by another library."""
    across = np.array([1, 2, 3, 4, 3, 2, 1]) / 16
    down = np.array([1, 2, 1]) / 4
    soft = [
        cv2.sepFilter2D(p.astype(float), -1, across, down, borderType=cv2.BORDER_REPLICATE)
        for p in picture
    ]
    soft.append(np.tensordot(rgb_to_ycc_matrix(matrix)[0], soft, axes=1))
    codes = np.array(soft) * 876 + 64
    return (codes < 19.5) | (codes > 984.5)


@pytest.mark.parametrize("matrix", ["bt601", "bt709"])
@pytest.mark.parametrize("size", [(40, 64), (3, 9), (1, 1), (17, 5)])
def test_kernels_follow_their_twin(matrix, size):
    picture = planes(5, *size) * 1.9 - 0.45
    found = measure_levels(picture, matrix)
    out = twin(picture, matrix)
    assert found.outside_percent == pytest.approx(100 * out.any(axis=0).mean())
    assert found.parts_percent == pytest.approx(100 * out.mean(axis=(1, 2)))
    luma = np.tensordot(rgb_to_ycc_matrix(matrix)[0], picture, axes=1)
    both = np.concatenate([picture, luma[None]]).reshape(4, -1)
    assert found.lowest == pytest.approx(100 * both.min(axis=1), abs=1e-4)
    assert found.highest == pytest.approx(100 * both.max(axis=1), abs=1e-4)


def test_threads_do_not_matter():
    picture = planes(6, 90, 70) * 1.5
    one = measure_levels(picture, "bt709", threads=1)
    assert one == measure_levels(picture, "bt709", threads=3)


@pytest.mark.parametrize("width", [256, 150])
def test_a_part_that_changes_is_looked_at_alone(width):
    """What was beyond the limits, and is no longer, is forgotten; the rest is remembered."""
    picture = planes(7, 90, width)
    picture[:, 50, 70] = 1.4
    meter = LevelsMeter(picture, "bt709", [0, 30, 60, 90])
    for top in (0, 30, 60):
        meter.take(top, top + 30, 0, width)
    assert meter.read() == measure_levels(picture, "bt709")
    picture[:, 30:60, 64:128] = planes(8, 30, 64)
    meter.take(30, 60, 64, 128)
    assert meter.read() == measure_levels(picture, "bt709")
    assert max(meter.read().highest) < 101


def test_one_percent_of_the_picture_is_tolerated():
    """Rows at the top edge; the filter takes off the last one (by hand: 0.92)."""
    picture = grey(0.5)
    picture[:, :2] = 1.06
    held = measure_levels(picture, "bt709")
    assert held.outside_percent == pytest.approx(1.0)
    assert judge_levels(held).verdict == "holds"
    picture[:, :3] = 1.06
    found = measure_levels(picture, "bt709")
    assert found.outside_percent == pytest.approx(2.0)
    assert found.place == Place(0.0, 0.0, 100.0, 2.0)
    verdict = judge_levels(found)
    assert verdict.verdict == "fails"
    assert "106 %" in verdict.remedy


@pytest.mark.parametrize(("rows", "verdict"), [(8, "holds"), (9, "fails")])
def test_pixels_of_a_720_line_picture(rows, verdict):
    """7 and 8 rows of 1280 stay outside, of which 9216 pixels may."""
    picture = grey(0.5, 720, 1280)
    picture[:, :rows] = -0.06
    found = measure_levels(picture, "bt709")
    pixels = found.outside_percent / 100 * 720 * 1280
    assert pixels == pytest.approx((rows - 1) * 1280)
    assert (pixels > R103["example_bars"]["pixels_1_percent_720"]) == (verdict == "fails")
    assert judge_levels(found).verdict == verdict


def test_a_spike_is_filtered_out():
    picture = grey(0.5)
    picture[:, 50, 30] = 2.0  # by hand: 0.5 + 1.5 * 8 / 64 = 0.69
    found = measure_levels(picture, "bt709")
    assert found.outside_percent == 0
    assert found.highest[0] == pytest.approx(200)


def test_luma_goes_out_only_where_a_component_does():
    """Luma is a mean of the three: it is never the farthest out by itself."""
    blue = solid((0.0, 0.0, 1.2), 20, 20)
    found = measure_levels(blue, "bt709")
    assert found.parts_percent == (0, 0, 100, 0)
    assert found.worst[0] == "B"
    dark = solid((-0.2, 0.1, 0.1), 20, 20)
    assert measure_levels(dark, "bt709").worst[0] == "R"
