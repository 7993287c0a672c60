"""The graticules: where BT.709's colours and R 103's levels lie, on paper as on the page."""

import re

import numpy as np
import pytest

from keyer.paper.grid import Area
from keyer.paper.page import Page, Stroke
from keyer.report.page.scopes import vectorscope_svg, waveform_svg
from keyer.report.plates.scopes import draw_vectorscope
from keyer.report.traces import LEVELS, graticule

GREY = np.full((3, 6, 8), 0.5, np.float32)


def test_levels_lie_between_minus_10_and_110_percent():
    # by hand: 110 - 105 of 120 from the top, 110 - 0, 110 - 100
    down = {level.percent: level.down for level in LEVELS}
    assert (down[105], down[0], down[100]) == pytest.approx((5 / 120, 110 / 120, 10 / 120))


def test_squares_stand_about_the_bars():
    # BT.709-6: Cr of red is 0.5 at full, 0.375 at 75 percent; Cb is -0.2126 / 1.8556 of that.
    # The side of the scope is 0.6.
    left, bottom, right, top = graticule("bt709").squares[0]
    middle = ((left + right) / 2, (bottom + top) / 2)
    assert middle == pytest.approx((-0.75 * 0.2126 / 1.8556 / 0.6, 0.375 / 0.6), abs=1e-4)


def test_page_and_paper_have_the_same_lines():
    page = Page(420, 297)
    draw_vectorscope(page, GREY, "bt709", Area(0, 0, 240, 240))  # a unit of the page's drawing a mm
    drawn = vectorscope_svg(GREY, "bt709")
    boxes = re.findall(r'class="mark" x="([\d.]+)" y="([\d.]+)"', drawn)
    strokes = [item.points for item in page.items if isinstance(item, Stroke)]
    corners = [(min(x for x, _ in s), min(y for _, y in s)) for s in strokes if len(s) == 5]
    assert len(boxes) == len(corners) == 6
    np.testing.assert_allclose(np.array(boxes, float), corners, atol=0.06)


def test_a_waveform_on_the_page_has_a_line_for_each_level():
    drawn = waveform_svg(GREY, "bt709")
    lines = re.findall(r'y1="([\d.]+)"', drawn)
    assert [float(y) for y in lines] == [pytest.approx(240 * one.down, abs=0.06) for one in LEVELS]
