"""Controls made from the sheet's models: what each is, and that tables are none."""

from keyer.rehearsal.controls import controls
from keyer.rehearsal.rows import settings_of
from keyer.sheet.load import parse_sheet

SHEET = """version = 1
[sheet]
format = "64x36@25"
length = 50
fade_in = { length = 5 }
[sources]
a = { gradient = { first = "#000000", second = "#FFFFFF" }, correct = { gamma = 1.2 } }
[[cues]]
source = "a"
placement = { scale = 50 }
[[cues]]
source = "a"
at = 10
transition = { kind = "wipe", pattern = 1, hold = { length = 5 }, modulate = { wave = "sine" } }
"""


def test_every_control_is_of_a_kind_that_the_page_makes():
    kinds = {one["control"] for listed in controls().values() for one in listed}
    assert kinds <= {
        "number", "whole", "switch", "choice", "source", "colour", "colours", "time", "numbers",
        "hue", "pattern", "design", "look", "text",
    }  # fmt: skip


def test_a_table_inside_another_has_controls_of_its_own_and_is_none_itself():
    for table, key in (("transition", "hold"), ("sheet", "fade_in"), ("source", "correct")):
        assert key not in [one["key"] for one in controls()[table]]
    assert [one["key"] for one in controls()["hold"]] == ["at", "length"]


def test_tables_inside_others_are_told_by_their_paths():
    told = settings_of(SHEET, parse_sheet(SHEET))
    assert told["sheet.fade_in"]["length"]["value"] == 5
    assert told["sources.a.gradient"]["second"]["value"] == "#FFFFFF"
    assert told["sources.a.correct"]["gamma"]["origin"] == "own"
    assert told["cues[0].placement"]["scale"]["value"] == 50
    assert told["cues[1].transition.hold"]["length"]["value"] == 5
    assert told["cues[1].transition.modulate"]["wave"]["value"] == "sine"
