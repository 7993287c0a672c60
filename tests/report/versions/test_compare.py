"""Two versions held against each other: which frames differ, by how much, and what is shown."""

import numpy as np
import pytest

from keyer.cli.main import perform
from keyer.render.plan import Plan
from keyer.report.page.compare_page import compare_page
from keyer.report.versions.compare import MOST_LOOKS, Planned, compare
from keyer.report.versions.compare_files import compare_board, fitted
from keyer.report.versions.compare_words import count_words, length_words, run_words
from keyer.sheet.load import parse_sheet

SPOT = """version = 1
[sheet]
title = "Trial"
format = "64x36@25"
length = 100
[sources]
grey = { colour = "#606060" }
bars = { bars = 75 }
box = { colour = "#FF0000" }
[[cues]]
source = "grey"
[[cues]]
source = "bars"
at = 40
transition.kind = "mix"
transition.length = 10
[[overlays]]
name = "Box"
source = "box"
in = 60
out = 80
placement = { scale = 50 }
"""


def made(*swaps, old=SPOT):
    text = old
    for one, other in swaps:
        assert one in text
        text = text.replace(one, other, 1)
    with Plan(parse_sheet(old)) as before, Plan(parse_sheet(text, "new.toml")) as now:
        return compare(Planned(before), Planned(now), "old.toml")


def runs(found):
    return [(run.first, run.last) for run in found.runs]


def test_a_sheet_does_not_differ_from_itself():
    found = made()
    assert (found.changes, found.runs, found.pairs, found.differing) == ((), (), (), 0)
    assert count_words(found) == "No frame of 100 looks different."


def test_a_later_shot_differs_from_its_old_start_to_its_new_end():
    found = made(("at = 40", "at = 44"))
    assert [str(c) for c in found.changes] == ["Shot 2, bars: starts 00:00:01:15 → 00:00:01:19"]
    assert runs(found) == [(40, 53)]  # mixed frames: 40..49 before, 44..53 now
    assert count_words(found) == "14 of 100 frames look different."
    assert [(pair.frame, pair.changes) for pair in found.pairs] == [
        (found.runs[0].most, found.changes)
    ]


def test_a_smaller_box_is_as_different_as_what_it_leaves():
    found = made(("scale = 50", "scale = 25"))
    assert runs(found) == [(60, 79)]
    row = 100 * 16 / (64 * 36)  # of the smaller box, whose 9 rows lie half in two
    # by arithmetic: a half of each side is a quarter of the picture, a quarter a sixteenth
    assert found.runs[0].difference.seen_percent == pytest.approx(100 * (1 / 4 - 1 / 16), abs=row)


def test_every_change_is_shown_where_it_shows_most():
    found = made(("at = 40", "at = 44"), ("scale = 50", "scale = 25"), ("#606060", "#707070"))
    shown = {str(change) for pair in found.pairs for change in pair.changes}
    assert shown == {str(change) for change in found.changes}
    frames = [pair.frame for pair in found.pairs]
    assert any(60 <= frame < 80 for frame in frames)
    assert frames == sorted(frames)
    with Plan(parse_sheet(SPOT)) as plan:
        assert np.array_equal(found.pairs[0].before, Planned(plan).pixels(frames[0]))


def test_what_changes_no_picture_differs_in_words_alone():
    found = made(('name = "Box"', 'name = "Bix"'))
    assert found.runs == ()


def test_frames_are_matched_by_time():
    doubled = [("64x36@25", "64x36@50"), ("length = 100", "length = 200"), ("at = 40", "at = 80")]
    doubled += [("length = 10\n", "length = 20\n"), ("in = 60", "in = 120")]
    found = made(*doubled, ("out = 80", "out = 160"))
    frames = {frame for first, last in runs(found) for frame in range(first, last + 1)}
    assert frames
    assert frames <= set(range(80, 100))  # the mix alone, which is finer by now


def test_a_longer_sheet_says_so():
    found = made(("length = 100", "length = 125"))
    assert found.runs == ()
    assert length_words(found).startswith("It is 1.00 s longer")


def test_of_many_frames_some_are_looked_at_and_that_is_said():
    long = SPOT.replace("length = 100", "length = 500").replace(
        "placement = { scale = 50 }",
        "placement.keyframes = [{ at = 0, position = [0, 50] }, { at = 399, position = [99, 50] }]",
    ).replace("in = 60\nout = 80", "in = 60\nout = 460")  # fmt: skip
    found = made(("#FF0000", "#00FF00"), old=long)
    assert found.step == -(-400 // MOST_LOOKS)
    assert runs(found) == [(60, 459)]
    assert f"one in {found.step} was looked at" in count_words(found)


def test_another_shape_is_shown_whole():
    wide, tall = parse_sheet(SPOT).format, parse_sheet(SPOT.replace("64x36", "36x64")).format
    shown = fitted(np.zeros((36, 64, 3), np.uint8), wide, tall)
    assert shown.shape[0] / shown.shape[1] == pytest.approx(64 / 36, rel=0.02)
    assert (shown == 0).all(axis=2).sum() == 36 * 64


def test_the_board_and_the_page_say_what_the_words_say():
    found = made(("at = 40", "at = 44"), ("scale = 50", "scale = 25"))
    said = {words.line.text for words in compare_board(found, (420, 297))[0].items
            if hasattr(words, "line")}  # fmt: skip
    assert "Shot 2, bars: starts 00:00:01:15 → 00:00:01:19" in said
    page = compare_page(found)
    assert page.count("<img") == 2 * len(found.pairs)
    assert run_words(found, found.runs[0]) in page


def test_the_command(tmp_path, capsys):
    old, new = tmp_path / "old.toml", tmp_path / "new.toml"
    old.write_text(SPOT, encoding="utf-8")
    new.write_text(SPOT.replace("at = 40", "at = 44"), encoding="utf-8")
    out = tmp_path / "board.png"
    assert perform(["compare", str(old), str(new), "-o", str(out)]) == 0
    assert "Shot 2, bars: starts" in capsys.readouterr().out
    assert out.stat().st_size > 1000
    assert perform(["compare", str(old), str(new), "-o", str(new)]) == 2
    assert new.read_text(encoding="utf-8").startswith("version")


def test_a_time_that_has_changed_is_told_where_it_comes_or_goes_alone():
    found = made(("at = 40", "at = 44"), ("scale = 50", "scale = 25"))
    said = {pair.frame: [str(one) for one in pair.changes] for pair in found.pairs}
    late = [words for frame, words in said.items() if frame >= 60]
    assert late == [["Overlay 1, Box: placement, scale 50 % → 25 %"]]
