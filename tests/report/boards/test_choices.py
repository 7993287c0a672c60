import pytest

from keyer.errors import SettingError
from keyer.library import load_patterns
from keyer.report.boards.choices import key_label, read_choice, read_choices, value_captions
from keyer.sheet.load import parse_sheet


@pytest.mark.parametrize(
    ("text", "values"),
    [
        ("cues[1].transition.soft=0,2.5,6", (0, 2.5, 6)),
        ("cues[1].transition.pattern=201, irisWipe/diamond", (201, "irisWipe/diamond")),
        ("cues[1].transition.border_colour=#FFC83D,#FFF", ("#FFC83D", "#FFF")),
        ("cues[1].transition.position=[30,50],[70, 50]", ([30, 50], [70, 50])),
        ('sheet.title="One, two",Three', ("One, two", "Three")),
        ("cues[1].transition.reverse=true,false", (True, False)),
        ("cues[1].at=00:00:02:00,2s", ("00:00:02:00", "2s")),
    ],
)
def test_values_are_read_as_toml_and_else_as_text(text, values):
    assert read_choice(text).values == values


@pytest.mark.parametrize("text", ["", "soft", "=1,2", "soft=", "soft= , ", "cues[x].soft=1"])
def test_what_is_no_choice_is_refused(text):
    with pytest.raises(SettingError):
        read_choice(text)


def test_a_key_twice_and_too_many_variations_are_refused():
    with pytest.raises(SettingError, match="once"):
        read_choices(["a.b=1,2", "a.b=3"])
    with pytest.raises(SettingError, match="at most 120 variations, got 121"):
        read_choices(["a.b=" + ",".join(map(str, range(11))), "a.c=" + ",".join("abcdefghijk")])


def test_keys_are_called_as_the_trade_calls_them():
    soft = "cues[1].transition.soft"
    assert key_label(soft, [soft]) == "Soft edge"
    assert key_label(soft, [soft, "cues[2].transition.soft"]) == "Cue 2: soft edge"
    ways = ["overlays[0].transition_in.soft", "overlays[0].transition_out.soft"]
    assert [key_label(way, ways) for way in ways] == [
        "Overlay 1 in: soft edge",
        "Overlay 1 out: soft edge",
    ]
    rain = "overlays[0].opacity"
    assert key_label(rain, [rain, "overlays[1].opacity"]) == "Overlay 1: opacity"


def _said(key, value, *, alone=False):
    return [
        caption.text
        for caption in value_captions(
            key_label(key, [key]), key, value, load_patterns(), alone=alone
        )
    ]


def test_values_say_what_to_ask_for():
    """Units are those that the sheet's models state."""
    assert _said("cues[1].transition.soft", 6) == ["Soft edge 6 %"]
    assert _said("cues[1].transition.rotate", 45) == ["Rotate 45°"]
    assert _said("overlays[0].key.gain", 2.5) == ["Gain 2.5"]
    assert _said("cues[0].transition.reverse", True) == ["Reverse on"]
    assert _said("cues[0].transition.position", [30, 50]) == ["Position 30, 50 %"]
    assert _said("cues[1].transition.border_colour", "#fff") == ["Border colour #FFF"]
    assert _said("cues[1].transition.pattern", 201) == ["SMPTE 201 clockWipe/clockwiseTwelve"]
    name, summary = _said("cues[1].transition.pattern", "irisWipe/diamond", alone=True)
    assert name == "SMPTE 102 irisWipe/diamond"
    assert "diamond" in summary


def test_a_key_may_be_called_as_people_call_it():
    sheet = parse_sheet(
        'version = 1\n[sheet]\nformat = "64x36@25"\nlength = 50\n'
        '[sources]\na = { bars = 75 }\n[[cues]]\nsource = "a"\n'
    )
    choice = read_choice("Shot 1 border colour=#FFC83D,#FFF", sheet)
    assert choice == read_choice("cues[0].transition.border_colour=#FFC83D,#FFF")
    with pytest.raises(SettingError, match="once"):
        read_choices(["Shot 1 softness=1,2", "cues[0].transition.soft=3"], sheet)
