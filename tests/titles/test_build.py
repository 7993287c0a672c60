"""A title on its way in and out: what is seen of each part, frame by frame."""

from fractions import Fraction

import numpy as np
import pytest
from support import DEMO

from keyer.titles.ink import Canvas
from keyer.titles.moving import time_title
from keyer.titles.read import parse_design

CANVAS, RATE = Canvas(480, 270), Fraction(25)
HEAD = """
name = "Trial"
[styles.s]
size = 10
[[boxes]]
id = "words"
place = "bottom left"
width = 80
height = 40
padding = [4, 4]
panel = { colour = "#103040" }
[[boxes.texts]]
id = "first"
text = "one two"
style = "s"
[[boxes.texts]]
id = "second"
text = "three"
style = "s"
gap = 4
"""
PANEL = (24, 148, 240, 256)
"""Left, top, right, bottom: by hand, 5 % of 480 and 270 in, 216 x 108."""


def timed(steps, canvas=CANVAS):
    return time_title(parse_design(HEAD + steps), {}, canvas, RATE)


def seen(title, frame, on_air=None):
    """Coverage of the whole canvas, and of its panel alone."""
    drawn = title.at(frame, on_air)
    return drawn.full().alpha


def of(drawn, name):
    """Coverage of the letters of a text, on the canvas."""
    whole = np.zeros((CANVAS.height, CANVAS.width), np.float32)
    for layer in drawn.layers:
        if layer.role == "letters" and layer.text == name:
            rows, columns = layer.mark.coverage.shape
            top, left = layer.mark.top, layer.mark.left
            whole[top : top + rows, left : left + columns] = layer.mark.coverage * layer.opacity
    return whole


def test_without_steps_it_stands_at_once():
    title = timed("")
    assert title.at(0) is title.whole
    assert (title.build_frames, title.leave_frames) == (0, 0)


def test_a_mix_comes_evenly():
    """Frame i of N stands at (i + 1) / (N + 1), as a transition of a sheet does."""
    title = timed('[[build]]\nparts = ["words", "first", "second"]\nlength = 4\ncurve = "linear"')
    inside = (200, 230)
    values = [float(seen(title, frame)[inside]) for frame in range(5)]
    assert values == pytest.approx([0.2, 0.4, 0.6, 0.8, 1.0], abs=1e-6)
    assert title.at(4) is title.whole


def test_what_no_step_names_is_there_from_the_start():
    title = timed('[[build]]\nparts = ["second"]\nat = 5\nkind = "cut"')
    assert not of(title.at(4), "second").any()
    assert np.array_equal(of(title.at(4), "first"), of(title.whole, "first"))
    assert title.at(5) is title.whole


@pytest.mark.parametrize(
    ("towards", "sides"),
    [
        ("right", (True, False, None, None)),
        ("left", (False, True, None, None)),
        ("down", (None, None, True, False)),
        ("up", (None, None, False, True)),
        ("left and right", (False, False, None, None)),
        ("up and down", (None, None, False, False)),
    ],
)
def test_a_wipe_opens_from_where_its_edge_begins(towards, sides):
    title = timed(
        f'[[build]]\nparts = ["words"]\nlength = 9\nkind = "wipe"\ntowards = "{towards}"\n'
        'curve = "linear"\n[[build]]\nparts = ["first", "second"]\nat = 9\nkind = "cut"'
    )
    alpha = seen(title, 4)  # half way: 5 / 10
    left, top, right, bottom = PANEL
    at = alpha[top:bottom, left:right]
    # by area, half of it, whichever way; the edge is a pixel wide
    assert at.sum() == pytest.approx(0.5 * 216 * 108, rel=0.001)
    found = at[54, 0], at[54, -1], at[0, 108], at[-1, 108]
    for value, wanted in zip(found, sides, strict=True):
        if wanted is not None:
            assert value == (1.0 if wanted else 0.0)
    assert at[54, 108] == pytest.approx(1.0 if "and" in towards else 0.5, abs=0.51)


def test_a_slide_comes_from_behind_the_edge_of_its_place():
    title = timed('[[build]]\nparts = ["first"]\nlength = 9\nkind = "slide"\ntowards = "up"')
    rest = of(title.whole, "first")
    rows, columns = np.flatnonzero(rest.any(1)), np.flatnonzero(rest.any(0))
    for frame in range(9):
        there = of(title.at(frame), "first")
        outside = there.copy()
        outside[rows[0] : rows[-1] + 1, columns[0] : columns[-1] + 1] = 0
        assert not outside.any()
    sums = [float(of(title.at(frame), "first").sum()) for frame in range(9)]
    assert sums == sorted(sums)
    assert 0 < sums[1] < 0.5 * rest.sum()


def test_a_slide_with_a_distance_is_seen_on_its_way():
    title = timed(
        '[[build]]\nparts = ["first"]\nlength = 1\nkind = "slide"\ntowards = "up"\n'
        'distance = 20\ncurve = "linear"'
    )
    rest, half = of(title.whole, "first"), of(title.at(0), "first")
    # by hand: half of 20 % of 270 rows
    assert np.allclose(half, np.roll(rest, 27, axis=0), atol=1e-6)


def test_the_way_out_ends_with_the_last_frame():
    title = timed('[[leave]]\nparts = ["words", "first", "second"]\nlength = 4\ncurve = "linear"')
    place = (200, 230)
    values = [float(seen(title, frame, 50)[place]) for frame in range(45, 51)]
    assert values == pytest.approx([1.0, 0.8, 0.6, 0.4, 0.2, 0.0], abs=1e-6)
    assert title.at(45, 50) is title.whole
    assert title.at(49) is title.whole  # shown without end, it never goes


def test_frames_that_look_alike_have_one_state():
    title = timed(
        '[[build]]\nparts = ["first"]\nlength = 3\n[[leave]]\nparts = ["first"]\nlength = 2'
    )
    states = [title.state(frame, 20) for frame in range(20)]
    assert len(set(states)) == 3 + 1 + 2
    assert states[3] == states[17]
    assert title.state(30, 60) == states[5]


def test_each_line_can_be_read_from_when_it_is_fully_there():
    title = timed(
        '[[build]]\nparts = ["first"]\nat = 5\nlength = 5\n'
        '[[build]]\nparts = ["second"]\nat = 20\nlength = 10\n'
        '[[leave]]\nparts = ["second"]\nlength = 8\n'
        '[[leave]]\nparts = ["first"]\nat = 2\nlength = 4\n'
    )
    # by hand, of 100 frames: the way out begins at 92; "second" goes at once, "first" at 94
    assert title.readings(100) == [("one two three", 10, 91), ("three", 30, 91)]


def test_the_shipped_built_design_holds():
    design = parse_design((DEMO / "designs" / "quay.toml").read_text(encoding="utf-8"))
    assert design.design.build
    assert [step.span(RATE) for step in design.design.leave][-1][1] == 20
