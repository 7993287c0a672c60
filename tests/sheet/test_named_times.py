"""Times that a sheet gives by name: what they mean, in which order, and what they cannot be."""

import pytest

from keyer.errors import SheetError
from keyer.kinds.formats import parse_format
from keyer.report.versions.changes import sheet_changes
from keyer.report.versions.convert import convert_sheet
from keyer.sheet.edit import flatten_sheet
from keyer.sheet.load import parse_sheet

HEAD = """version = 1
[sheet]
format = "64x36@25"
length = {length}
{more}
[sources]
lake = {{ colour = "#102030" }}
jetty = {{ bars = 75 }}
[transitions.house]
kind = "mix"
length = 20
[[cues]]
source = "lake"
[[cues]]
name = "Second"
source = "jetty"
at = {second}
transition = {{ kind = "mix", length = 24 }}
[[cues]]
source = "lake"
at = {third}
transition = {{ use = "house" }}
[[overlays]]
name = "Presenter"
source = "jetty"
in = {in_}
out = {out}
transition_in = {{ kind = "mix", length = 9 }}
transition_out = {{ kind = "mix", length = 4 }}
"""
PLAIN = {"length": '"10s"', "more": "", "second": '"4s"', "third": "175", "in_": "25", "out": "75"}


def sheet_of(tail="", **times):
    return parse_sheet(HEAD.format(**{**PLAIN, **times}) + tail)


@pytest.mark.parametrize(
    ("key", "said", "frame"),
    [
        ("in_", "Shot 2 - 80", 20),
        ("out", "Shot 2.in", 100),
        ("out", "Second:48%", 111),  # the 12th of 24 mixed frames, as said on the command line
        ("out", "Shot 2 . out", 195),  # until the house's 20 frames have taken it off
        ("out", "Shot 3.out - 1s", 225),
        ("third", "Shot 2 + 00:00:03:10", 185),
        ("second", "presenter.out + 1s", 100),
        ("second", "Overlay 1.in:50%", 29),  # by hand: (i + 1) / 10 at a half: the 5th frame
    ],
)
def test_a_time_by_name(key, said, frame):
    sheet = sheet_of(**{key: f'"{said}"'})
    overlay = sheet.overlays[0]
    found = {
        "in_": overlay.start,
        "out": overlay.stop,
        "second": sheet.cues[1].at,
        "third": sheet.cues[2].at,
    }
    assert found[key] == frame


def test_names_rest_on_names_in_any_order():
    sheet = sheet_of(in_='"Shot 3 + 1s"', out='"Presenter.in + 2s"', third='"Shot 2 + 75"')
    assert (sheet.cues[2].at, sheet.overlays[0].start, sheet.overlays[0].stop) == (175, 200, 250)


def test_everywhere_that_a_point_is_taken():
    tail = (
        'placement = { keyframes = [{ at = 0 }, { at = "Shot 2", scale = 50 }] }\n'
        '[[sound]]\nfile = "a.wav"\nat = "Shot 2"\n'
        '[[remarks]]\nat = "Presenter.in:90%"\ntext = "here"\n'
        '[effects.inner]\nlength = "Shot 2 + 1s"\n'
        'cues = [{ source = "lake" }, { source = "jetty", at = "Shot 1 + 12" }]\n'
    )
    sheet = sheet_of(tail, length='"Shot 3 + 3s"', more='stills = ["Shot 3"]', out='"Shot 3"')
    assert (sheet.length, sheet.stills) == (250, (175,))
    assert sheet.overlays[0].keyframes[1].at == 75  # 100, counted from 25
    assert sheet.sounds[0].at == 100
    assert sheet.remarks[0].at == 33  # the 9th of 9 mixed frames, from 25
    inner = sheet.effects["inner"]
    assert (inner.length, inner.cues[1].at) == (37, 12)


def test_a_sheet_says_the_same_however_it_is_written():
    named = sheet_of(in_='"Shot 2 - 75"', third='"Shot 2 + 3s"')
    assert named == sheet_of()
    assert named.digest == sheet_of().digest
    assert sheet_changes(named, sheet_of()) == ()
    assert parse_sheet(flatten_sheet(named)) == named


def test_what_rests_on_a_shot_that_moved_is_told():
    old, new = (sheet_of(third='"Shot 2 + 3s"', second=at) for at in ("100", "110"))
    assert [str(one) for one in sheet_changes(old, new)] == [
        "Shot 2, Second: starts 00:00:04:00 → 00:00:04:10",
        "Shot 3, lake: starts 00:00:07:00 → 00:00:07:10",
    ]


@pytest.mark.parametrize("rate", ["24", "29.97", "50"])
def test_at_another_rate_it_becomes_the_time_that_it_is(rate):
    named = sheet_of(in_='"Shot 2 - 75"', third='"Shot 2 + 3s"', out='"Shot 2:48%"')
    plain = sheet_of(out="111")
    form = parse_format(f"64x36@{rate}")
    made, other = (convert_sheet(sheet, form).sheet for sheet in (named, plain))
    assert made == other
    assert "Shot" not in made.text


@pytest.mark.parametrize(
    ("times", "says"),
    [
        ({"in_": '"Shot 4"'}, "Shot 3"),
        ({"in_": '"Presentor.out"'}, "Did you mean 'Presenter'"),
        ({"in_": '"Shot 2 - 5s"'}, "25 frames before the beginning"),
        ({"in_": '"Presenter.in + 1"'}, r"depends on itself: overlays\[0\].in > overlays\[0\].in"),
        ({"second": '"Shot 3 - 1s"', "third": '"Shot 2 + 1s"'}, "depends on itself"),
        ({"length": '"Shot 3.out"'}, "depends on itself"),
        ({"in_": '"Shot 1:30%"'}, "that is a cut"),
        ({"in_": '"Shot 2 + soon"'}, "must be a time"),
        ({"out": '"Shot 2 + 10s"'}, "past the end"),
    ],
)
def test_what_it_cannot_be(times, says):
    with pytest.raises(SheetError, match=says) as caught:
        sheet_of(**times)
    assert all(fault.line for fault in caught.value.faults)
