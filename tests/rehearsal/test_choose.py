"""Many for one: patterns in a wipe's place, and values to choose among."""

from pathlib import Path

import pytest

from keyer.errors import SettingError
from keyer.library import load_patterns
from keyer.rehearsal.choose import MOST, pattern_wall, read_values, variations
from keyer.sheet.load import parse_sheet

SHEET = """version = 1
[sheet]
format = "64x36@25"
length = 40
[sources]
a = { colour = "#102030" }
b = { colour = "#E0D0C0" }
[[cues]]
source = "a"
[[cues]]
source = "b"
at = 10
transition = { kind = "wipe", pattern = 1, length = 11, border = 4, repeat = [2, 1] }
[[overlays]]
source = "b"
in = 5
out = 30
transition_in = { kind = "wipe", pattern = 1, length = 5 }
"""


def test_every_pattern_stands_on_the_wall_half_way_through():
    wall = list(pattern_wall(parse_sheet(SHEET), "cues[1].transition"))
    assert {pattern.name for pattern, _, _ in wall} == {one.name for one in load_patterns()}
    assert {frame for _, _, frame in wall} == {15}  # the sixth of eleven mixed frames
    kept = {p.name: sheet.cues[1].transition for p, sheet, _ in wall}
    assert kept["ellipseWipe/circle"].edge.border == 4
    assert kept["pushWipe/fromLeft"].edge.border == 0  # it has no boundary


def test_an_overlay_is_offered_what_it_can_come_in():
    sheet = parse_sheet(SHEET)
    wall = {p.name for p, _, _ in pattern_wall(sheet, "overlays[0].transition_in")}
    assert "ellipseWipe/circle" in wall
    assert "pushWipe/fromLeft" not in wall


@pytest.mark.parametrize("path", ["cues[0].transition", "cues[9].transition", "sheet.title", ""])
def test_what_is_no_wipe_has_no_wall(path):
    with pytest.raises(SettingError):
        list(pattern_wall(parse_sheet(SHEET), path))


def test_variations_hold_or_say_why_not():
    choices = [("cues[1].transition.border", [1, 900]), ("cues[1].transition.reverse", [True])]
    found = variations(SHEET, "spot.toml", Path(), choices)
    assert [sheet is not None for _, sheet, _ in found] == [True, False]
    assert found[0][1].cues[1].transition.edge.border == 1
    assert "[0, 100]" in found[1][2]


@pytest.mark.parametrize(
    "said",
    [
        None, [], [{}], [{"path": "x"}], [{"path": "x", "values": []}],
        [{"path": "x", "values": [1]}] * 3,
        [{"path": "x", "values": list(range(MOST + 1))}],
    ],
)  # fmt: skip
def test_choices_from_outside_are_checked(said):
    with pytest.raises(SettingError):
        read_values(said)
