"""Panels: area, corners, border, ramp, pixel shape."""

import math

import numpy as np
import pytest

from keyer.titles.ink import Canvas
from keyer.titles.panels import Rectangle, ramp_along, ring, rounded, straight

CANVAS = Canvas(640, 360)


def area(mark, aspect=1.0):
    return float(mark.coverage.sum()) * aspect


@pytest.mark.parametrize("shape", [(10, 20, 110, 50), (10.25, 20.5, 110.75, 50.125)])
@pytest.mark.parametrize("aspect", [1.0, 1.4587, 0.909])
def test_plain_panel_covers_its_area(shape, aspect):
    rectangle = Rectangle(*shape)
    mark = rounded(rectangle, 0, Canvas(640, 360, aspect))
    assert area(mark, aspect) == pytest.approx(rectangle.width * rectangle.height, rel=1e-5)


@pytest.mark.parametrize("aspect", [1.0, 1.4587])
@pytest.mark.parametrize("radius", [4, 15, 99])
def test_rounded_panel_covers_its_area(radius, aspect):
    rectangle = Rectangle(10, 20, 110, 60)
    mark = rounded(rectangle, radius, Canvas(640, 360, aspect))
    used = min(radius, 20)  # half the shorter side
    expected = 100 * 40 - (4 - math.pi) * used**2  # by hand
    assert area(mark, aspect) == pytest.approx(expected, rel=0.003)


def test_sides_on_whole_pixels_are_sharp():
    snapped = Rectangle(10.3, 20.6, 110.4, 50.2).snapped(1.0)
    assert snapped == Rectangle(10, 21, 110, 50)
    assert set(np.unique(rounded(snapped, 0, CANVAS).coverage)) == {1.0}
    squeezed = Rectangle(10.3, 20.6, 110.4, 50.2).snapped(1.5)
    assert squeezed.left == pytest.approx(7 * 1.5)


def test_border_has_its_width_and_lies_inside():
    rectangle = Rectangle(10, 20, 110, 60)
    mark = ring(rectangle, 0, 3, CANVAS)
    assert area(mark) == pytest.approx(100 * 40 - 94 * 34)
    assert mark.coverage.shape == (40, 100)
    assert mark.coverage[20, 50] == 0
    everything = ring(rectangle, 0, 30, CANVAS)
    assert area(everything) == pytest.approx(4000)


def test_border_of_a_rounded_panel_is_even():
    mark = ring(Rectangle(0, 0, 60, 60), 30, 5, CANVAS)  # a circle
    expected = math.pi * (30**2 - 25**2)
    assert area(mark) == pytest.approx(expected, rel=0.01)


@pytest.mark.parametrize(("angle", "axis", "sign"), [(0, 1, 1), (90, 0, 1), (180, 1, -1)])
def test_ramp_runs_its_way(angle, axis, sign):
    rectangle = Rectangle(10, 20, 110, 60)
    mark = rounded(rectangle, 0, CANVAS)
    along = ramp_along(rectangle, angle, mark, 1.0)
    steps = np.diff(along, axis=axis)
    assert (sign * steps > 0).all()
    assert np.allclose(np.diff(along, axis=1 - axis), 0, atol=1e-6)
    assert min(along.min(), 1 - along.max()) == pytest.approx(0.5 / along.shape[axis], rel=0.01)


@pytest.mark.parametrize("aspect", [1.0, 1.4587])
@pytest.mark.parametrize(
    "ends", [((20, 30), (120, 30)), ((20, 30), (20, 90)), ((20, 30), (110, 95))]
)
@pytest.mark.parametrize("round_ends", [False, True])
def test_a_rule_covers_its_area(ends, round_ends, aspect):
    start, end = ends
    mark = straight(start, end, 6, Canvas(640, 360, aspect), round_ends=round_ends)
    expected = math.dist(start, end) * 6 + (math.pi * 9 if round_ends else 0)  # by hand
    assert area(mark, aspect) == pytest.approx(expected, rel=0.01)


def test_a_hairline_is_faint_rather_than_broken():
    mark = straight((20, 20), (120, 70), 0.5, CANVAS, round_ends=False)
    assert area(mark) == pytest.approx(math.hypot(100, 50) * 0.5, rel=0.25)
    assert mark.coverage.any(axis=0)[3:-3].all()


def test_places_and_the_square_within():
    shape = Rectangle(10, 20, 110, 60)
    assert shape.place("top left") == (10, 20)
    assert shape.place("right") == (110, 40)
    assert shape.place("centre") == (60, 40)
    assert shape.square() == Rectangle(40, 20, 80, 60)
