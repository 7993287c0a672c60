"""The boundary of a field."""

import numpy as np
import pytest
from wiping import find

from keyer.kinds.field import Field, Geometry, Jumps, Modifiers
from keyer.pixel.wipes.blocks import block_extremes, gather
from keyer.pixel.wipes.contour import boundary
from keyer.pixel.wipes.fields import build
from keyer.pixel.wipes.fields.jumps import pack_jumps


def bare(values: np.ndarray, jumps: Jumps | None = None) -> Field:
    """A field of given samples without margin."""
    values = np.ascontiguousarray(values, np.float32)
    height, width = values.shape
    low, high = block_extremes(values)
    geometry = Geometry(width, height)
    return Field(values, 0, 0, geometry, Modifiers(), low, high, jumps)


def line(field: Field, level: float) -> np.ndarray:
    blocks = gather(field.values, field.low, field.high, level)
    return boundary(blocks, field, level)


def segments(field: Field, level: float) -> np.ndarray:
    found = line(field, level)
    length = np.hypot(found[:, 2] - found[:, 0], found[:, 3] - found[:, 1])
    return found[length > 0]


def test_a_straight_edge_is_one_segment():
    """By hand: x / 40 = 0.31 at x = 12.4, from the first row to the last."""
    field = bare(np.tile(np.arange(40) / 40, (30, 1)))
    assert segments(field, 0.31) == pytest.approx(np.array([[12.4, 0, 12.4, 29]]), abs=1e-4)


def test_an_oblique_edge_is_one_segment_too():
    y, x = np.mgrid[:60, :80]
    found = segments(bare((x + 2 * y) / 200), 0.5)
    assert len(found) == 1
    for px, py in found.reshape(-1, 2):
        assert px + 2 * py == pytest.approx(100, abs=1e-3)


def test_a_sliver_is_followed_to_its_end_and_back():
    """A row of ones in zeros: at 0.99 a sliver of 0.02 rows, narrower than the tolerance."""
    values = np.zeros((40, 80))
    values[20, 10:] = 1
    found = segments(bare(values), 0.99)
    assert found[:, [0, 2]].min() == pytest.approx(10, abs=0.05)
    length = np.hypot(found[:, 2] - found[:, 0], found[:, 3] - found[:, 1]).sum()
    assert length == pytest.approx(2 * 69, rel=1e-3)


def test_a_circle_is_met_within_the_tolerance():
    y, x = np.mgrid[:200, :200]
    found = segments(bare(np.hypot(x - 99.5, y - 100.2) / 150), 0.4)
    share = np.linspace(0, 1, 9)[:, None]
    for one in found:
        points = one[:2] + share * (one[2:] - one[:2])
        radius = np.hypot(points[:, 0] - 99.5, points[:, 1] - 100.2)
        assert np.abs(radius - 60).max() < 0.06
    length = np.hypot(found[:, 2] - found[:, 0], found[:, 3] - found[:, 1]).sum()
    assert length == pytest.approx(2 * np.pi * 60, rel=1e-3)
    assert len(found) < 130


def test_a_corner_is_given_back_whole():
    """By hand: the box |x - 40.3| < 24, |y - 30.6| < 18 has these corners."""
    y, x = np.mgrid[:60, :90]
    field = bare(np.maximum(np.abs(x - 40.3) / 48, np.abs(y - 30.6) / 36))
    found = segments(field, 0.5)
    assert len(found) <= 6
    for corner in ((16.3, 12.6), (64.3, 12.6), (64.3, 48.6), (16.3, 48.6)):
        assert np.hypot(*(found[:, :2] - corner).T).min() < 0.05


def test_the_tip_of_a_v_is_given_back():
    """By hand: y = 50 - 3 |x - 30.2|; the squares would cut its last 1.5 rows off."""
    y, x = np.mgrid[:60, :60]
    found = segments(bare((y + 3 * np.abs(x - 30.2)) / 100), 0.5)
    assert len(found) == 2
    assert found[0, 2:] == pytest.approx([30.2, 50.0], abs=0.02)


def test_a_saddle_is_parted_by_its_middle():
    values = np.array([[0.0, 1.0], [1.0, 0.0]])
    apart = segments(bare(values), 0.4)  # the middle, 0.5, lies outside: the corners are apart
    joined = segments(bare(values), 0.6)
    assert len(apart) == len(joined) == 2
    inner = sorted(
        tuple(sorted(((a, b), (c, d)))) for a, b, c, d in np.round(apart.astype(float), 2).tolist()
    )
    assert inner == [((0.0, 0.4), (0.4, 0.0)), ((0.6, 1.0), (1.0, 0.6))]
    outer = sorted(
        tuple(sorted(((a, b), (c, d)))) for a, b, c, d in np.round(joined.astype(float), 2).tolist()
    )
    assert outer == [((0.0, 0.6), (0.4, 1.0)), ((0.6, 0.0), (1.0, 0.4))]


def test_a_jump_is_where_the_mark_says():
    values = np.tile(np.where(np.arange(20) < 9, 0.9, 0.1), (12, 1))
    # 64 / 254 of the way from column 8 to column 9
    across = np.arange(12), np.full(12, 8), np.full(12, 64, np.uint8)
    none = np.empty(0, np.int64), np.empty(0, np.int64), np.empty(0, np.uint8)
    field = bare(values, pack_jumps(across, none, values.shape))
    expected = 8 + 64 / 254
    assert segments(field, 0.5) == pytest.approx(np.array([[expected, 0, expected, 11]]), abs=1e-5)


def test_coordinates_are_rows_of_the_picture():
    """Columns 1.5 rows wide: the edge at half the width stands at 1.5 x (W - 1) / 2 rows."""
    field = build(find("barWipe"), Geometry(80, 50, 1.5))
    found = line(field, 0.5)
    assert found[0, 0] == pytest.approx(1.5 * 39.5, abs=1e-3)
    assert found[0, 1] == -field.margin_y
