"""Weights and blending of the wipe, against plain numpy and against a distance transform."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy import ndimage
from support import planes
from wiping import NAMES, edges, find, modifiers, plain, spread, weights

from keyer.kinds.field import Geometry, Modifiers, Modulation
from keyer.kinds.settings import Edge
from keyer.pixel.colour.transfer import decode_signal
from keyer.pixel.wipes.fields import build
from keyer.pixel.wipes.wipe import weigh_band, wipe_band, wipe_state


def distances(now) -> np.ndarray:
    """Numpy twin: signed distance of every pixel to every segment, the least of them."""
    geometry, field = now.field.geometry, now.field
    y, x = np.mgrid[: geometry.height, : geometry.width].astype(np.float64)
    x *= geometry.pixel_aspect
    best = np.full(x.shape, 1e9)
    for x0, y0, x1, y1 in now.segments.astype(np.float64):
        dx, dy = x1 - x0, y1 - y0
        square = dx * dx + dy * dy
        part = np.clip(((x - x0) * dx + (y - y0) * dy) / square, 0, 1) if square else 0.0
        best = np.minimum(best, np.hypot(x - x0 - part * dx, y - y0 - part * dy))
    top, left = field.margin_y, field.margin_x
    laid = spread(now.blocks, field.values.shape)
    inside = laid[top : top + geometry.height, left : left + geometry.width] < now.level
    return np.where(inside, best, -best) + now.shift


def twin(now) -> tuple[np.ndarray, np.ndarray]:
    """Numpy twin of the weights."""
    distance = distances(now)
    of_b = np.clip((distance - now.border / 2) / now.soft + 0.5, 0, 1)
    of_a = np.clip((-distance - now.border / 2) / now.soft + 0.5, 0, 1)
    return of_a, of_b


@given(st.sampled_from(NAMES), modifiers, edges, st.floats(0.01, 0.99))
def test_weights_agree_with_the_twin(name, change, edge, progress):
    """Float32 places hold a thousandth of a pixel; a ramp is at least one pixel wide."""
    now = wipe_state(build(find(name), Geometry(80, 45), change), edge, progress)
    of_a, of_b = np.empty((2, 45, 80), np.float32)
    weigh_band(now, 0, of_a, of_b)
    if now.whole:
        return
    np.testing.assert_allclose(of_a, twin(now)[0], atol=1e-3)
    np.testing.assert_allclose(of_b, twin(now)[1], atol=1e-3)


@settings(max_examples=15)
@given(st.sampled_from(NAMES), edges, st.floats(0, 1), st.integers(1, 45))
def test_the_height_of_the_bands_does_not_matter(name, edge, progress, rows):
    field = plain(name, 80, 45)
    now = wipe_state(field, edge, progress)
    whole_a, whole_b = weights(field, progress, edge)
    for top in range(0, 45, rows):
        bottom = min(top + rows, 45)
        of_a, of_b = np.empty((2, bottom - top, 80), np.float32)
        weigh_band(now, top, of_a, of_b)
        np.testing.assert_array_equal(of_a, whole_a[top:bottom])
        np.testing.assert_array_equal(of_b, whole_b[top:bottom])


def wiped(field, edge, progress, **options):
    a, b = planes(1, 45, 80), planes(2, 45, 80)
    out = a.copy()
    wipe_band(
        out, b, wipe_state(field, edge, progress, light=options.pop("light", "video")), 0, **options
    )
    return a, b, out


@pytest.mark.parametrize("name", ["barWipe", "clockWipe", "starWipe", "snakeWipe"])
def test_the_blend_is_the_weighted_sum(name):
    edge = Edge(soft=4, border=6, border_colour=(1.0, 0.5, 0.0))
    field = plain(name, 80, 45)
    a, b, out = wiped(field, edge, 0.4)
    of_a, of_b = weights(field, 0.4, edge)
    colour = np.array([1.0, 0.5, 0.0])[:, None, None]
    np.testing.assert_allclose(out, of_a * a + of_b * b + (1 - of_a - of_b) * colour, atol=1e-6)


def test_pixels_that_are_wholly_one_picture_are_it_bit_for_bit():
    field = plain("ellipseWipe", 80, 45)
    a, b, out = wiped(field, Edge(border=5), 0.5)
    of_a, of_b = weights(field, 0.5, Edge(border=5))
    assert (of_a == 1).any()
    assert (of_b == 1).any()
    np.testing.assert_array_equal(out[:, of_a == 1], a[:, of_a == 1])
    np.testing.assert_array_equal(out[:, of_b == 1], b[:, of_b == 1])


def test_a_third_source_fills_the_border():
    field = plain("irisWipe", 80, 45)
    third = planes(3, 45, 80)
    edge = Edge(border=8)
    _, _, out = wiped(field, edge, 0.5, border=third)
    of_a, of_b = weights(field, 0.5, edge)
    solid = (of_a == 0) & (of_b == 0)
    assert solid.sum() > 100
    np.testing.assert_array_equal(out[:, solid], third[:, solid])


def test_a_ramp_runs_across_the_border():
    """A vertical edge: the border of 10 rows goes from red on A's side to blue on B's."""
    edge = Edge(border=22.2222, border_colour=(1.0, 0.0, 0.0), border_ramp=(0.0, 0.0, 1.0))
    field = plain("barWipe", 80, 45)
    _, _, out = wiped(field, edge, 0.5)
    # the border spans x = 34.5 .. 44.5; B is on the left
    blue_share = out[2, 20, 36:44]
    np.testing.assert_allclose(blue_share, (44.5 - np.arange(36, 44)) / 10, atol=2e-3)
    np.testing.assert_allclose(out[0, 20, 36:44], 1 - blue_share, atol=1e-6)


def test_the_borders_colour_follows_the_light():
    edge = Edge(border=20, border_colour=(0.5, 0.25, 1.0))
    _, _, out = wiped(plain("barWipe", 80, 45), edge, 0.5, light="linear")
    expected = decode_signal(np.array([0.5, 0.25, 1.0]))
    np.testing.assert_allclose(out[:, 20, 40], expected, atol=1e-6)


def test_a_hard_edge_is_one_pixel_of_antialiasing():
    """By hand: halfway the edge stands at x = 39.5 + 0.25 x 80 / 80 pixels and covers a part."""
    for progress, expected in ((0.5, 0.5), (0.503125, 0.75), (0.496875, 0.25)):
        _, of_b = weights(plain("barWipe", 81, 45), progress)
        assert of_b[20, 40] == pytest.approx(expected, abs=0.02)
        assert of_b[20, 38] == 1.0
        assert of_b[20, 42] == 0.0


def test_softness_is_percent_of_height():
    """By hand: 10 % of 200 rows are 20; from B to A in 20 columns, half way at the edge."""
    _, of_b = weights(plain("barWipe", 320, 200), 0.5, Edge(soft=10))
    np.testing.assert_allclose(of_b[100, 150:170], (169.5 - np.arange(150, 170)) / 20, atol=2e-3)
    assert of_b[100, 149] == 1.0
    assert of_b[100, 171] == 0.0


def test_the_border_is_as_soft_as_the_wider_softness():
    found = [
        weights(plain("barWipe", 320, 200), 0.4, edge)
        for edge in (Edge(4, 6, 1), Edge(1, 6, 4), Edge(4, 6, 4))
    ]
    for of_a, of_b in found[1:]:
        np.testing.assert_array_equal(of_a, found[0][0])
        np.testing.assert_array_equal(of_b, found[0][1])


@pytest.mark.parametrize("edge", [Edge(), Edge(soft=6), Edge(border=5, border_soft=2)])
def test_clock_hands_stand_on_the_hours(edge):
    """At a quarter the hand stands at three o'clock, then at six and at nine, soft or not.

    There the rows (columns) on both sides of it are each other's complement.
    """
    field = plain("clockWipe", 160, 90)
    of_a, of_b = weights(field, 0.25, edge)
    np.testing.assert_allclose(of_b[44, 100:], of_a[45, 100:], atol=5e-3)
    of_a, of_b = weights(field, 0.5, edge)
    np.testing.assert_allclose(of_b[60:, 80], of_a[60:, 79], atol=5e-3)
    of_a, of_b = weights(field, 0.75, edge)
    np.testing.assert_allclose(of_b[45, :60], of_a[44, :60], atol=5e-3)


FINE = 4
"""Samples of the hard picture to a pixel, each way, for the distance transform."""


def _true_distance(name: str, change: Modifiers, progress: float) -> np.ndarray:
    """Distance to the boundary by scipy's exact Euclidean transform of a finer hard picture."""
    field = build(find(name), Geometry(160 * FINE, 90 * FINE), change)
    inside = field.values < np.float32(progress)
    away = ndimage.distance_transform_edt(inside) + ndimage.distance_transform_edt(~inside) - 0.5
    top, left = field.margin_y, field.margin_x
    away = away[top : top + 90 * FINE, left : left + 160 * FINE] / FINE
    return away.reshape(90, FINE, 160, FINE).mean(axis=(1, 3))


@pytest.mark.parametrize("name", NAMES)
def test_the_border_is_equally_wide_everywhere(name):
    """Also at corners, hubs and tips: within a pixel of half the width from the boundary.

    Halfway through a hard edge is not shifted, so the border lies evenly on the boundary.
    """
    progress = 0.5 if name.startswith(("barnVee", "clock", "pin", "fan")) else 0.47
    edge = Edge(border=8)
    now = wipe_state(plain(name, 160, 90), edge, progress)
    of_a, of_b = weights(plain(name, 160, 90), progress, edge)
    away = _true_distance(name, Modifiers(), progress)
    half = now.border / 2
    border = 1 - of_a - of_b > 0.5
    slack = 1 + abs(now.shift)
    assert border.any()
    assert away[border].max() <= half + slack
    assert border[away < half - slack].all()


@pytest.mark.parametrize("name", ["starWipe/fivePoint", "clockWipe", "miscShapeWipe/heart"])
@pytest.mark.parametrize(
    "change",
    [
        Modifiers(rotation=33, position=(40, 55)),
        Modifiers(repeat=(2, 2), mirror=True, rotation=10),
        Modifiers(aspect=2.0),
    ],
)
def test_the_border_stays_equally_wide_under_modifiers(name, change):
    """At a progress that leaves no wedge thinner than a pixel, which no sample would meet."""
    edge, progress = Edge(border=6), 0.42
    field = build(find(name), Geometry(160, 90), change)
    now = wipe_state(field, edge, progress)
    of_a, of_b = weights(field, progress, edge)
    away = _true_distance(name, change, progress)
    slack = 1 + abs(now.shift)
    border = 1 - of_a - of_b > 0.5
    assert away[border].max() <= now.border / 2 + slack
    assert border[away < now.border / 2 - slack].all()


def test_a_circle_is_round_whatever_the_shape_of_the_pixels():
    """BT.601 samples a 4:3 picture of 576 lines in 720 columns that are 12/11 as wide as high."""
    field = build(find("ellipseWipe/circle"), Geometry(720, 576, 12 / 11))
    of_a, _ = weights(field, 0.4)
    inside = of_a < 0.5
    wide = inside.any(axis=0).sum() * 12 / 11
    high = inside.any(axis=1).sum()
    assert wide == pytest.approx(high, abs=2)


def test_a_wave_moves_with_time_and_comes_back():
    wave = Modulation("sine", 6, 40, speed=0.5)
    field = build(find("barWipe"), Geometry(80, 45), Modifiers(modulation=wave))
    still = weights(field, 0.5, Edge(soft=4), 0.0)[1]
    assert np.abs(weights(field, 0.5, Edge(soft=4), 1.0)[1] - still).max() > 0.5
    np.testing.assert_allclose(weights(field, 0.5, Edge(soft=4), 2.0)[1], still, atol=1e-4)
