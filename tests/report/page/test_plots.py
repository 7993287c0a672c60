import re

import pytest

from keyer.report.checks.findings import Series
from keyer.report.page.plots import plots
from keyer.report.page.timeline import place_of_frame, ticks, timeline_svg
from keyer.sheet.load import parse_sheet

SHEET = parse_sheet(
    'version = 1\n[sheet]\nformat = "64x36@25"\nlength = "4s"\n[sources.a]\nramp = true\n'
    '[sources.b]\ncolour = "#405060"\n[[cues]]\nsource = "a"\n'
    '[[cues]]\nsource = "b"\nname = "Rain & <sun>"\nat = 50\n'
    'transition = { kind = "wipe", pattern = 201, length = 25 }\n'
    '[[overlays]]\nsource = "b"\nname = "Badge"\nin = 10\nout = 35\n'
)


def _points(path):
    return [(float(x), float(y)) for x, y in re.findall(r"[ML]([\d.]+) ([-\d.]+)", path)]


def _series(name, values, frames=None, limit=None, unit="%"):
    return Series(name, unit, tuple(frames or range(len(values))), tuple(values), limit)


def test_a_curve_runs_through_the_middle_of_each_frame():
    """0 to 50 percent over 100 units from the top: 25 is half way down, 50 at the top."""
    (plot,) = plots(SHEET, [_series("light.mean", [0, 25, 50], unit="% of white")])
    assert _points(plot.curves[0].path) == [(0.5, 100), (1.5, 50), (2.5, 0)]
    assert plot.length == 100
    assert plot.said == "at most 50 % of white"


def test_level_stretches_keep_only_their_ends():
    (plot,) = plots(SHEET, [_series("light.mean", [10] * 50 + [20] * 50)])
    assert [x for x, _ in _points(plot.curves[0].path)] == [0.5, 49.5, 50.5, 99.5]


def test_a_curve_is_broken_where_nothing_was_measured():
    frames = [0, 5, 10, 60, 65, 70]
    series = _series("overlays[0] Badge: spill.after_p95", [1, 2, 3, 4, 5, 6], frames)
    (plot,) = plots(SHEET, [series])
    assert plot.curves[0].path.count("M") == 2
    assert plot.curves[0].name == "Badge"


def test_the_tolerance_is_drawn_beyond_black_and_white():
    series = [_series("levels.highest_luma", [80, 101]), _series("levels.lowest_luma", [2, 0])]
    (plot,) = plots(SHEET, series)
    assert [mark.words for mark in plot.marks if mark.limit] == ["-5", "105"]
    assert all(0 <= mark.down <= 100 for mark in plot.marks)
    assert plot.said == "0 to 101 %"


def test_keys_share_a_plot_and_what_never_leaves_zero_is_left_out():
    series = [
        _series("stripes.area", [0, 0], limit=40),
        _series("levels.outside", [0, 0], limit=1),
        _series("overlays[0] Badge: coverage.holes", [0.01, 0.02]),
        _series("overlays[2] Rider: coverage.holes", [0.03, 0.04], [50, 55]),
    ]
    (plot,) = plots(SHEET, series)
    assert plot.title == "Holes in the matte"
    assert [curve.name for curve in plot.curves] == ["Badge", "Rider"]
    assert plot.said == "at most: Badge 0.02, Rider 0.04 % of picture"


def test_time_is_written_at_whole_seconds():
    assert ticks(SHEET)[:3] == [(0, "00:00:00:00"), (25, "00:00:01:00"), (50, "00:00:02:00")]
    hour = parse_sheet(
        'version = 1\n[sheet]\nformat = "64x36@29.97"\nlength = "01:00:00;00"\n'
        '[sources.a]\nramp = true\n[[cues]]\nsource = "a"\n'
    )
    found = ticks(hour)
    assert len(found) <= 10
    assert found[1] == (18000, "00:10:00;18")  # by hand: 17982 frames and 18 more


def test_the_timeline_is_to_scale():
    svg = timeline_svg(SHEET, {1: 0, 2: 99}, [])
    shot = re.findall(r'class="shot[^"]*" x="([\d.]+)" y="[\d.]+" width="([\d.]+)"', svg)
    (first, half), (second, rest) = [(float(x), float(width)) for x, width in shot]
    assert half == pytest.approx(rest, abs=0.11)
    assert second == pytest.approx(first + half, abs=0.11)
    assert second == pytest.approx(place_of_frame(SHEET, 50), abs=0.06)
    (badge,) = re.findall(r'class="over" points="([\d.]+),', svg)
    assert float(badge) == pytest.approx(place_of_frame(SHEET, 10), abs=0.06)


def test_names_are_escaped_and_codes_told():
    svg = timeline_svg(SHEET, {}, [])
    assert "Rain &amp; &lt;sun&gt;" in svg
    assert "<sun>" not in svg
    assert "wipe 201" in svg


def test_a_sound_s_wave_lies_on_its_bar_and_its_name_before_the_lane():
    text = (
        'version = 1\n[sheet]\nformat = "64x36@25"\nlength = 100\n[sources.a]\nramp = true\n'
        '[[cues]]\nsource = "a"\n[[sound]]\nname = "A long name of a bed"\nfile = "bed.wav"\n'
    )
    svg = timeline_svg(parse_sheet(text), {}, [], [(0, 100)], [[1.0, 0.0, 0.251]])
    assert "A long n…" in svg
    points = re.search(r'class="wave" points="([^"]*)"', svg)[1].split()
    places = [tuple(map(float, point.split(","))) for point in points]
    middles = [
        (over[1] + under[1]) / 2 for over, under in zip(places[:3], places[:2:-1], strict=True)
    ]
    highs = [under[1] - over[1] for over, under in zip(places[:3], places[:2:-1], strict=True)]
    assert len(set(middles)) == 1
    # by hand: a bar of 12; full scale all of it, silence nothing, -12 of -48 dB three quarters
    assert highs == pytest.approx([12, 0, 9], abs=0.11)
