"""A station's rules: every fault with its line and cure, and times at the sheet's own rate."""

from fractions import Fraction
from pathlib import Path

import pytest

from keyer.errors import InputFileError, SheetError
from keyer.sheet.load import load_sheet, parse_sheet
from keyer.sheet.station import load_station

TOP = 'version = 1\nstation = "Lantern Quay Television"\n'
SHEET = """version = 1
[sheet]
format = "64x36@25"
length = 20
rules = "{rules}"
[sources.a]
colour = "#203040"
[[cues]]
source = "a"
"""


def rules(folder, text, rate=25):
    file = folder / "station.toml"
    file.write_text(TOP + text, encoding="utf-8")
    return load_station(file, Fraction(rate))


def test_times_are_counted_by_timecode(tmp_path):
    text = 'lengths = ["10s", "00:00:20:00", 75]\n'
    assert rules(tmp_path, text).lengths == (250, 500, 75)
    # SMPTE ST 12-1: 29.97 counts 30 frames a second
    assert rules(tmp_path, text, Fraction(30000, 1001)).lengths == (300, 600, 75)
    assert rules(tmp_path, text, 50).lengths == (500, 1000, 75)


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("length = [20]", "length, line 3: unknown key. Did you mean 'lengths'?"),
        ("lengths = [0]", "lengths[0], line 3: must be at least one frame."),
        ('lengths = ["ten"]', "lengths[0], line 3: must be a time, got 'ten'"),
        (
            "[black]\nhead = [12, 6]",
            "black.head, line 4: must be at least and at most, got 12 and 6",
        ),
        ("[levels]\nlowest = -20", "levels.lowest, line 4: must be in [-7, 50], got -20"),
        (
            "[titles]\naction = 90\ntitle = 93",
            "titles.title, line 5: must lie within the action area",
        ),
        (
            "[titles]\nsmallest = 9\nlargest = 5",
            "titles.largest, line 5: must be at least `smallest`",
        ),
        (
            "[[zones]]\nname = 'mark'\nbox = [90, 5, 15, 10]",
            "zones[0].box, line 5: must be left, top",
        ),
        ("[[zones]]\nbox = [0, 0, 9, 9]", "zones[0].name, line 3: is missing."),
        ("[[limits]]\ncheck = 'title.contrast'", "limits[0], line 3: needs `least` or `most`."),
        (
            "[dials.soft]\npoints = [[0, 0]]",
            "dials.soft.points, line 4: must be at least two pairs",
        ),
        ("[dials.soft]\npoints = [[5, 0], [2, 4]]", "dials.soft.points, line 4: must go by rising"),
    ],
)
def test_faults_have_their_line_and_a_cure(tmp_path, text, said):
    with pytest.raises(SheetError) as error:
        rules(tmp_path, text)
    assert said in str(error.value)


def test_a_dial_that_nobody_knows(tmp_path):
    with pytest.raises(SheetError, match=r"dials\.softness.* must be 'soft', 'border'"):
        rules(tmp_path, "[dials.softness]\npoints = [[0, 0], [1, 1]]\n")


def test_faults_of_the_rules_are_told_with_the_sheet(tmp_path):
    (tmp_path / "station.toml").write_text(TOP + "lengths = [0]\n", encoding="utf-8")
    with pytest.raises(SheetError, match=r"station\.toml: lengths\[0\], line 3: must be at least"):
        parse_sheet(SHEET.format(rules="station.toml"), folder=tmp_path)
    with pytest.raises(SheetError, match=r"sheet\.rules, line 5: .*gone\.toml cannot be read"):
        parse_sheet(SHEET.format(rules="gone.toml"), folder=tmp_path)
    with pytest.raises(InputFileError):
        load_station(tmp_path / "gone.toml", Fraction(25))


def test_rules_change_no_picture_and_are_never_written_over(tmp_path):
    (tmp_path / "station.toml").write_text(TOP, encoding="utf-8")
    (tmp_path / "sheet.toml").write_text(SHEET.format(rules="station.toml"), encoding="utf-8")
    sheet = load_sheet(tmp_path / "sheet.toml")
    without = parse_sheet(SHEET.replace('rules = "{rules}"\n', ""), folder=tmp_path)
    assert sheet.digest == without.digest
    assert sheet == without
    assert tmp_path / "station.toml" in sheet.documents


def test_rules_that_a_house_sheet_names_are_found_beside_it(tmp_path):
    house = tmp_path / "house"
    house.mkdir()
    (house / "station.toml").write_text(TOP, encoding="utf-8")
    (house / "house.toml").write_text('version = 1\n[sheet]\nrules = "station.toml"\n', "utf-8")
    text = SHEET.replace('rules = "{rules}"\n', "").replace(
        "version = 1\n", 'version = 1\ninclude = "house/house.toml"\n'
    )
    sheet = parse_sheet(text, folder=tmp_path)
    assert sheet.station is not None
    assert sheet.station.name == "Lantern Quay Television"


def test_the_example_of_the_docs_holds(tmp_path):
    page = (Path(__file__).parents[2] / "docs" / "station.md").read_text(encoding="utf-8")
    example = page.split("```toml\n")[2].partition("```")[0]
    (tmp_path / "station.toml").write_text(example, encoding="utf-8")
    station = load_station(tmp_path / "station.toml", Fraction(25))
    assert station.dials["soft"].words(2) == "0.75 turns"  # which the page says
    assert [zone.name for zone in station.titles.zones] == ["station mark", "subtitles"]
