"""One spot by the rules of two invented stations, and each rule by itself."""

import pytest
from report.spots import HEAD, bad, checked, cut, found, title

from keyer.errors import SheetError
from keyer.report.checks.check import check_sheet
from keyer.sheet.load import load_sheet

LANTERN = """version = 1
station = "Lantern Quay Television"
lengths = ["10s", "20s"]
[black]
head = [6, 12]
tail = [6, 12]
[titles]
action = 95
title = 92
smallest = 6
largest = 12
[[zones]]
name = "station mark"
box = [80, 5, 15, 12]
"""

MOSS = """version = 1
station = "Upper Moss Vision"
lengths = ["00:00:15:00", "00:00:30:00"]
[black]
head = [25, 25]
tail = [6, 12]
[levels]
lowest = 0
highest = 70
area = 1
[titles]
smallest = 9
[[zones]]
name = "subtitles"
box = [0, 75, 100, 25]
"""

SPOT = '[sources.light]\ncolour = "#C0C0C0"\n' + cut(("black", 0), ("light", 12), ("black", 240))
OVER = '[[overlays]]\nsource = "trial"\nin = 20\nout = 230\n'


def by(folder, rules, body, length='"10s"'):
    """Check a sheet of a body of tables by a station's rules."""
    (folder / "station.toml").write_text(rules, encoding="utf-8")
    head = HEAD.format(length=length).replace("[sheet]", '[sheet]\nrules = "station.toml"')
    (folder / "sheet.toml").write_text(head + body, encoding="utf-8")
    return check_sheet(load_sheet(folder / "sheet.toml"))


def spot(folder):
    return title(folder, ink="#101010") + SPOT + OVER


def test_one_spot_passes_one_station_and_fails_another_in_five_ways(tmp_path):
    lantern = by(tmp_path, LANTERN, spot(tmp_path))
    assert bad(lantern) == []
    assert lantern.station == "Lantern Quay Television"
    asked = {"timing.length", "timing.head_black", "timing.tail_black", "title.zone",
             "title.letter_height", "title.largest_letters", "title.safe_area"}  # fmt: skip
    of_station = {one.check for one in lantern.findings if "Lantern Quay" in one.limit.source}
    assert of_station == asked
    moss = by(tmp_path, MOSS, spot(tmp_path))
    assert {check for verdict, check in bad(moss) if verdict == "fails"} == {
        "timing.length", "timing.head_black", "levels.range", "title.zone", "title.letter_height",
    }  # fmt: skip
    assert all(one.limit.source == "rules of Upper Moss Vision" for one in moss.findings[:5])
    assert all(one.remedy for one in moss.findings[:5])
    (length,) = found(moss, "timing.length")
    assert "125 too short for 00:00:15:00 (375 frames)" in length.remedy
    (head,) = found(moss, "timing.head_black")
    assert (head.value, head.first, head.last) == (12, 0, 11)
    assert head.remedy == "Put 13 frames more of black at the head."
    # by hand: #C0C0C0 is 192 / 255 = 75.3 % of the signal, over all of the picture
    (levels,) = found(moss, "levels.range")
    assert (levels.value, levels.first, levels.last) == (100, 12, 239)
    assert "from 0 to 70 %" in levels.limit.text
    (zone,) = found(moss, "title.zone")
    assert "Keep the subtitles free" in zone.remedy
    assert 0 < zone.value < 30


def test_without_rules_it_is_held_against_what_holds_everywhere(tmp_path):
    report = checked(tmp_path, spot(tmp_path))
    assert report.station == ""
    assert not found(report, "timing.head_black")
    assert not found(report, "title.zone")
    assert "EBU R 103" in found(report, "levels.range")[0].limit.source


@pytest.mark.parametrize(
    ("black", "checks"),
    [("head = [6, 12]", []), ("head = [0, 5]", ["timing.head_black"]), ("tail = [6, 12]", []),
     ("tail = [0, 5]", ["timing.tail_black"]), ("tail = [12, 20]", ["timing.tail_black"])],
)  # fmt: skip
def test_black_at_head_and_tail(tmp_path, black, checks):
    rules = f'version = 1\nstation = "Upper Moss Vision"\n[black]\n{black}\n'
    report = by(tmp_path, rules, cut(("black", 0), ("grey", 12), ("black", 239)))
    # by hand: 12 frames at the head, 250 - 239 = 11 at the tail
    assert [check for _, check in bad(report)] == checks


def test_a_black_picture_at_the_head_is_a_gap_unless_the_rules_speak_of_it(tmp_path):
    dark = "[sources.dark]\nramp = true\ncorrect = { gain = 0 }\n"
    body = dark + cut(("dark", 0), ("grey", 8))
    assert [c for _, c in bad(checked(tmp_path, body))] == ["timing.black"]
    rules = 'version = 1\nstation = "Upper Moss Vision"\n[black]\nhead = [8, 8]\n'
    assert bad(by(tmp_path, rules, body)) == []


def test_own_limits_are_stricter_and_never_looser(tmp_path):
    rules = 'version = 1\nstation = "Upper Moss Vision"\n[[limits]]\ncheck = "title.contrast"\n'
    body = title(tmp_path, ink="#FFFFFF") + cut(("grey", 0)) + OVER
    plain = found(checked(tmp_path, body), "title.contrast")[0]
    assert plain.verdict == "holds"  # by hand: (1 + 0.05) / (0.162 + 0.05) = 4.95:1
    (strict,) = found(by(tmp_path, rules + "least = 7\n", body), "title.contrast")
    assert (strict.verdict, strict.limit.text) == ("fails", "at least 7:1")
    assert strict.remedy == "Bring it to at least 7:1."
    note = 'least = 7\nnote = "Our viewers sit far away."\n'
    assert found(by(tmp_path, rules + note, body), "title.contrast")[0].remedy.startswith("Our")
    dim = title(tmp_path, ink="#808080") + cut(("grey", 0)) + OVER
    (loose,) = found(by(tmp_path, rules + "least = 1\n", dim), "title.contrast")
    assert (loose.verdict, loose.limit.source) == ("fails", "WCAG 2.2, 1.4.3 (level AA)")


def test_a_limit_to_a_check_that_there_is_not(tmp_path):
    rules = MOSS + '[[limits]]\ncheck = "title.contrats"\nmost = 1\n'
    with pytest.raises(SheetError, match=r"limits\[0\]\.check: no check .* mean 'title.contrast'"):
        by(tmp_path, rules, cut(("grey", 0)), length="25")


def test_letters_that_are_too_large(tmp_path):
    rules = 'version = 1\nstation = "Upper Moss Vision"\n[titles]\nlargest = 5\n'
    report = by(tmp_path, rules, spot(tmp_path))
    (finding,) = found(report, "title.largest_letters")
    assert (finding.verdict, finding.remedy) == ("fails", "Make the largest text at most 5 % high.")


def test_the_stations_own_safe_area_goes_before_the_designs(tmp_path):
    rules = 'version = 1\nstation = "Upper Moss Vision"\n[titles]\ntitle = 70\naction = 80\n'
    (finding,) = found(by(tmp_path, rules, spot(tmp_path)), "title.safe_area")
    assert finding.verdict == "fails"
    assert finding.limit.text == "within 70 % of both sides; fails beyond 80 %"
