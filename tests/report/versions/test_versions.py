"""A spot from nothing to its last version: approved, changed, compared, converted, checked."""

import json

import numpy as np
import pytest
from PIL import Image

from keyer.cli.main import perform
from keyer.media.decode_still import decode_still
from keyer.sheet.load import load_sheet

SPOT = """version = 1
[sheet]
title = "The mill"
format = "1080p25"
length = "6s"
stills = ["1s"]
[sources.mill]
file = "mill.png"
[sources.race]
colour = "#204060"
[sources.name.title]
design = "name.toml"
[[cues]]
source = "mill"
[[cues]]
name = "Race"
source = "race"
at = "2s"
transition = { kind = "wipe", length = 10, pattern = 1, border = 1.2, border_colour = "#FFC83D" }
[[overlays]]
name = "Name"
source = "name"
in = "3s"
out = "5s"
transition_in = { kind = "mix", length = 5 }
"""

DESIGN = """name = "Name"
[fields.name]
default = "Old mill"
[styles.big]
size = 6
colour = "#FFFFFF"
[[boxes]]
id = "words"
place = "bottom left"
[[boxes.texts]]
text = "${name}"
style = "big"
"""


@pytest.fixture
def spot(tmp_path):
    ramp = np.linspace(30, 200, 192).astype(np.uint8)
    Image.fromarray(np.repeat(np.tile(ramp, (108, 1))[..., None], 3, 2)).save(tmp_path / "mill.png")
    (tmp_path / "name.toml").write_text(DESIGN, encoding="utf-8")
    path = tmp_path / "spot.toml"
    path.write_text(SPOT, encoding="utf-8")
    return path


def said(capsys, *arguments, code=0):
    assert perform([str(one) for one in arguments]) == code
    return json.loads(capsys.readouterr().out)


def test_from_nothing_to_the_last_version(spot, tmp_path, capsys):
    approved = said(capsys, "approve", spot, "--by", "The client", "--json")
    changes = {
        'at = "2s"': 'at = "1.8s"',
        "border = 1.2": "border = 1.6",
        'out = "5s"': 'out = "4.8s"',
        'colour = "#204060"': 'colour = "#602040"',
    }
    text = SPOT
    for old, new in changes.items():
        text = text.replace(old, new)
    spot.write_text(text, encoding="utf-8")

    board = tmp_path / "changes.png"
    found = said(capsys, "compare", approved["sheet"][:8], spot, "-o", board, "--json")
    assert [f"{one['who']}: {one['what']}" for one in found["changes"]] == [
        "Shot 2, Race: starts 00:00:02:00 → 00:00:01:20",
        "Shot 2, Race: transition, border 1.2 % → 1.6 %",
        "Overlay 1, Name: out 00:00:05:00 → 00:00:04:20",
        "Source race: colour #204060 → #602040",
    ]
    assert [(run["first"], run["last"]) for run in found["runs"]] == [(45, 149)]
    pixels = decode_still(board)
    assert pixels.shape == (2339, 3307, 3)  # A3 at 200 dpi
    _stand_beside(pixels, before=(0x20, 0x40, 0x60), now=(0x60, 0x20, 0x40))

    faster = tmp_path / "spot-29.toml"
    made = said(capsys, "convert", spot, "--format", "1080p29.97", "-o", faster, "--json")
    sheet = load_sheet(faster)
    assert (made["frames"], sheet.length) == (180, 180)  # six seconds of timecode
    assert sheet.cues[1].at == 54  # 45 frames of 25 are 53.95
    assert {one["path"] for one in made["roundings"]} >= {"sheet.length", "cues[1].at"}

    tall = tmp_path / "spot-tall.toml"
    form = "1080x1920@25"
    made = said(capsys, "convert", spot, "--format", form, "-o", tall, "--board",
                tmp_path / "tall.png", "--json")  # fmt: skip
    assert made["roundings"] == []
    # by arithmetic: 9:16 of 16:9 is (9 / 16) squared, 31.6 %, of the width
    assert any("mill: 68 % of the width" in one for one in made["lost"])
    assert (tmp_path / "tall.png").stat().st_size > 1000

    for name, form, frames in ((faster, "192x108@29.97", 180), (tall, "108x192@25", 150)):
        small = name.with_stem(f"{name.stem}-small")  # to be checked quickly
        said(capsys, "convert", name, "--format", form, "-o", small, "--json")
        assert perform(["check", str(small), "--json"]) in {0, 4}
        checked = json.loads(capsys.readouterr().out)
        assert checked["frames"] == frames
        # a white title of 6 % of the height on a dark ground can be read in both
        assert not [one for one in checked["findings"] if one["verdict"] == "fails"]


def _stand_beside(pixels, before, now):
    """See that a board shows a picture of one colour, and right of it the same of another."""
    places = [np.argwhere((pixels == colour).all(axis=2)) for colour in (before, now)]
    assert all(len(place) > 20_000 for place in places)  # 85 mm wide are some 600 x 340 pixels
    (top, left), (row, column) = (place.min(axis=0) for place in places)
    assert abs(int(top) - int(row)) < 400
    assert left < column


def test_pictures_that_lose_the_same_are_told_together(spot, capsys):
    text = spot.read_text(encoding="utf-8").replace('[sources.race]\ncolour = "#204060"', (
        '[sources.race]\nfile = "race.png"'
    ))  # fmt: skip
    spot.write_text(text, encoding="utf-8")
    spot.with_name("race.png").write_bytes(spot.with_name("mill.png").read_bytes())
    square = spot.with_name("square.toml")
    made = said(capsys, "convert", spot, "--format", "108x108@25", "-o", square, "--json")
    # by arithmetic: 9 of 16 columns stay
    lost = "mill, race: 44 % of the width of its 192 x 108 is cut off, half at either end, to fill"
    assert made["lost"] == [f"{lost} 108 x 108."]


def test_a_title_that_does_not_fit_the_new_frame_is_told_and_the_sheet_written(spot, capsys):
    wide = DESIGN.replace("Old mill", "Oldmillattheford").replace("size = 6", "size = 12")
    wide = wide.replace('place = "bottom left"', 'place = "bottom"\nmax_width = 130.0')
    spot.with_name("name.toml").write_text(wide, encoding="utf-8")
    tall, board = spot.with_name("tall.toml"), spot.with_name("tall.png")
    form = "108x192@25"
    made = said(capsys, "convert", spot, "--format", form, "-o", tall, "--board", board, "--json")
    assert any("leaves the picture at the side" in one for one in made["titles"])
    assert tall.exists()
    assert board.exists()


def test_letters_that_come_from_outside_the_safe_area_are_told(spot, capsys):
    design = (
        f'{DESIGN}[[build]]\nparts = ["words"]\nlength = 10\nkind = "slide"\ntowards = "right"\n'
    )
    spot.with_name("name.toml").write_text(f"{design}distance = 12.0\n", encoding="utf-8")
    square = spot.with_name("square.toml")
    made = said(capsys, "convert", spot, "--format", "108x108@25", "-o", square, "--json")
    assert any("title.safe_area: fails" in one for one in made["titles"])
