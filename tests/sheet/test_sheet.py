from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st
from sheet.making import FEWER, SPOT, documents

from keyer.errors import SettingError, SheetError, TimeError
from keyer.kinds.timing import RATES
from keyer.sheet.effect import CUT, Keyframe, Pose, Transition
from keyer.sheet.load import build_sheet, parse_sheet
from keyer.sheet.sheet import Overlay
from keyer.sheet.source import Bars, Source


def test_a_transition_of_n_frames_has_n_mixed_ones():
    # convention stated in docs/transitions.md: progress (i + 1) / (N + 1)
    three = Transition("mix", 3)
    assert [three.progress(i) for i in range(-1, 4)] == [0, 0.25, 0.5, 0.75, 1]
    assert Transition("mix", 1).progress(0) == 0.5
    assert CUT.progress(0) == 1
    assert Transition("mix", 3, "ease-in").progress(1) == 0.25  # 0.5 squared


def test_moments_of_the_spot():
    sheet = parse_sheet(SPOT)
    first = sheet.base_at(0)
    assert (first.cue.index, first.before, first.progress) == (0, None, 1 / 26)
    assert sheet.base_at(24).progress == 25 / 26
    assert sheet.base_at(25).progress is None
    assert sheet.base_at(99).cue.index == 0
    wipe = sheet.base_at(100)
    assert (wipe.cue.index, wipe.before.index, wipe.progress) == (1, 0, 1 / 26)
    assert sheet.base_at(125) == sheet.base_at(224)
    out = sheet.base_at(249)
    assert (out.cue.source, out.before.source, out.progress) == (None, "jetty", 25 / 26)


@FEWER
@given(documents())
def test_progress_of_every_cue_starts_small_ends_large_and_never_falls(data):
    sheet = build_sheet(data)
    ends = [*[cue.at for cue in sheet.cues[1:]], sheet.length]
    for cue, end in zip(sheet.cues, ends, strict=True):
        marks = {
            cue.at,
            cue.at + cue.transition.length - 1,
            cue.at + cue.transition.length,
            end - 1,
        }
        last = 0.0
        for frame in sorted(mark for mark in marks if cue.at <= mark < end):
            moment = sheet.base_at(frame)
            assert moment.cue is cue
            mixed = frame < cue.at + cue.transition.length
            assert (moment.progress is not None) == mixed
            if mixed:
                assert last < moment.progress < 1
                last = moment.progress


@pytest.mark.parametrize("value", [-1, 250, "10s", "00:00:10:00", "x", 2.5])
def test_times_outside_the_sheet_are_refused(value):
    with pytest.raises(TimeError, match="at "):
        parse_sheet(SPOT).frame(value)
    assert parse_sheet(SPOT).frame("00:00:09:24") == 249


def test_frames_are_labelled_from_the_start():
    def sheet(form, start):
        text = SPOT.replace("1080p25", form).replace('"10s"', f'400\nstart = "{start}"')
        text = text.replace('"1s"', "20").replace('"2s"', "50").replace('"8s"', "200")
        return parse_sheet(text.replace('"4s"', "100").replace('"9s"', "225"))

    assert sheet("1080p25", "10:00:00:00").label(25) == "10:00:01:00"
    assert sheet("1080p29.97", "09:59:59;28").label(2) == "10:00:00;00"
    assert sheet("1080p29.97", "00:00:59;28").label(2) == "00:01:00;02"
    assert sheet("1080p29.97", "00:00:59:28").label(2) == "00:01:00:00"  # written non-drop
    assert sheet("1080p25", "23:59:59:24").label(1) == "00:00:00:00"
    assert sheet("1080p29.97", "0").label(1800) == "00:01:00;02"


def overlay(**parts):
    return Overlay(**{"index": 0, "source": "a", "start": 100, "stop": 110, **parts})


def test_an_overlay_comes_in_its_first_frames_and_goes_in_its_last():
    over = overlay(enter=Transition("mix", 3), leave=Transition("wipe", 1, pattern=1))
    shares = [over.presence(frame) for frame in range(100, 110)]
    assert [round(found[1], 9) if found else 1 for found in shares] == [
        0.25, 0.5, 0.75, 1, 1, 1, 1, 1, 1, 0.5,
    ]  # fmt: skip
    assert shares[0][0] is over.enter
    assert shares[-1][0] is over.leave
    assert [over.seen(frame) for frame in (99, 100, 109, 110)] == [False, True, True, False]
    assert overlay().presence(100) is None


def test_an_overlay_moves_between_its_keyframes():
    frames = (
        Keyframe(2, Pose(0, 10, 100, 0), "linear"),
        Keyframe(6, Pose(40, 10, 200, 1), "ease-in"),
        Keyframe(8, Pose(40, 20, 200, 1)),
    )
    over = overlay(keyframes=frames)
    assert over.pose(100) == over.pose(102) == Pose(0, 10, 100, 0)
    assert over.pose(103) == Pose(10, 10, 125, 0.25)
    assert over.pose(106) == Pose(40, 10, 200, 1)
    assert over.pose(107) == Pose(40, 12.5, 200, 1)  # a quarter of the way: 0.5 squared
    assert over.pose(109) == Pose(40, 20, 200, 1)
    assert overlay().pose(105) == Pose()


def test_keyframes_inherit_what_they_do_not_say():
    text = SPOT.replace("at = 0, position = [30, 50]", "at = 0, opacity = 0.5")
    first, second = parse_sheet(text).overlays[0].keyframes
    assert first.pose == Pose(50, 50, 80, 0.5)
    assert second.pose == Pose(70, 50, 80, 0.5)


def test_the_window_of_a_clip_counts_in_its_own_rate():
    def window(first, end, frames=100, rate=RATES["50"]):
        return Source("a", Bars(75), trim=(first, end)).window(rate, frames)

    assert window(None, None) == (0, 100)
    assert window("1s", "00:00:01:25") == (50, 75)
    assert window(10, None, rate=Fraction(25, 2)) == (10, 100)
    for first, end in ((50, 50), (60, 50), (0, 101), (100, None), (None, 0)):
        with pytest.raises(TimeError, match="within the clip's 100 frames"):
            window(first, end)


def test_the_digest_is_of_what_is_said_and_not_how_or_where(tmp_path):
    spot = SPOT + '[sources.super]\ntitle = { design = "titles/super.toml" }\n'
    sheet = parse_sheet(spot)
    again = parse_sheet("# remark\n" + spot.replace('"10s"', "250"), "other", folder=tmp_path)
    assert again.digest == sheet.digest
    assert len(sheet.digest) == 64
    digests = {sheet.digest}
    for old, new in (
        ("soft = 3", "soft = 3.5"),
        ('at = "4s"', "at = 101"),
        ("media/lake.png", "media/lake2.png"),
        ("1080p25", "720p25"),
        ("scale = 80", "scale = 81"),
        ('"green"', '"blue"'),
    ):
        digests.add(parse_sheet(spot.replace(old, new)).digest)
    assert len(digests) == 7


def test_later_stages_add_faults_with_their_place():
    sheet = parse_sheet(SPOT, "spot.toml")
    path = "cues[1].transition.pattern"
    error = sheet.error([sheet.fault(path, "is unknown."), sheet.fault("sheet", "is odd.")])
    assert isinstance(error, SheetError)
    assert str(error) == (
        "spot.toml: 2 faults\nsheet, line 3: is odd.\n"
        "cues[1].transition.pattern, line 28: is unknown."
    )
    assert sheet.locate(path) == sheet.locate("cues[1].transition") == 28
    assert sheet.locate("nowhere") is None
    with pytest.raises(SettingError):
        sheet.locate("a..b")


@FEWER
@given(documents(), st.data())
def test_every_frame_of_an_overlay_is_somewhere(data, draw):
    sheet = build_sheet(data)
    for over in sheet.overlays:
        frame = draw.draw(st.integers(over.start, over.stop - 1))
        found = over.presence(frame)
        assert found is None or 0 < found[1] < 1
        assert 0 <= over.pose(frame).opacity <= 1


def test_the_digest_is_the_same_wherever_files_may_be_looked_for(tmp_path):
    text = SPOT.replace("[sources.lake]", '[sources.name.title]\ndesign = "a.toml"\n[sources.lake]')
    confined = parse_sheet(text, folder=tmp_path, within=tmp_path)
    assert confined.digest == parse_sheet(text, folder=tmp_path).digest
