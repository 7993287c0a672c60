"""Texts fitted into a width."""

import pytest

from keyer.titles.model import TextStyle
from keyer.titles.paragraphs import Fit, lay_paragraph

UNIT = 10.8
STYLE = TextStyle(size=5)
LONG = "the slow boat turns at the end of the pier and comes home before the evening"


def lay(text, fit, style=STYLE):
    return lay_paragraph([(text, style)], UNIT, fit)


def texts(paragraph):
    return [line.text for line in paragraph.lines]


def test_short_text_is_left_alone():
    paragraph, fault = lay("Ines Marlow", Fit("shrink", 900, 0.7))
    assert (paragraph.scale, fault) == (1.0, "")


def test_refuse_says_by_how_much_and_what_to_do():
    paragraph, fault = lay(LONG, Fit("refuse", 500))
    assert paragraph.width > 500
    assert "too wide. Shorten it by about" in fault
    assert "shrink or wrap" in fault


def test_shrink_fills_the_width_and_keeps_to_it():
    full, _ = lay(LONG, Fit("refuse", 1e9))
    room = full.width * 0.8
    paragraph, fault = lay(LONG, Fit("shrink", room, 0.7))
    assert fault == ""
    assert room * 0.99 < paragraph.width <= room + 0.001
    assert paragraph.scale == pytest.approx(0.8, abs=0.01)


def test_shrink_stops_at_its_minimum():
    paragraph, fault = lay(LONG, Fit("shrink", 300, 0.7))
    assert paragraph.scale == 0.7
    assert "even" in fault or "at its smallest size" in fault


def test_wrap_keeps_every_word_and_evens_the_lines():
    paragraph, fault = lay(LONG, Fit("wrap", 800, lines=4))
    assert fault == ""
    assert " ".join(texts(paragraph)) == LONG
    widths = [line.width for line in paragraph.lines]
    assert max(widths) <= 800
    assert min(widths) > 0.6 * max(widths)


@pytest.mark.parametrize("glue", ["\u00a0", "\u202f", "\u2007"])
def test_no_line_ends_at_a_blank_that_is_made_not_to_break(glue):
    """UAX #14, class GL: no break before or after it."""
    text = f"boats from 9{glue}am till 12{glue}km out and 40{glue}kg on board"
    for room in range(200, 900, 20):
        for line in texts(lay(text, Fit("wrap", room, lines=9))[0]):
            assert not line.startswith(("am", "km", "kg"))


def test_wrap_into_too_few_lines_is_a_fault():
    _, fault = lay(LONG, Fit("wrap", 300, lines=2))
    assert "lines and has 2" in fault


def test_wrap_may_shrink_where_it_is_allowed_to():
    room = 400
    _, fault = lay(LONG, Fit("wrap", room, lines=3))
    assert fault
    paragraph, fault = lay(LONG, Fit("wrap", room, 0.5, lines=3))
    assert fault == ""
    assert len(paragraph.lines) <= 3
    assert paragraph.scale < 1


def test_word_wider_than_a_line():
    _, fault = lay("Donaudampfschifffahrtsgesellschaft", Fit("wrap", 100, lines=9))
    assert "one word is wider than a line" in fault


def test_line_breaks_of_the_text_are_kept():
    paragraph, fault = lay("one\ntwo\r\nthree", Fit("refuse", 900))
    assert (texts(paragraph), fault) == (["one", "two", "three"], "")
    # by hand: two steps of 1.15 x 54 pixels, and a capital of 0.66 x 54
    assert paragraph.height == pytest.approx(2 * 1.15 * 54 + 0.66 * 54, abs=0.5)


def test_hyphens_break_and_stay():
    paragraph, _ = lay("north-north-west", Fit("wrap", 160, lines=3))
    assert "".join(texts(paragraph)) == "north-north-west"
    assert texts(paragraph)[0].endswith("-")


def test_nothing_is_nothing():
    paragraph, fault = lay("", Fit("wrap", 100))
    assert (paragraph.lines, paragraph.height, fault) == ((), 0.0, "")


def test_five_thousand_letters_are_refused_quickly():
    _, fault = lay("x" * 5000, Fit("wrap", 1000, lines=2))
    assert "Shorten it" in fault
    assert len(fault) < 300
