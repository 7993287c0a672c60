"""Effects and sheets within each other: how deep, how many, and how many pictures in a frame."""

import pytest

from keyer.errors import SheetError
from keyer.sheet.layers import deepest, layers, way_back
from keyer.sheet.load import build_sheet, load_sheet

HEAD = {"version": 1, "sheet": {"format": "64x36@25", "length": 4}}


def nested(levels, overlays):
    """Effects that each show the next one as a cue and in overlays."""
    data = HEAD | {"sources": {"s0": {"colour": "#FFF"}}, "effects": {}, "cues": []}
    for n in range(levels):
        data["effects"][f"e{n}"] = {
            "cues": [{"source": f"s{n}"}],
            "overlays": [{"source": f"s{n}"}] * overlays,
        }
        data["sources"][f"s{n + 1}"] = {"effect": f"e{n}"}
    data["cues"] = [{"source": f"s{levels}"}]
    return data


def test_pictures_of_a_frame_are_counted_with_all_that_lies_within():
    """By hand: w(0) = 1, w(n + 1) = 1 + 3 w(n): 1, 4, 13, 40."""
    assert [layers(build_sheet(nested(n, 2))) for n in range(4)] == [1, 4, 13, 40]


def test_overlays_count_while_they_are_on_air_and_two_cues_at_once():
    data = HEAD | {"sources": {"a": {"colour": "#FFF"}}}
    data["cues"] = [{"source": "a"}, {"source": "a", "at": 1}, {"source": "a", "at": 2}]
    data["overlays"] = [{"source": "a", "in": n, "out": n + 1} for n in (0, 1, 2, 3)]
    assert layers(build_sheet(data)) == 3
    data["overlays"][1]["in"] = 0
    assert layers(build_sheet(data)) == 4


def test_effects_that_unfold_to_too_many_pictures_are_refused():
    """Fifteen effects of four uses each: 4^15 and more."""
    with pytest.raises(
        SheetError, match=r"shows \d{10} pictures at once.*; at most 1000 are possible\. Take"
    ):
        build_sheet(nested(15, 3))


def test_effects_are_looked_through_once_however_many_ways_lead_down():
    """Sixteen levels of four effects that each show all four of the next: 4^16 ways."""
    within = {
        f"{level}{one}": {f"{level + 1}{other}" for other in "abcd"} if level < 15 else set()
        for level in range(16)
        for one in "abcd"
    }
    ways = deepest(within)
    assert len(ways["0a"]) == 16
    assert ways["14b"] == ("14b", "15a")
    assert way_back("0a", within) == ()


def test_the_shortest_way_back_is_told():
    within = {"a": {"b", "c"}, "b": {"c"}, "c": {"d"}, "d": {"a"}, "e": {"e"}}
    assert way_back("a", within) == ("a", "c", "d", "a")
    assert way_back("e", within) == ("e", "e")


def test_effects_too_deep_are_refused_once():
    with pytest.raises(SheetError) as caught:
        build_sheet(nested(18, 0))
    assert [fault.path for fault in caught.value.faults] == ["effects.e0"]
    assert "lies within more than 16 others: e16 > e15" in str(caught.value)


def test_sheets_that_show_each_other_twice_over_come_to_an_end(tmp_path):
    """Twelve sheets that each show the next one twice: 4,096 to load."""
    for n in range(12):
        one = f'sheet = "s{n + 1}.toml"' if n < 11 else 'colour = "#FFF"'
        (tmp_path / f"s{n}.toml").write_text(
            f'version = 1\n[sheet]\nformat = "64x36@25"\nlength = 4\n[sources.a]\n{one}\n'
            f'[sources.b]\n{one}\n[[cues]]\nsource = "a"\n[[overlays]]\nsource = "b"\n'
        )
    assert layers(load_sheet(tmp_path / "s7.toml")) == 2 + 4 + 8 + 16 + 32
    with pytest.raises(SheetError, match=r"is one of more than 64 sheets within this one"):
        load_sheet(tmp_path / "s0.toml")
