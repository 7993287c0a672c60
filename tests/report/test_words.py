import pytest

from keyer.kinds.field import Modifiers, Modulation
from keyer.kinds.settings import Edge, Finish, Shade
from keyer.library import load_patterns
from keyer.report.words import (
    Setting,
    colour_words,
    edge_words,
    effect_words,
    key_words,
    modifier_words,
    pattern_words,
)
from keyer.sheet.effect import Key, Transition
from keyer.sheet.masks import Mask

LIBRARY = load_patterns()


def test_a_colour_is_written_as_the_sheet_has_it():
    assert colour_words((1.0, 200 / 255, 61 / 255)) == "#FFC83D"


@pytest.mark.parametrize(
    ("transition", "said"),
    [
        (Transition("cut"), "Cut"),
        (Transition("mix", 25), "Mix, 25 frames"),
        (Transition("mix", 1, "ease"), "Mix, 1 frame, ease"),
        (Transition("fade", 12, colour=(0.0, 0.0, 0.0)), "Fade, #000000, 12 frames"),
        (Transition("mix", 0), "Cut"),
    ],
)
def test_a_transition_in_one_line(transition, said):
    assert effect_words(transition, LIBRARY)[0].text == said


def test_a_pattern_has_its_code_whichever_way_it_is_written():
    for pattern in ("clockWipe/clockwiseTwelve", 201, "201", "clockWipe"):
        transition = Transition("wipe", 10, pattern=pattern)
        assert pattern_words(transition, LIBRARY) == "SMPTE 201 clockWipe/clockwiseTwelve"
    assert pattern_words(Transition("wipe", 10, pattern="own/thing"), LIBRARY) == "own/thing"
    assert pattern_words(Transition("mix", 10), LIBRARY) == ""


def test_edges():
    assert edge_words(Edge()) == [Setting("Hard edge")]
    assert edge_words(Edge(soft=2.5)) == [Setting("Soft edge 2.5 %")]
    white = edge_words(Edge(border=1.5, border_soft=0.5))
    assert white == [Setting("Border 1.5 % #FFFFFF, soft by 0.5 %", "#FFFFFF")]
    ramp = Edge(border=2, border_colour=(1, 0, 0), border_ramp=(0, 0, 1))
    assert edge_words(ramp)[0].text == "Border 2 % #FF0000 to #0000FF"


def test_a_third_source_in_the_border_is_named():
    assert edge_words(Edge(border=2, border_ramp=(1, 0, 0)), "lake") == [
        Setting("Border 2 % of lake")
    ]


@pytest.mark.parametrize(
    ("pattern", "said"),
    [
        ("pushWipe/fromTop", ["Push, 10 frames", "pushWipe/fromTop"]),
        ("slideWipe", ["Slide, 10 frames", "slideWipe/fromLeft"]),
        ("fade", ["Mix, 10 frames", "fade/crossfade"]),
        ("fade/fadeToColor", ["Fade to #FF0000, 10 frames", "fade/fadeToColor"]),
        ("fade/fadeFromColor", ["Fade from #FF0000, 10 frames", "fade/fadeFromColor"]),
    ],
)
def test_patterns_that_move_or_fade_are_called_what_they_are(pattern, said):
    colour = (1.0, 0.0, 0.0) if "Color" in pattern else (0.0, 0.0, 0.0)
    transition = Transition("wipe", 10, pattern=pattern, colour=colour)
    settings = effect_words(transition, LIBRARY)
    assert [setting.text for setting in settings] == said
    assert settings[0].colour == ("#FF0000" if "Color" in pattern else "")


def test_every_modifier_is_said_and_no_other():
    assert modifier_words(Modifiers()) == []
    everything = Modifiers(
        reverse=True, position=(20, 80), aspect=2, rotation=45, repeat=(3, 2), mirror=True,
        start=0.1, end=0.9, modulation=Modulation("sine", 3, 20, speed=2),
    )  # fmt: skip
    assert modifier_words(everything) == [
        "Reversed",
        "Position 20 %, 80 %",
        "Aspect 2",
        "Rotated 45°",
        "Repeat 3 x 2, mirrored",
        "Sine wave 3 % by 20 %, 2 cycles/s",
        "Progress 0.1 to 0.9",
    ]


def test_keys():
    assert key_words(Key("chroma")) == "Chroma key, hue auto"
    assert key_words(Key("chroma", quality="fine", hue=120.0)) == "Fine chroma key, hue 120°"
    by_hand = Key("chroma", acceptance_deg=92.5, clip_percent=4, gain=1.15, spill_percent=80)
    assert key_words(by_hand) == (
        "Chroma key, hue auto, acceptance 92.5°, clip 4 %, gain 1.15, spill 80 %"
    )
    used = {"hue_deg": 118.34, "acceptance_deg": 60, "clip_percent": 12.3, "gain": 1.5}
    assert key_words(Key("chroma"), used) == (
        "Chroma key, hue 118.34°, acceptance 60°, clip 12.3 %, gain 1.5"
    )
    linear = Key("linear", source="mask", channel="alpha", clip_percent=5, invert=True)
    assert key_words(linear) == "Linear key of mask, its alpha, clip 5 %, inverted"


def test_what_is_done_to_a_matte_by_hand_is_said():
    key = Key(
        "chroma",
        garbage=(Mask("rectangle", (0, 0, 5, 100)), Mask(source="stand")),
        hold=(Mask(source="product"),),
        finish=Finish(12, 3, -0.5, 2),
        shade=Shade(80, 1.5),
        clean_plate="empty",
        sample=(1, 2, 3, 4),
    )
    assert key_words(key) == (
        "Chroma key, hue auto, 2 garbage mattes, 1 hold-in matte, holes filled to 12 px, specks "
        "dropped to 3 px, shrunk 0.5 px, feathered 2 px, shadow 80 %, shadow soft 1.5 %, clean "
        "plate empty, picked area"
    )
