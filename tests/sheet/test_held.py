"""Transitions that are held for a while."""

import pytest

from keyer.errors import SheetError
from keyer.kinds.timing import eased
from keyer.library import load_patterns
from keyer.report.words import transition_words
from keyer.sheet.effect import Transition
from keyer.sheet.load import build_sheet


def progresses(**how):
    move = Transition("wipe", **how)
    return [move.progress(index) for index in range(move.length)]


def test_it_goes_stands_and_goes_on():
    """By hand: of ten frames four are held; the six that move are at 1/7 to 6/7."""
    found = progresses(length=10, rest=(0.5, 4))
    expected = [1 / 7, 2 / 7, 3 / 7, 0.5, 0.5, 0.5, 0.5, 4 / 7, 5 / 7, 6 / 7]
    assert found == pytest.approx(expected)


def test_the_curve_is_that_of_what_moves():
    found = progresses(length=7, rest=(0.3, 2), curve="ease")
    moving = [eased("ease", (step + 1) / 6) for step in range(5)]
    assert found == pytest.approx(sorted([*moving, 0.3, 0.3]))


def test_held_all_the_time_it_is_a_split_screen():
    assert progresses(length=5, rest=(0.5, 5)) == [0.5] * 5
    assert Transition("wipe", length=5, rest=(0.5, 5)).progress(-1) == 0
    assert Transition("wipe", length=5, rest=(0.5, 5)).progress(5) == 1


def test_without_it_nothing_is_held():
    assert progresses(length=3) == pytest.approx([0.25, 0.5, 0.75])


def sheet_of(hold, kind="wipe"):
    move = {"kind": kind, "length": 20, "hold": hold}
    move |= {"pattern": "barWipe"} if kind == "wipe" else {}
    return build_sheet(
        {
            "version": 1,
            "sheet": {"format": "64x36@25", "length": 60},
            "sources": {"a": {"bars": 75}, "b": {"ramp": True}},
            "cues": [{"source": "a"}, {"source": "b", "at": 10, "transition": move}],
        }
    )


def test_a_dissolve_is_a_mix():
    move = {"at": 0.25, "length": 10}
    assert sheet_of(move, "dissolve").cues == sheet_of(move, "mix").cues


def test_a_sheet_says_it_with_one_key_and_the_paper_repeats_it():
    move = sheet_of({"at": 0.25, "length": 10}).cues[1].transition
    assert move.rest == (0.25, 10)
    assert transition_words(move, load_patterns()) == "Wipe, 20 frames, held at 25 % for 10 frames"
    assert sheet_of({"length": 20}, "mix").cues[1].transition.rest == (0.5, 20)


@pytest.mark.parametrize(
    ("hold", "said"),
    [
        ({"length": 21}, "must be 1 to the 20 frames of the transition, got 21"),
        ({"length": 0}, "must be 1 to the 20 frames"),
        ({"at": 2, "length": 3}, "must be in"),
    ],
)
def test_what_cannot_be_held_is_refused(hold, said):
    with pytest.raises(SheetError, match=said) as caught:
        sheet_of(hold)
    assert "cues[1].transition.hold" in str(caught.value)
