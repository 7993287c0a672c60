"""A wipe at one progress: distances, shifts and what is dealt to the tiles."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from wiping import NAMES, edges, plain

from keyer.kinds.settings import Edge
from keyer.pixel.wipes.blocks import TILE
from keyer.pixel.wipes.wipe_state import LEAD, away, tiles, wipe_state


def segment(*ends: float) -> np.ndarray:
    return np.asarray(ends, np.float32)


@pytest.mark.parametrize(
    ("x", "y", "ends", "distance"),
    [
        (0, 5, (-3, 0, 3, 0), 5),  # above its middle
        (7, 3, (-3, 0, 3, 0), 5),  # past its end: 4 and 3
        (1, 1, (0, 0, 2, 2), 0),  # on it
        (3, 4, (0, 0, 0, 0), 5),  # a segment that is a point
    ],
)
def test_the_distance_to_a_segment(x, y, ends, distance):
    found = away(np.float32(x), np.float32(y), *segment(*ends))
    assert found == pytest.approx(distance)


def test_a_travelling_edge_is_shifted_evenly():
    """By hand: softness 20 % of 90 rows is 18; half of it less half a pixel, times 2 p - 1."""
    field, edge = plain("barWipe", 160, 90), Edge(soft=20)
    for progress in (0.25, 0.5, 0.8):
        assert wipe_state(field, edge, progress).shift == pytest.approx(8.5 * (2 * progress - 1))
    assert wipe_state(field, edge, 1e-9).shift == pytest.approx(-9, abs=1e-4)
    assert wipe_state(field, edge, 1 - 1e-9).shift == pytest.approx(9, abs=1e-4)


def test_a_hard_edge_is_not_shifted_on_its_way():
    for progress in (LEAD, 0.5, 1 - LEAD):
        assert wipe_state(plain("barWipe", 160, 90), Edge(), progress).shift == pytest.approx(0)


def test_a_hand_is_shifted_only_at_the_start_and_the_end():
    field, edge = plain("clockWipe", 160, 90), Edge(border=10)
    half = (9 + 1) / 2
    for progress in (LEAD, 0.25, 0.5, 0.75, 1 - LEAD):
        assert wipe_state(field, edge, progress).shift == pytest.approx(0, abs=1e-9)
    assert wipe_state(field, edge, LEAD / 2).shift == pytest.approx(-half / 2)
    assert wipe_state(field, edge, 1 - LEAD / 2).shift == pytest.approx(half / 2)


def test_widths_are_rows():
    now = wipe_state(plain("barWipe", 160, 90), Edge(soft=10, border=20, border_soft=30), 0.5)
    assert now.border == pytest.approx(18)
    assert now.soft == pytest.approx(27)
    assert wipe_state(plain("barWipe", 160, 90), Edge(soft=10), 0.5).soft == pytest.approx(9)
    assert wipe_state(plain("barWipe", 160, 90), Edge(), 0.5).soft == 1.0


@given(st.sampled_from(NAMES), edges, st.floats(0.01, 0.99))
def test_a_tile_gets_every_segment_that_reaches_it(name, edge, progress):
    """Twin: every pixel of a tile that a segment's edge reaches."""
    now = wipe_state(plain(name, 96, 54), edge, progress)
    across, down = tiles(now.field)
    assert (across, down) == (-(-96 // TILE), -(-54 // TILE))
    reach = (now.border + now.soft) / 2 + abs(now.shift)
    y, x = np.mgrid[: down * TILE, : across * TILE].astype(np.float64)
    for number, (x0, y0, x1, y1) in enumerate(now.segments[:40].astype(np.float64)):
        dx, dy = x1 - x0, y1 - y0
        square = dx * dx + dy * dy
        part = np.clip(((x - x0) * dx + (y - y0) * dy) / square, 0, 1) if square else 0.0
        near = np.hypot(x - x0 - part * dx, y - y0 - part * dy) < reach - 1e-3
        boxes = near.reshape(down, TILE, across, TILE).any(axis=(1, 3)).ravel()
        for tile in np.flatnonzero(boxes):
            assert number in now.dealt[now.first[tile] : now.first[tile + 1]]


@pytest.mark.parametrize(("progress", "whole"), [(0.0, -1), (1.0, 1), (0.5, 0)])
def test_the_ends_are_whole(progress, whole):
    now = wipe_state(plain("starWipe", 96, 54), Edge(border=3), progress)
    assert now.whole == whole
    assert (len(now.segments) == 0) is bool(whole)


def test_a_border_of_one_colour_has_it_on_both_sides():
    now = wipe_state(plain("barWipe", 96, 54), Edge(border=3, border_colour=(0.1, 0.2, 0.3)), 0.5)
    assert now.colours == ((0.1, 0.2, 0.3), (0.1, 0.2, 0.3))
