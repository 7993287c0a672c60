"""Crawls and rolls in time: the frame that shows them best, and what they are held against."""

from fractions import Fraction

import pytest

from keyer.titles.checks import check_title
from keyer.titles.ink import Canvas
from keyer.titles.moving import time_title
from keyer.titles.read import parse_design

DESIGN = """
name = "Passing"
[fields.text]
[styles.s]
size = 8
[move]
kind = "{kind}"
pixels = 4
[[boxes]]
id = "band"
place = "{place}"
[[boxes.texts]]
text = "${{text}}"
style = "s"
"""


@pytest.mark.parametrize(("kind", "place"), [("crawl", "bottom left"), ("roll", "bottom")])
def test_half_way_most_of_it_is_seen_and_that_it_crosses_the_edges_is_no_fault(kind, place):
    """On its first frame it stands just outside the picture: a still of it showed no letter."""
    design = parse_design(DESIGN.format(kind=kind, place=place))
    title = time_title(design, {"text": "Out of the lake"}, Canvas(320, 180), Fraction(25))
    assert title.fullest == title.frames_needed // 2
    first, best = (title.at(frame).full().alpha.sum() for frame in (0, title.fullest))
    assert best > 10 * first
    for frame in range(0, title.frames_needed, 7):
        measures = {one.measure for one in check_title(title.at(frame), None, safe="r95")}
        assert "title.safe_area" not in measures


def test_a_title_at_rest_is_best_at_once_and_keeps_its_safe_area():
    text = DESIGN.replace("[move]", "[unused]").replace('kind = "{kind}"\npixels = 4\n', "")
    design = parse_design(text.replace("[unused]\n", "").format(place="bottom left"))
    title = time_title(design, {"text": "Out of the lake"}, Canvas(320, 180), Fraction(25))
    assert title.fullest == 0
    assert {one.measure for one in check_title(title.at(0), None, safe="r95")} >= {
        "title.safe_area"
    }
