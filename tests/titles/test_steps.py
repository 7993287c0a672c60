"""Steps of a build as a design states them: times at every rate, names that lead nowhere."""

from fractions import Fraction

import pytest

from keyer.errors import SheetError
from keyer.titles.read import parse_design
from keyer.titles.steps import Step, longest

BOXES = """
name = "Trial"
[styles.s]
[[boxes]]
id = "panel"
place = "left"
panel = {}
[[boxes.texts]]
id = "first"
text = "A"
style = "s"
[[boxes.texts]]
id = "second"
text = "B"
style = "s"
"""


@pytest.mark.parametrize(
    ("moment", "rate", "frames"),
    [
        (10, 25, 10),
        ("10f", 25, 10),
        ("0.4s", 25, 10),
        ("0.5s", 25, 13),  # by hand: 12.5, halves go up
        ("0.4s", Fraction(30000, 1001), 12),  # by hand: 11.988
        ("0.4s", Fraction(60000, 1001), 24),  # by hand: 23.976
    ],
)
def test_seconds_go_to_the_nearest_frame(moment, rate, frames):
    assert Step(parts=("a",), at=moment, kind="cut").span(Fraction(rate)) == (frames, frames)


def test_the_end_is_rounded_once():
    """By hand: 12.5 to 20 frames; the length alone would be 8."""
    assert Step(parts=("a",), at="0.5s", length="0.3s").span(Fraction(25)) == (13, 20)


def test_spans_and_the_longest():
    one = Step(parts=("a",), at="0.2s", length="0.4s")
    cut = Step(parts=("b",), at=30, kind="cut")
    assert one.span(Fraction(25)) == (5, 15)
    assert cut.span(Fraction(25)) == (30, 30)
    assert longest((one, cut), Fraction(25)) == 30
    assert longest((), Fraction(25)) == 0


@pytest.mark.parametrize(
    ("steps", "says"),
    [
        ('[[build]]\nparts = ["panle"]', "Is it 'panel'?"),
        ('[[build]]\nparts = ["first", "first"]', "named once"),
        ("[[leave]]\nparts = []", "parts"),
        ('[[build]]\nparts = ["first"]\nsoft = 2', "edge of a wipe"),
        ('[[build]]\nparts = ["first"]\ndistance = 9', "way of a slide"),
        ('[[build]]\nparts = ["first"]\nkind = "slide"\ntowards = "up and down"', "for a slide"),
        ('[[build]]\nparts = ["first"]\nat = "00:00:01:00"', "seconds"),
        ('[[build]]\nparts = ["first"]\nat = "soon"', "must be a time"),
        ('[[build]]\nparts = ["first"]\n[move]\nkind = "crawl"', "crawls or rolls"),
        ('[[boxes]]\nid = "first"\nplace = "top"\nwidth = 1\nheight = 1', "given once"),
    ],
)
def test_what_steps_cannot_be(steps, says):
    with pytest.raises(SheetError, match=says):
        parse_design(BOXES + steps)


def test_the_same_part_may_come_and_go():
    steps = '[[build]]\nparts = ["first"]\n[[leave]]\nparts = ["first"]\n'
    assert len(parse_design(BOXES + steps).design.leave) == 1
