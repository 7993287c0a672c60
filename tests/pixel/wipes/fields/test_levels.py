"""Level functions: places whose level can be worked out by hand."""

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from keyer.errors import SettingError
from keyer.pixel.wipes.fields import cells, edges, hands, polygons, shapes

WIDE, HIGH = 0.9, 0.5
"""Half width and half height of a frame."""


def at(function, x: float, y: float, **params) -> float:
    """Level at one place."""
    place = np.full((1, 1), x, np.float32), np.full((1, 1), y, np.float32)
    return float(np.broadcast_to(function(*place, WIDE, HIGH, **params), (1, 1))[0, 0])


@pytest.mark.parametrize(
    ("function", "params", "x", "y", "level"),
    [
        (edges.bar, {"across": 1, "down": 0}, 0.0, 0.3, 0.5),
        (edges.bar, {"across": 1, "down": 0}, -0.9, 0.3, 0.0),
        (edges.bar, {"across": -1, "down": 1}, 0.9, -0.5, 0.0),
        (edges.bar, {"across": 1, "down": 1}, 0.45, -0.25, 0.5),
        (edges.split, {"across": 0, "down": 1}, 0.7, -0.25, 0.5),
        (edges.split, {"across": 1, "down": 1}, 0.9, -0.5, 0.0),
        (edges.box, {"anchor_x": -1, "anchor_y": -1}, 0.0, -0.4, 0.5),
        (edges.box, {"anchor_x": 0, "anchor_y": 1}, 0.45, 0.5, 0.5),
        (edges.corner_boxes, {}, 0.45, 0.1, 0.8),
        (edges.quarter_boxes, {}, 0.45, 0.25, 0.0),
        (edges.quarter_boxes, {}, 0.0, 0.25, 1.0),
        (edges.cross, {}, 0.45, 0.25, 0.0),
        (edges.cross, {}, 0.0, 0.25, 0.5),
        (edges.two_diamonds, {}, 0.9, 0.0, 0.0),
        (edges.two_diamonds, {}, 0.9, 0.5, 1.0),
        (edges.wedges, {"upright": True}, 0.0, -0.5, 0.0),
        (edges.wedges, {"upright": True}, 0.9, 0.0, 1.0),
        (edges.wedges, {"upright": False}, 0.9, 0.0, 0.0),
        (edges.vee, {"toward": "down"}, 0.0, -0.5, 0.0),
        (edges.vee, {"toward": "down"}, 0.0, 0.5, 0.5),
        (edges.vee, {"toward": "left"}, 0.9, 0.0, 0.0),
        (edges.split_vee, {"toward": "down"}, 0.0, 0.5, 0.0),
        (edges.split_vee, {"toward": "down"}, -0.9, -0.5, 0.0),
        (edges.split_vee, {"toward": "right"}, 0.9, 0.0, 0.0),
        # six teeth in a height of 1 stand 1/24 to either side; half a tooth is 1/12
        (edges.zigzag, {"upright": True, "teeth": 6}, -0.9, 0.0, 0.0),
        (edges.zigzag, {"upright": True, "teeth": 6}, 0.9, 1 / 12, 1.0),
        (edges.split_zigzag, {"upright": True, "teeth": 6}, 1 / 24, 0.0, 0.0),
        (edges.split_zigzag, {"upright": True, "teeth": 6}, -1 / 24, 1 / 12, 0.0),
        (shapes.diamond, {}, 0.9, 0.0, 0.5),
        (shapes.diamond, {}, 0.9, 0.5, 1.0),
        (shapes.ellipse, {"width": 1.0}, 0.9, 0.5, 1.0),
        (shapes.ellipse, {"width": 1.0}, 0.3, 0.4, 0.5 / math.hypot(0.9, 0.5)),
        (shapes.ellipse, {"width": 2.0}, 0.4, 0.0, 0.2 / math.hypot(0.45, 0.5)),
        (hands.clock, {"start_deg": 0, "hands": 1}, 0.0, -0.3, 0.0),
        (hands.clock, {"start_deg": 0, "hands": 1}, 0.3, 0.0, 0.25),
        (hands.clock, {"start_deg": 90, "hands": 1}, 0.0, -0.2, 0.75),
        (hands.clock, {"start_deg": 0, "hands": 4}, 0.2, -0.2, 0.5),
    ],
)
def test_levels_by_hand(function, params, x, y, level):
    assert at(function, x, y, **params) == pytest.approx(level, abs=1e-6)


def _grown(function, params, x, y):
    """Ratio of the levels at twice a place and at the place."""
    return at(function, 2 * x, 2 * y, **params) / at(function, x, y, **params)


GROWING = [
    (polygons.polygon, {"corners": 5, "first_deg": 20}),
    (polygons.star, {"points": 5, "inner": 0.4, "first_deg": 0}),
    (polygons.arrow_head, {"first_deg": 90}),
    (shapes.eye, {"upright": False, "width": 1.8}),
    (shapes.round_box, {"upright": True, "width": 1.6, "radius": 0.4}),
    (shapes.heart, {}),
    (shapes.keyhole, {}),
]


@given(st.sampled_from(GROWING), st.floats(0.02, 0.4), st.floats(0, 6.3))
def test_a_shape_grows_evenly(case, radius, angle):
    """Twice as far out is passed at twice the progress: the shape is scaled, not changed."""
    function, params = case
    x, y = radius * math.cos(angle), radius * math.sin(angle)
    assert _grown(function, params, x, y) == pytest.approx(2, rel=2e-4)


@pytest.mark.parametrize(("function", "params"), GROWING)
def test_a_shape_covers_the_frame_at_1(function, params):
    """The greatest level on the frame's rim is 1, within what places between the pixels leave."""
    x = np.linspace(-WIDE, WIDE, 901, dtype=np.float32)[np.newaxis]
    y = np.linspace(-HIGH, HIGH, 501, dtype=np.float32)[:, np.newaxis]
    level = function(x, y, WIDE, HIGH, **params)
    assert float(level.max()) == pytest.approx(1, abs=2e-3)
    assert float(level.min()) >= 0


def outline(function, params, angle: float) -> tuple[float, float]:
    """Where the outline at half progress stands in a direction."""
    level = at(function, math.sin(angle), -math.cos(angle), **params)
    return 0.5 / level * math.sin(angle), -0.5 / level * math.cos(angle)


def test_a_polygon_has_its_corners_on_a_circle():
    params = {"corners": 6, "first_deg": 30}
    radii = [math.hypot(*outline(polygons.polygon, params, math.radians(a))) for a in (30, 90, 150)]
    assert radii == pytest.approx([radii[0]] * 3, rel=1e-5)
    middle = math.hypot(*outline(polygons.polygon, params, math.radians(60)))
    assert middle / radii[0] == pytest.approx(math.cos(math.pi / 6), rel=1e-5)


def test_a_stars_notches_are_where_inner_says():
    params = {"points": 5, "inner": 0.4, "first_deg": 0}
    tip = math.hypot(*outline(polygons.star, params, 0))
    notch = math.hypot(*outline(polygons.star, params, math.radians(36)))
    assert notch / tip == pytest.approx(0.4, rel=1e-4)


def test_a_round_boxs_corner_is_an_arc():
    """Places on the outline near a corner have one distance from the arc's middle."""
    params = {"upright": False, "width": 2.0, "radius": 0.5}
    scale = 1 / at(shapes.round_box, 0.0, 1.0, **params) * 0.5
    for degrees in (20, 28, 35):
        angle = math.radians(90 + degrees)  # in the quarter to the right and below
        x, y = outline(shapes.round_box, params, angle)
        if x > 1.5 * scale and y > 0.5 * scale:
            assert math.hypot(x - 1.5 * scale, y - 0.5 * scale) == pytest.approx(
                0.5 * scale, rel=1e-4
            )


def test_a_keyhole_is_a_disc_over_a_foot():
    params: dict = {}
    top = outline(shapes.keyhole, params, 0)[1]
    bottom = outline(shapes.keyhole, params, math.pi)[1]
    assert bottom / -top == pytest.approx(1.0, rel=1e-5)  # both one unit from the middle


@pytest.mark.parametrize("degrees", range(0, 360, 30))
def test_a_sweep_runs_from_its_start_to_its_end(degrees):
    """A sweep of 180 degrees from 90: level 0 at 90, 1 at 270, on evenly outside."""
    params = {"pivot_x": 0, "pivot_y": 0, "start_deg": 90, "sweep_deg": 180}
    angle = math.radians(degrees)
    level = at(hands.sweep, 0.3 * math.sin(angle), -0.3 * math.cos(angle), **params)
    expected = (degrees - 90) / 180
    assert level == pytest.approx(expected, abs=1e-5) or abs(level - expected) == pytest.approx(
        2, abs=1e-5
    )


def test_a_fan_opens_alike_to_both_sides():
    params = {"pivot_x": 0, "pivot_y": -1, "start_deg": 180, "open_deg": 90}
    assert at(hands.fan, 0.0, 0.2, **params) == pytest.approx(0, abs=1e-6)
    assert at(hands.fan, 0.5, 0.0, **params) == pytest.approx(0.5, abs=1e-6)
    assert at(hands.fan, -0.5, 0.0, **params) == pytest.approx(0.5, abs=1e-6)
    assert at(hands.fan, 0.5, -0.5, **params) == pytest.approx(1, abs=1e-6)


def test_parallel_hands_are_each_other_turned_round():
    params = {"pivot_x": 0, "pivot_y": -1, "start_deg": 90, "sweep_deg": 180}
    for x, y in ((0.4, -0.2), (-0.3, -0.4)):
        assert at(hands.parallel_sweep, x, y, **params) == pytest.approx(
            at(hands.parallel_sweep, -x, -y, **params), abs=1e-6
        )


def test_a_pair_in_the_corners_meets_on_the_diagonal():
    assert at(hands.corner_pair, 0.45, 0.25, falling=True) == pytest.approx(1, abs=1e-5)
    assert at(hands.corner_pair, 0.3, -0.5, falling=True) == pytest.approx(0, abs=1e-5)
    assert at(hands.corner_pair, -0.45, 0.25, falling=False) == pytest.approx(1, abs=1e-5)


GRID = {"columns": 4, "rows": 2}


def test_cells_are_crossed_the_way_of_the_route():
    """By hand: four columns of 0.45 and two rows of 0.5; the second row runs back."""
    params = {**GRID, "route": "snake", "corner": "top left", "first": "across"}
    assert at(cells.route, -0.9, -0.3, **params) == pytest.approx(0, abs=1e-6)
    assert at(cells.route, -0.9 + 0.45 * 1.5, -0.3, **params) == pytest.approx(1.5 / 8, abs=1e-6)
    assert at(cells.route, 0.9 - 0.45 * 0.25, 0.3, **params) == pytest.approx(4.25 / 8, abs=1e-6)
    assert at(cells.route, -0.9, 0.3, **params) == pytest.approx(1, abs=1e-6)


def test_a_waterfalls_cells_fill_evenly():
    """Twin: the share of a fine raster below each level is that level."""
    x = ((np.arange(400) + 0.5) / 400 * 1.8 - 0.9).astype(np.float32)[np.newaxis]
    y = ((np.arange(400) + 0.5) / 400 - 0.5).astype(np.float32)[:, np.newaxis]
    level = cells.waterfall(x, y, WIDE, HIGH, columns=8, rows=5, upright=True, far=False)
    for progress in (0.1, 0.37, 0.5, 0.8):
        assert float((level < progress).mean()) == pytest.approx(progress, abs=3e-3)


def test_a_grid_follows_the_longer_side():
    params = {**GRID, "route": "snake", "corner": "top left", "first": "down"}
    place = np.full((1, 1), -0.1, np.float32), np.full((1, 1), -0.2, np.float32)
    tall = cells.route(*place, 0.5, 0.9, **params)
    lying = cells.route(
        place[1], place[0], 0.9, 0.5, **GRID, route="snake", corner="top left", first="across"
    )
    assert float(tall[0, 0]) == pytest.approx(float(lying[0, 0]), abs=1e-6)


@pytest.mark.parametrize(
    ("function", "params", "named"),
    [
        (cells.route, {"columns": 0, "rows": 2, "route": "snake"}, "columns must be in"),
        (cells.route, {"columns": 4, "rows": 2, "route": "walk"}, "route must be one of"),
        (
            cells.parts,
            {
                "columns": 5,
                "rows": 2,
                "route": "snake",
                "parts": "left and right",
                "others": "same",
            },
            "columns must be even to be halved, got 5. Say 6",
        ),
    ],
)
def test_a_grid_that_cannot_be_is_refused(function, params, named):
    with pytest.raises(SettingError, match=named):
        at(function, 0.0, 0.0, corner="top left", first="across", **params)
