import math

import pytest

from keyer.errors import SettingError
from keyer.kinds.ranges import in_range, one_of
from keyer.kinds.settings import Edge, KeySettings, parse_colour


@pytest.mark.parametrize(
    ("text", "rgb"),
    [
        ("#FF8000", (1.0, 128 / 255, 0.0)),
        ("ff8000", (1.0, 128 / 255, 0.0)),
        ("#f80", (1.0, 136 / 255, 0.0)),
    ],
)
def test_colours(text, rgb):
    """CSS Color Module Level 4, 5.2: two digits a component, or one that is doubled."""
    assert parse_colour(text) == rgb


@pytest.mark.parametrize("text", ["", "#", "#12345", "#GGGGGG", "red", "#1234567", "# 12 34"])
def test_what_is_no_colour(text):
    with pytest.raises(SettingError, match="border-colour must be written as #RRGGBB"):
        parse_colour(text, "border-colour")


@pytest.mark.parametrize("value", [math.nan, math.inf, -math.inf, -0.1, 1.1])
def test_out_of_range(value):
    with pytest.raises(SettingError, match=r"at must be in \[0, 1\]"):
        in_range("at", value, 0, 1)


def test_the_nearest_word_is_suggested():
    with pytest.raises(SettingError, match="Did you mean 'linear'"):
        one_of("light", "liner", ("video", "linear"))


@pytest.mark.parametrize("name", ["soft", "border", "border_soft"])
def test_edges_are_checked(name):
    with pytest.raises(SettingError, match=name.replace("_", "-")):
        Edge(**{name: 101.0})


@pytest.mark.parametrize(
    "change",
    [
        {"hue_deg": 400},
        {"acceptance_deg": 5},
        {"clip_percent": 96},
        {"gain": 0},
        {"spill_percent": -1},
    ],
)
def test_keys_are_checked(change):
    good = {
        "hue_deg": 230.0,
        "acceptance_deg": 90.0,
        "clip_percent": 5.0,
        "gain": 1.0,
        "spill_percent": 100.0,
        "backing": (0.1, 0.7, 0.2),
    }
    KeySettings(**good)
    with pytest.raises(SettingError, match=next(iter(change)).split("_")[0]):
        KeySettings(**(good | change))
