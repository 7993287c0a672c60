"""Keys by what paper and page call them."""

import pytest

from keyer.errors import SettingError
from keyer.sheet.called import key_called
from keyer.sheet.load import parse_sheet

SPOT = """version = 1
[variables]
accent = "#FFC83D"
[sheet]
format = "64x36@25"
length = "10s"
[sources]
lake = { colour = "#102030" }
jetty = { bars = 75 }
[[cues]]
source = "lake"
[[cues]]
name = "Second"
source = "jetty"
at = "4s"
transition = { kind = "wipe", pattern = 1, length = 24, modulate = { amplitude = 1 } }
[[overlays]]
name = "Presenter"
source = "jetty"
transition_in = { kind = "mix", length = 9 }
key = { kind = "luminance" }
[[overlays]]
source = "lake"
transition_in = { kind = "mix", length = 9 }
transition_out = { kind = "mix", length = 9 }
"""


@pytest.mark.parametrize(
    ("said", "path"),
    [
        ("Shot 2 border colour", "cues[1].transition.border_colour"),
        ("shot 2, Second: transition, border colour", "cues[1].transition.border_colour"),
        ("Cue 2: soft edge", "cues[1].transition.soft"),
        ("Second softness", "cues[1].transition.soft"),
        ("Shot 2 starts", "cues[1].at"),
        ("Shot 2 wave amplitude", "cues[1].transition.modulate.amplitude"),
        ("Presenter scale", "overlays[0].placement.scale"),
        ("Presenter length", "overlays[0].transition_in.length"),  # only this one is there
        ("Presenter goes length", "overlays[0].transition_out.length"),
        ("Overlay 1: spill suppression", "overlays[0].key.spill"),
        ("Source jetty bars", "sources.jetty.bars"),
        ("Light", "sheet.light"),
        ("accent", "variables.accent"),
        ("cues[1].transition.soft", "cues[1].transition.soft"),
    ],
)
def test_what_is_said_is_a_path(said, path):
    assert key_called(parse_sheet(SPOT), said) == path


@pytest.mark.parametrize(
    ("said", "words"),
    [
        ("Shot 2 boarder colour", "Did you mean 'Shot 2 border colour'"),
        ("Overlay 2 length", r"may be overlays\[1\]\.transition_in\.length and overlays\[1\]"),
        ("lake starts", "must be a key|may be"),
        ("", "must be a key"),
    ],
)
def test_a_refusal_says_what_there_is(said, words):
    sheet = parse_sheet(SPOT + '[[cues]]\nsource = "lake"\nat = "8s"\n')
    with pytest.raises(SettingError, match=words):
        key_called(sheet, said)
