"""Ink that leaves the picture, its panel, or runs into other lines."""

import pytest
from titles.drawing import draw_title
from titles.system_fonts import square_font

from keyer.errors import SettingError
from keyer.titles.foresee import Foresight
from keyer.titles.ink import Canvas
from keyer.titles.inside import ink_faults, laid_out
from keyer.titles.layout import lay_out
from keyer.titles.read import parse_design

CANVAS = Canvas(320, 180)
DESIGN = """
name = "Trial"
[fields.name]
[fields.more]
default = ""
[styles.big]
size = 12
line_spacing = {spacing}
fallback = ["tall.ttf"]
opacity = {opacity}
[[boxes]]
id = "words"
place = "{place}"
{extra}
[[boxes.texts]]
text = "${{name}}"
style = "big"
fit = "wrap"
lines = 30
[[boxes]]
id = "others"
place = "top left"
[[boxes.texts]]
text = "${{more}}"
style = "big"
"""
STACK = "\u0f60"
"""A letter that is twice as tall as a capital, as stacked ones are."""


@pytest.fixture(scope="module", autouse=True)
def folder(tmp_path_factory):
    """A folder with a font that has the tall letter."""
    folder = tmp_path_factory.mktemp("fonts")
    square_font(folder / "tall.ttf", "Tall", STACK, height=1400)
    made.folder = folder
    return folder


def made(place="bottom left", spacing=1.15, extra="", opacity=1, move=""):
    text = DESIGN.format(place=place, spacing=spacing, extra=extra, opacity=opacity)
    return parse_design(text + move).design


def faults(design, name, more="", canvas=CANVAS):
    values = design.values({"name": name, "more": more})
    layout = lay_out(design, values, canvas, made.folder)
    assert not layout.faults
    found = ink_faults(layout, design, canvas)
    assert Foresight(design, canvas, made.folder).faults({"name": name, "more": more}) == found
    return found


def test_title_that_stays_inside():
    assert faults(made(), "Ines Marlow") == []
    assert faults(made(), "Ågypq\nÉjgÄ") == []


@pytest.mark.parametrize(("place", "edge"), [("bottom left", "top"), ("top left", "bottom")])
def test_title_taller_than_the_picture(place, edge):
    (fault,) = faults(made(place), "\n".join("abcdefghij"))
    assert f"leaves the picture at the {edge}" in fault


def test_title_at_the_side_of_the_picture():
    (fault,) = faults(made(extra="width = 300"), "Hamburg " * 6)
    assert "leaves the picture at the side" in fault


def test_stack_that_leaves_the_picture():
    assert faults(made("top left"), "Ines") == []
    (fault,) = faults(made("top left"), STACK)
    assert "leaves the picture at the top" in fault


def test_stack_that_leaves_its_panel():
    panel = "panel = { colour = '#000000' }\npadding = [3, 3]"
    assert faults(made(extra=panel), "Ågj") == []
    narrow = panel.replace("[3, 3]", "[2, 3]")  # feet reach two and a half
    assert faults(made(extra=narrow), "Agj") == []
    (fault,) = faults(made(extra=panel), STACK)
    assert "leaves its panel at the top" in fault


def test_stack_that_runs_into_the_line_above():
    assert faults(made(), "ggg\nÅ") == []
    (fault,) = faults(made(), f"ggg\n{STACK}")
    assert "runs into the line above it" in fault
    assert faults(made(), f"{' ' * 40}ggg\n{STACK}") == []  # beside it is not into it
    assert faults(made(spacing=2.5), f"ggg\n{STACK}") == []


def test_tight_lines_are_fine_as_long_as_no_letters_meet():
    assert faults(made(spacing=0.8), "NONE\nHERE") == []
    (fault,) = faults(made(spacing=0.6), "gggg\ndddd")
    assert "runs into the line above it" in fault


def test_boxes_that_lie_on_each_other():
    (fault,) = faults(made("top left"), "Ines", "Ines")
    assert "'Ines' lies on 'Ines' of box 'words'" in fault
    assert faults(made("top left", opacity=0.3), "Ines", "Ines") == []
    assert faults(made(), "Ines", "Ines") == []


def test_what_moves_may_come_from_outside():
    crawl = '[move]\nkind = "crawl"\nboxes = ["words"]'
    roll = '[move]\nkind = "roll"\nboxes = ["words"]'
    assert faults(made(move=crawl), "Hamburg " * 20) == []
    assert faults(made(move=roll), "\n".join("abcdefghij")) == []
    (fault,) = faults(made("top left", move=crawl), STACK)
    assert "leaves the picture at the top" in fault


def test_such_titles_are_not_drawn():
    design = made()
    tall = {"name": "\n".join("abcdefghij"), "more": ""}
    with pytest.raises(SettingError, match="leaves the picture"):
        draw_title(design, tall, CANVAS, folder=made.folder)
    with pytest.raises(SettingError, match="leaves the picture"):
        laid_out(design, tall, CANVAS, made.folder)


def test_rows_that_are_smaller_than_one_that_was_proved_are_not_laid_out(monkeypatch):
    from keyer.titles import foresee

    laid = []

    def counted(*arguments):
        laid.append(arguments)
        return lay_out(*arguments)

    monkeypatch.setattr(foresee, "lay_out", counted)
    foresight = Foresight(made(), CANVAS, made.folder)
    for name in ("Ågypq Hamburg", "Ines", "pq", "Ines Marlow"):
        assert foresight.faults({"name": name, "more": ""}) == []
    assert len(laid) == 1


@pytest.mark.parametrize("extra", ["max_width = 0", "max_width = 4\npadding = [0, 2]"])
def test_a_box_without_room_for_its_text_is_a_fault(extra):
    design = made(extra=extra)
    values = design.values({"name": "Ines", "more": ""})
    told = "'Ines' has no room. Make the box wider, or its padding less."
    assert any(told in fault for fault in lay_out(design, values, CANVAS, made.folder).faults)
    (fault,) = Foresight(design, CANVAS, made.folder).faults({"name": "Ines", "more": ""})
    assert told in fault
