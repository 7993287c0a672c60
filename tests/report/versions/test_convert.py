"""A sheet at another rate, size or shape: every time by a stated rule, within half a frame."""

import itertools
import tomllib
from fractions import Fraction
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from keyer.cli.main import perform
from keyer.errors import KeyerError, SettingError
from keyer.kinds.formats import parse_format
from keyer.kinds.timing import RATES, count_rate, timecode
from keyer.report.versions.convert import convert_sheet
from keyer.report.versions.convert_files import convert_files
from keyer.sheet.load import build_sheet, load_sheet, parse_sheet

REFERENCE = tomllib.loads(
    (Path(__file__).parents[2] / "references" / "timecode.toml").read_text(encoding="utf-8")
)
NAMES = ("24", "25", "29.97", "30", "50", "59.94")
PAIRS = list(itertools.permutations(NAMES, 2))

SPOT = """version = 1 # the form
[sheet]
title = "Trial"
format = "1080p25"
length = "30s"
start = "10:00:00:00"
stills = ["00:00:04:12"]
[sources]
lake = { colour = "#102030" }
jetty = { bars = 75 }
drift = { background = { look = "drift", loop = "4s" } }
box = { effect = "inner", in = 5 }
[transitions.house]
kind = "mix"
length = 12
[[cues]]
source = "lake"
[[cues]] # after the oars
source = "jetty"
at = "00:00:07:13" # on the beat
transition = { kind = "wipe", pattern = 1, length = "1s", hold = { length = 6 } }
[[cues]]
source = "box"
at = "12.04s"
transition = { use = "house" }
[[cues]]
at = "29s"
transition = { kind = "fade", length = "1s" }
[[overlays]]
name = "Presenter"
source = "lake"
in = 30
out = "7s"
transition_in = { kind = "mix", length = 9 }
transition_out = { kind = "mix", length = 9 }
key = { kind = "luminance", grow = 2, fill_holes = 40 }
placement = { keyframes = [{ at = 0, scale = 50 }, { at = 33, scale = 80 }] }
[effects.inner]
length = 75
cues = [{ source = "lake" }, { source = "jetty", at = 31 }]
[[remarks]]
at = 188
text = "here"
"""


def converted(form, text=SPOT, **more):
    return convert_sheet(parse_sheet(text), parse_format(form), **more)


def test_the_same_rate_changes_the_format_alone():
    made = converted("1080p25")
    assert (made.sheet.text, made.roundings, made.notices) == (SPOT, (), ())


def test_a_sheet_at_29_97():
    """By hand: 29.97 / 25 is 1200/1001; 188 frames are 225.37, 301 are 360.84, 725 are 869.13."""
    made = converted("1080p29.97")
    sheet = made.sheet
    assert [cue.at for cue in sheet.cues] == [0, 225, 361, 869]
    assert sheet.length == 900  # timecode.toml, spot30: the nominal count
    assert [cue.transition.length for cue in sheet.cues] == [0, 30, 14, 31]
    # the wipe ends at frame 213 of 25, 255.34: at 255; the fade ends with the sheet
    assert [sheet.label(0), sheet.label(1800)] == ["10:00:00;00", "10:01:00;02"]
    assert (sheet.overlays[0].start, sheet.overlays[0].stop) == (36, 210)  # 35.96 and 209.79
    assert [frame.at for frame in sheet.overlays[0].keyframes] == [0, 40]  # 63: 75.52, 76 - 36
    assert sheet.stills == (134,)  # 112 frames: 134.27
    assert sheet.remarks[0].at == 225
    assert sheet.effects["inner"].length == 90  # 3 seconds of timecode
    assert sheet.effects["inner"].cues[1].at == 37  # 31 frames: 37.16
    assert sheet.sources["box"].trim[0] == 6  # 5 frames: 5.99


def test_what_is_written_stays_as_it_was_written():
    text = converted("1080p29.97").sheet.text
    assert 'at = "00:00:07;15" # on the beat' in text
    assert "# after the oars" in text
    assert 'at = "00:00:12;01"' in text  # 361: seconds that fall between two frames
    assert "in = 36\n" in text
    assert 'length = "30s"' in converted("1080p50").sheet.text  # still exact


def test_every_rounding_is_listed_with_what_it_makes():
    said = [str(one) for one in converted("1080p29.97").roundings]
    assert "Shot 2, starts 00:00:07:13 → 00:00:07;15: 12.5 ms earlier" in said
    assert "Length 00:00:30:00 → 00:00:30;00: 30.0 ms longer" in said
    assert "Shot 2, transition length 25 frames → 30 frames: 1.0 ms longer" in said
    assert converted("1080p50").roundings == ()


@pytest.mark.parametrize("spot", REFERENCE["spot30"], ids=lambda spot: spot["rate"])
def test_thirty_seconds_stay_thirty_seconds_of_timecode(spot):
    rate = Fraction(spot["rate"])
    name = next(name for name, known in RATES.items() if known == rate)
    made = converted(f"1080p{name}")
    assert made.sheet.length == spot["nominal_count"], "timecode.toml: spot30"
    off = made.sheet.length / rate - 30
    listed = [one.seconds for one in made.roundings if one.path == "sheet.length"]
    assert listed == ([off] if off else [])


@pytest.mark.parametrize(("old", "new"), PAIRS, ids=" ".join)
@settings(max_examples=6)
@given(data=st.data())
def test_every_cue_lies_within_half_a_frame(old, new, data):
    rate, other = RATES[old], RATES[new]
    length = data.draw(st.integers(600, 4000))
    gaps = data.draw(st.lists(st.integers(8, 200), min_size=1, max_size=6))
    starts = [at for at in itertools.accumulate(gaps) if at < length - 40] or [8]
    cues = [{"source": "a"}]
    for at, after in itertools.pairwise([*starts, length - 20]):
        mixed = data.draw(st.integers(1, after - at))
        way = data.draw(st.sampled_from([at, f"{at}f", timecode(at, rate)]))
        cues.append({"source": "a", "at": way, "transition": {"kind": "mix", "length": mixed}})
    first, last = sorted(data.draw(st.sets(st.integers(0, length), min_size=2, max_size=2)))
    overlay = {"source": "a", "in": first, "out": min(last + 4, length)}
    sheet = build_sheet(
        {
            "version": 1,
            "sheet": {"format": f"64x36@{old}", "length": length},
            "sources": {"a": {"bars": 75}},
            "cues": cues,
            "overlays": [overlay] if overlay["out"] - first > 3 else [],
        }
    )
    made = convert_sheet(sheet, parse_format(f"64x36@{new}")).sheet
    half = Fraction(1, 2) / other
    inside = made.length / other  # a standard length may end up to a thousandth earlier
    points = [(o.start, m.start) for o, m in zip(sheet.overlays, made.overlays, strict=True)]
    for one, two in zip(sheet.cues, made.cues, strict=True):
        points.append((one.at, two.at))
        if two.transition.length > 1:  # one frame is the least: no transition becomes a cut
            points.append((one.at + one.transition.length, two.at + two.transition.length))
    for before, now in points:
        if before / rate < inside - 1 / other:
            assert abs(now / other - before / rate) <= half
    whole = length % count_rate(rate) == 0
    expected = length // count_rate(rate) * count_rate(other) if whole else None
    assert made.length == expected or abs(made.length / other - length / rate) <= half


def test_lengths_may_be_kept_in_frames():
    made = converted("1080p50", lengths="frames")
    assert [cue.transition.length for cue in made.sheet.cues] == [0, 25, 12, 25]
    assert made.sheet.cues[1].at == 2 * 188
    slower = converted("1080p24", SPOT.replace('at = "29s"', 'at = "29s" # 1 s is left'),
                       lengths="frames")  # fmt: skip
    assert slower.sheet.cues[3].transition.length == 24
    assert "Shot 4, transition length is 24 frames, which is all that fits." in slower.notices


def test_what_falls_together_is_refused():
    """By hand: 30 + 34 and 30 + 35 frames of 60 are 25.6 and 26.0 of 24."""
    keys = "{ at = 34, scale = 80 }, { at = 35, scale = 9 }"
    text = SPOT.replace("{ at = 33, scale = 80 }", keys).replace("1080p25", "1080p60")
    text = text.replace('"12.04s"', '"12s"').replace("hold = { length = 6 }", "soft = 1")
    assert converted("1080p50", text).sheet
    with pytest.raises(
        SettingError, match=r"the sheet does not fit format 1080p24: .*keyframes must be in order"
    ):
        converted("1080p24", text)


def test_measures_in_pixels_are_those_of_the_new_size():
    made = converted("2160p25")
    assert made.sheet.overlays[0].key.finish.grow == 4
    assert made.sheet.overlays[0].key.finish.fill_holes == 160
    assert "overlays[0].key.grow: 2 → 4 pixels." in made.notices


def test_variables_are_worked_in_and_that_is_said():
    text = SPOT.replace("[sheet]", '[variables]\nmark = "00:00:07:13"\n[sheet]', 1)
    text = text.replace('at = "00:00:07:13"', 'at = "${mark}"')
    made = converted("1080p29.97", text)
    assert made.sheet.cues[1].at == 225
    assert made.notices[0] == "variables written into the sheet."
    assert "${" not in made.sheet.text
    assert "# after the oars" in made.sheet.text
    assert 'at = "00:00:07;15" # on the beat' in made.sheet.text


def test_includes_are_worked_in_and_own_comments_kept(tmp_path):
    (tmp_path / "house.toml").write_text(
        'version = 1 # of the house\n[variables]\naccent = "#FFC83D"\n'
        '[sources]\nbadge = { colour = "${accent}" }\n'
        '[transitions.house]\nkind = "mix"\nlength = 12\n',
        encoding="utf-8",
    )
    text = SPOT.replace('[transitions.house]\nkind = "mix"\nlength = 12\n', "")
    text = text.replace("version = 1", 'include = "house.toml"\nversion = 1')
    text = text.replace(
        'name = "Presenter"\nsource = "lake"', 'name = "Presenter"\nsource = "badge"'
    )
    sheet = parse_sheet(text, folder=tmp_path)
    made = convert_sheet(sheet, parse_format("1080p29.97"))
    assert made.notices == (
        "includes written into the sheet; comments of what was included are not kept.",
    )
    assert "# after the oars" in made.sheet.text
    assert "# the form" in made.sheet.text
    assert "include" not in made.sheet.text
    assert "[keys]" not in made.sheet.text
    assert made.sheet.sources["badge"] == sheet.sources["badge"]
    plain = SPOT.replace("jetty = {", 'badge = { colour = "#FFC83D" }\njetty = {', 1)
    plain = plain.replace(
        'name = "Presenter"\nsource = "lake"', 'name = "Presenter"\nsource = "badge"'
    )
    assert made.sheet == converted("1080p29.97", plain).sheet


def test_numbered_stills_take_as_long_as_they_did(tmp_path):
    (tmp_path / "run").mkdir()
    text = SPOT.replace('lake = { colour = "#102030" }', 'lake = { file = "run", in = "1s" }')
    made = convert_sheet(parse_sheet(text, folder=tmp_path), parse_format("1080p50"))
    source = made.sheet.sources["lake"]
    assert (float(source.speed), source.trim[0]) == (0.5, 25)


def test_non_drop_paper_stays_so_and_a_label_that_drop_leaves_out_moves():
    text = SPOT.replace("1080p25", "1080p29.97").replace('"29s"', "869").replace('"1s"', "30")
    text = text.replace('"12.04s"', "361").replace('"30s"', "900").replace('"7s"', "209")
    text = text.replace('"4s"', "120")
    other = converted("1080p59.94", text).sheet
    assert other.label(0) == "10:00:00:00"
    late = SPOT.replace("10:00:00:00", "10:01:00:00")
    assert converted("1080p29.97", late).sheet.label(0) == "10:01:00;02"  # SMPTE ST 12-1


def test_files_are_found_from_where_they_were(tmp_path, capsys):
    path = tmp_path / "spot.toml"
    path.write_text(SPOT.replace("1080p25", "64x36@25"), encoding="utf-8")
    elsewhere = tmp_path / "other"
    elsewhere.mkdir()
    form = ["--format", "64x36@29.97"]
    assert perform(["convert", str(path), *form, "-o", str(elsewhere / "new.toml")]) == 2
    assert "must lie beside spot.toml so that both find its files" in capsys.readouterr().err
    assert perform(["convert", str(path), *form, "-o", str(path), "--force"]) == 2
    assert perform(["convert", str(path), *form, "-o", str(tmp_path / "new.toml")]) == 0
    said = capsys.readouterr().out
    assert "Shot 2, starts 00:00:07:13 → 00:00:07;15: 12.5 ms earlier" in said
    assert load_sheet(tmp_path / "new.toml").format.name == "64x36@29.97"


def test_a_sheet_whose_link_leads_in_a_circle_is_refused(tmp_path):
    (tmp_path / "loop.toml").symlink_to("loop.toml")
    with pytest.raises(KeyerError, match=r"loop\.toml"):
        convert_files(tmp_path / "loop.toml", tmp_path / "o.toml", "32x18@50")
