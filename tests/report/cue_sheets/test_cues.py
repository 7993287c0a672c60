import csv
import io

import pytest
from report.made_spot import TEXT, write_spot
from support import reference

from keyer.cli.main import perform
from keyer.errors import OutputError
from keyer.render.plan import Plan
from keyer.report.cue_sheets.cue_files import cue_files
from keyer.report.cue_sheets.cue_table import cue_csv
from keyer.report.cue_sheets.cues import cue_sheet
from keyer.report.page.cue_page import cue_page
from keyer.sheet.load import load_sheet, parse_sheet

DROP = (
    'version = 1\n[sheet]\nformat = "64x36@29.97"\nlength = "{length}"\nstart = "{start}"\n'
    '[sources.a]\ncolour = "#203040"\n[sources.b]\ncolour = "#405060"\n'
    '[[cues]]\nsource = "a"\n[[cues]]\nsource = "b"\nat = {at}\n'
    'transition = {{ kind = "mix", length = 10 }}\n'
)


def _rows(sheet):
    with Plan(sheet) as plan:
        text = cue_csv(cue_sheet(sheet, plan))
    return list(csv.DictReader(io.StringIO(text)))


@pytest.fixture(scope="module")
def spot(tmp_path_factory):
    return write_spot(tmp_path_factory.mktemp("cues") / "spot")


def test_one_row_an_event_in_order_of_time(spot):
    rows = _rows(load_sheet(spot))
    told = [(row["number"], row["kind"], row["name"], row["in"], row["out"]) for row in rows]
    assert told == [
        ("1", "cue", "lake", "00:00:00:00", "00:00:01:20"),
        ("2", "cue", "The jetty", "00:00:01:00", "00:00:03:00"),
        ("3", "overlay", "rower", "00:00:02:00", "00:00:03:00"),
        ("4", "cue", "lake", "00:00:03:00", "00:00:04:00"),
    ]
    assert [int(row["frames"]) for row in rows] == [45, 50, 25, 25]


@pytest.mark.parametrize("start", ["=", "+", "-", "@", "\\t", "\\r"])
def test_no_cell_is_a_formula(start):
    words = DROP.format(length="60f", start="00:00:00:00", at=20)
    text = words.replace(
        'source = "b"', f'name = "{start}cmd()"\nnote = "{start}1+1"\nsource = "b"'
    )
    _, row = _rows(parse_sheet(text))
    said = {"\\t": "\t", "\\r": "\r"}.get(start, start)
    assert (row["name"], row["note"]) == (f"'{said}cmd()", f"'{said}1+1")


def test_a_row_has_all_that_is_dialled_in(spot):
    _, wipe, overlay, _ = _rows(load_sheet(spot))
    assert wipe["from"] == "lake"
    assert wipe["source"] == "jetty"
    assert (wipe["transition"], wipe["transition_frames"]) == ("wipe", "20")
    assert (wipe["smpte_code"], wipe["pattern"]) == ("201", "clockWipe/clockwiseTwelve")
    assert float(wipe["soft_percent"]) == 2
    assert float(wipe["border_percent"]) == 3
    assert wipe["border_colour"] == "#FFC83D"
    assert wipe["note"] == "On the oars"
    assert (overlay["transition"], overlay["out_transition"]) == ("cut", "mix")
    assert overlay["out_transition_frames"] == "5"
    assert overlay["key"].startswith("Chroma key, hue 2")
    assert "gain" in overlay["key"]


@pytest.mark.parametrize(
    ("keys", "cells"),
    [
        ('pattern = "pushWipe"', ["push", "", "pushWipe/fromLeft", "", "", "", ""]),
        ('pattern = "slideWipe/fromTop"', ["slide", "", "slideWipe/fromTop", "", "", "", ""]),
        (
            'pattern = "fade/fadeToColor"\ncolour = "#102030"',
            ["fade to", "", "fade/fadeToColor", "", "", "", "#102030"],
        ),
        (
            'pattern = 1\nborder = 2\nborder_source = "rower"',
            ["wipe", "1", "barWipe/leftToRight", "0.0", "2.0", "rower", ""],
        ),
        (
            'pattern = 1\nborder = 2\nborder_colour = "#F00"\nborder_ramp = "#00F"',
            ["wipe", "1", "barWipe/leftToRight", "0.0", "2.0", "#FF0000 to #0000FF", ""],
        ),
    ],
)
def test_every_kind_of_pattern_has_its_cells(tmp_path, keys, cells):
    start, end = 'pattern = "clockWipe', 'border_colour = "#FFC83D"'
    text = TEXT[: TEXT.index(start)] + keys + "\nlength = 20" + TEXT.partition(end)[2]
    spot = write_spot(tmp_path / "spot", text)
    row = _rows(load_sheet(spot))[1]
    names = ("smpte_code", "pattern", "soft_percent", "border_percent", "border_colour")
    found = [row["transition"], *(row[name] for name in names), row["pattern_settings"]]
    assert found == cells
    with Plan(load_sheet(spot)) as plan:
        page = cue_page(cue_sheet(load_sheet(spot), plan))
    assert cells[2] in page
    assert "Hard edge" not in page


PAIRS = [pair for pair in reference("timecode")["pair30"] if 10 < pair["frame"] < 200_000]


@pytest.mark.parametrize("pair", PAIRS, ids=lambda pair: str(pair["frame"]))
def test_times_at_29_97_are_those_of_the_reference(pair):
    """A cue at each frame of the reference table prints the reference's timecode."""
    text = DROP.format(length="02:00:00;00", start="00:00:00;00", at=pair["frame"])
    assert _rows(parse_sheet(text))[1]["in"] == pair["timecode"]


def test_the_start_of_the_tape_is_counted_in():
    """By hand: 10:00:00;00 and 1798 frames is 10:00:59;28; two numbers are skipped at 10:01."""
    text = DROP.format(length="00:02:00;02", start="10:00:00;00", at=1800)
    row = _rows(parse_sheet(text))[1]
    assert row["in"] == "10:01:00;02"
    assert row["in_frame"] == "1800"


def test_a_key_without_backing_is_told_and_no_fault(spot):
    text = spot.read_text("utf-8").replace('source = "rower"\nin', 'source = "lake"\nin')
    bare = spot.with_name("bare.toml")
    bare.write_text(text, "utf-8")
    rows = _rows(load_sheet(bare))
    assert "shows no backing" in rows[2]["key"]


def test_titles_are_told_with_page_and_text(tmp_path):
    (tmp_path / "third.toml").write_text(
        'name = "T"\n[fields.name]\n[styles.big]\nsize = 9\n[[boxes]]\nid = "w"\nplace = "bottom"\n'
        '[[boxes.texts]]\ntext = "${name}"\nstyle = "big"\n'
    )
    sheet = parse_sheet(
        'version = 1\n[sheet]\nformat = "160x90@25"\nlength = 5\n[sources.a]\nramp = true\n'
        '[sources.t]\ntitle = { design = "third.toml", fields = { name = "Tam & Co" } }\n'
        '[[cues]]\nsource = "a"\n[[overlays]]\nsource = "t"\nplacement = { scale = 80 }\n',
        folder=tmp_path,
    )
    with Plan(sheet) as plan:
        cues = cue_sheet(sheet, plan)
    assert cues.events[1].text == "Tam & Co"
    assert cues.events[1].placement == "size 80 %"
    page = cue_page(cues)
    assert "“Tam &amp; Co”" in page
    assert "title design third.toml" in page


def test_the_page_needs_no_network_and_escapes_what_it_is_told(spot):
    text = spot.read_text("utf-8").replace("On the oars", "<script>alert(1)</script> & more")
    odd = spot.with_name("odd.toml")
    odd.write_text(text, "utf-8")
    sheet = load_sheet(odd)
    with Plan(sheet) as plan:
        page = cue_page(cue_sheet(sheet, plan))
    assert "<script" not in page
    assert "&lt;script&gt;" in page
    assert "http" not in page.replace("http-equiv", "")
    assert page.count("@font-face") == 3
    for said in ("<b>201</b> clockWipe/clockwiseTwelve", "00:00:01:00", sheet.digest):
        assert said in page


def test_the_same_sheet_gives_the_same_page(spot):
    def page():
        sheet = load_sheet(spot)
        with Plan(sheet) as plan:
            return cue_page(cue_sheet(sheet, plan))

    assert page() == page()


def test_the_command_writes_html_csv_and_edl_and_nothing_else(spot, tmp_path, capsys):
    for name in ("cues.html", "cues.csv"):
        assert perform(["cues", str(spot), "-o", str(tmp_path / name)]) == 0
    assert "4 events" in capsys.readouterr().out
    assert (tmp_path / "cues.csv").read_bytes().startswith(b"number,kind,name,in,out,")
    with pytest.raises(OutputError, match=r"\.html, \.csv or \.edl"):
        cue_files(spot, tmp_path / "cues.pdf", force=False)
    assert sorted(path.name for path in tmp_path.iterdir()) == ["cues.csv", "cues.html"]


def test_the_spot_of_these_tests_is_what_they_say():
    assert parse_sheet(TEXT).length == 100


DIALS = """version = 1
station = "Lantern Quay Television"
[dials.soft]
unit = "turns"
points = [[0, 0], [4, 3], [10, 5]]
[dials.border]
unit = "marks"
points = [[0, 0], [6, 4]]
step = 0.5
[dials.gain]
points = [[0, 0], [10, 100]]
[dials.size]
unit = "on the wheel"
points = [[0, 0], [100, 255]]
"""


def test_the_desks_own_reading_stands_beside_our_percent(tmp_path):
    (tmp_path / "station.toml").write_text(DIALS, encoding="utf-8")
    path = write_spot(tmp_path)
    text = path.read_text(encoding="utf-8").replace("[sheet]", '[sheet]\nrules = "station.toml"')
    path.write_text(f"{text}placement = {{ scale = 40 }}\n", encoding="utf-8")
    sheet = load_sheet(path)
    with Plan(sheet) as plan:
        cues = cue_sheet(sheet, plan)
    _, wipe, overlay, _ = csv.DictReader(io.StringIO(cue_csv(cues)))
    # by hand: 2 of 4 is half of 3 turns; 3 of 6 is half of 4 marks
    assert (wipe["soft_percent"], wipe["desk_soft"]) == ("2.0", "1.5 turns")
    assert (wipe["border_percent"], wipe["desk_border"]) == ("3.0", "2 marks")
    assert wipe["desk_border_soft"] == ""
    assert "size 40 % (desk: 102 on the wheel)" in overlay["placement"]
    gain = float(overlay["key"].partition("gain ")[2].partition(" ")[0].rstrip(","))
    assert f"gain {gain:g} (desk: {10 * gain:.3g})" in overlay["key"]
    page = cue_page(cues)
    assert "Soft edge 2 % (desk: 1.5 turns)" in page
    assert "Border 3 % (desk: 2 marks) #FFC83D" in page
