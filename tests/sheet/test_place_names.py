"""Frames as people say them: what the paper calls a thing, a share of a transition, an offset."""

import pytest

from keyer.errors import TimeError
from keyer.sheet.load import parse_sheet

SPOT = """version = 1
[sheet]
format = "64x36@25"
length = "10s"
start = "10:00:00:00"
[sources]
lake = { colour = "#102030" }
jetty = { bars = 75 }
[[cues]]
source = "lake"
[[cues]]
name = "Second"
source = "jetty"
at = "4s"
transition = { kind = "mix", length = 24 }
[[cues]]
source = "lake"
at = "7s"
[[overlays]]
name = "Presenter"
source = "jetty"
in = "1s"
out = "3s"
transition_in = { kind = "mix", length = 9 }
transition_out = { kind = "mix", length = 4 }
"""


def frame(text, sheet=SPOT, **more):
    return parse_sheet(sheet).frame(text, **more)


@pytest.mark.parametrize(
    ("said", "meant"),
    [
        ("Shot 2", 100),
        ("shot  2", 100),
        ("Cue 2: Second", 100),
        ("Shot 2, Second", 100),
        ("second", 100),
        ("Shot 2 + 12", 112),
        ("Shot 2+12f", 112),
        ("Shot 2 - 00:00:01:00", 75),
        ("Shot 2 \N{MINUS SIGN} 1s", 75),
        ("Presenter.in + 1s", 50),
        ("Presenter", 25),
        ("Overlay 1.out - 1", 74),
        # of 24 mixed frames the first stands at 1/25 and the 12th at 12/25: keyer.sheet.effect
        ("Shot 2:4%", 100),
        ("Shot 2:48%", 111),
        ("Shot 2:30%", 107),  # 0.30 * 25 = 7.5, to the even 8: the 8th mixed frame
        ("Shot 2:0%", 99),  # the last pure frame before, and the first one after
        ("Shot 2:100%", 124),
        ("Shot 2:30% + 12", 119),
        ("Presenter.in:50%", 29),  # 0.5 * 10 = 5: the 5th of 9
        ("Presenter.out:100%", 75),
        ("Shot 1.out", 124),  # the cue sheet's Out: after the transition that takes it off
        ("10:00:04:00", 100),  # as the paper prints it, from the sheet's start
        ("00:00:04:00", 100),
        ("4s", 100),
        (100, 100),
        (" 100f", 100),
    ],
)
def test_what_is_said_is_found(said, meant):
    assert frame(said) == meant


@pytest.mark.parametrize(
    ("said", "words"),
    [
        ("Shoot 2", r"Did you mean 'Shot 2'\?.*Shot 2 \+ 12"),
        ("lake", "may be Shot 1 and Shot 3"),
        ("Shot 3:50%", "as Shot 3 comes, that is a cut"),
        ("Shot 3.out:50%", "it stays to the end"),
        ("Shot 9", "must be a time, got 'Shot 9'. Did you mean 'Shot"),
        ("Shot 3 + 10s", r'frames 0 to 249 \(10:00:09:24\).*nearest is "249f" \(10:00:09:24\)'),
        ("Presenter - 2s", r'nearest is "0f" \(10:00:00:00\)'),
        ("300", r'nearest is "249f"'),
        ("11:00:00:00", r'nearest is "249f"'),
        ("Shot 2 + 0.03s", "must fall on a frame"),
        ("Shot 2 + soon", "must be a time"),
        ("", "must be a time"),
    ],
)
def test_a_refusal_names_what_there_is(said, words):
    with pytest.raises(TimeError, match=words):
        frame(said)


def test_timecode_that_may_be_meant_two_ways_is_refused():
    sheet = SPOT.replace('"10:00:00:00"', '"00:00:02:00"')
    with pytest.raises(TimeError, match=r'frame 100 counted from 0 and frame 50.*"100f" or "50f"'):
        frame("00:00:04:00", sheet)
    assert frame("00:00:01:00", sheet) == 25  # before the start: it can only count from 0
    assert frame("00:00:11:00", sheet) == 225  # past the end: it can only be the paper's


def test_the_papers_drop_frame_timecode_is_read_from_its_start():
    sheet = SPOT.replace("64x36@25", "64x36@29.97").replace('"10s"', '"00:00:10;00"')
    sheet = sheet.replace('"10:00:00:00"', '"10:00:59;29"')
    for name in ("4s", "7s", "1s", "3s"):
        sheet = sheet.replace(f'"{name}"', f'"00:00:0{name[0]};00"')
    # after 10:00:59;29 comes 10:01:00;02 (SMPTE ST 12-1, drop-frame)
    assert frame("10:01:00;02", sheet) == 1
    assert parse_sheet(sheet).label(1) == "10:01:00;02"


def test_the_end_is_a_time_where_something_ends():
    with pytest.raises(TimeError):
        frame("Shot 3.out")
    assert frame("Shot 3.out", end=True) == 250


def test_every_frame_is_found_by_what_the_paper_prints():
    sheet = parse_sheet(SPOT)
    assert [sheet.frame(sheet.label(n)) for n in range(250)] == list(range(250))
