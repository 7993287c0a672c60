import json

import numpy as np
import pytest
from PIL import Image
from pypdf import PdfReader
from report.made_spot import write_spot

from keyer.errors import OutputError, SettingError
from keyer.media.notes import read_notes
from keyer.paper.page import Photo, Words
from keyer.report.boards.board import storyboard
from keyer.report.boards.board_files import board_files
from keyer.report.boards.choices import key_label, read_choices
from keyer.report.boards.variations import variation_board
from keyer.report.boards.varied import varied_frame, varied_place
from keyer.report.versions.remake import remake_file
from keyer.sheet.load import load_sheet, parse_sheet


@pytest.fixture(scope="module")
def spot(tmp_path_factory):
    return write_spot(tmp_path_factory.mktemp("boards") / "spot")


def _texts(board):
    return [
        item.line.text for page in board.pages for item in page.items if isinstance(item, Words)
    ]


def test_a_storyboard_shows_every_frame_of_the_story(spot, tmp_path):
    written, board = board_files(spot, tmp_path / "b.pdf", [], at=None, paper="A3", force=False)
    assert [cell["frame"] for cell in board.cells] == [0, 5, 10, 25, 35, 45, 50, 72, 75, 99]
    assert sum(isinstance(item, Photo) for item in board.pages[0].items) == 10
    text = PdfReader(written[0]).pages[0].extract_text()
    for word in (
        "Row before breakfast",
        "00:00:01:00",
        "Cue 2: The jetty",
        "SMPTE 201",
        "frame 35",
    ):
        assert word in text


def test_the_pictures_are_those_of_the_renderer(spot):
    """Half way through its wipe, 0.5 of clockwise from twelve, the right half is the new one."""
    board = storyboard(load_sheet(spot))
    photos = [item for item in board.pages[0].items if isinstance(item, Photo)]
    media = spot.parent / "media"
    lake, jetty = (np.array(Image.open(media / f"{n}.png")) for n in ("lake", "jetty"))
    assert np.array_equal(photos[2].pixels, lake)
    assert np.array_equal(photos[5].pixels, jetty)


def test_a_png_has_the_paper_at_200_dots_an_inch_and_its_recipe(spot, tmp_path):
    out = tmp_path / "board.png"
    board_files(spot, out, [], at=None, paper="A4", force=False)
    with Image.open(out) as picture:
        assert picture.size == (2339, 1654)
    notes = read_notes(out)
    assert notes["Title"] == "Row before breakfast"
    recipe = json.loads(notes["keyer"])
    assert recipe["digest"] == load_sheet(spot).digest
    assert [cell["number"] for cell in recipe["board"]["cells"]] == list(range(1, 11))


def test_variations_are_every_combination_the_last_key_side_by_side(spot):
    choices = read_choices(
        ["cues[1].transition.pattern=201,102", "cues[1].transition.border_colour=#FFC83D,#00FF00"]
    )
    board = variation_board(load_sheet(spot), choices)
    assert [list(cell["changes"].values()) for cell in board.cells] == [
        [201, "#FFC83D"], [201, "#00FF00"], [102, "#FFC83D"], [102, "#00FF00"],
    ]  # fmt: skip
    texts = _texts(board)
    assert texts.count("SMPTE 102 irisWipe/diamond") == 2
    assert texts.count("Border colour #00FF00") == 2
    assert texts.count("as in the sheet") == 1
    assert any("The same in all: Wipe, 20 frames" in text for text in texts)
    photos = [item for item in board.pages[0].items if isinstance(item, Photo)]
    assert photos[0].y == photos[1].y != photos[2].y
    assert not np.array_equal(photos[0].pixels, photos[1].pixels)


@pytest.mark.parametrize(
    "vary",
    [
        ["cues[1].transition.pattern=201,102,119,7,8,128"],
        ["cues[1].transition.pattern=201,102,119", "cues[1].transition.soft=0,8"],
        ["cues[1].transition.soft=0,8", "cues[1].transition.pattern=201,102,119"],
    ],
)
def test_six_variations_stand_three_to_a_row_on_a4_however_they_are_asked_for(spot, vary):
    board = variation_board(load_sheet(spot), read_choices(vary), paper="A4")
    (page,) = board.pages
    photos = [item for item in page.items if isinstance(item, Photo)]
    assert [photos[0].y, photos[3].y] == sorted({one.y for one in photos})
    if len(vary) > 1:
        patterns = [cell["changes"]["cues[1].transition.pattern"] for cell in board.cells]
        assert patterns == [201, 102, 119] * 2
    assert not any("cues[" in text for text in _texts(board))


def test_keys_that_are_called_alike_are_named_by_their_cue(spot):
    sheet = load_sheet(spot)
    keys = ["cues[1].transition.soft", "cues[2].transition.soft", "overlays[0].transition_in.soft"]
    labels = [key_label(key, keys, sheet) for key in keys]
    assert labels == [f"{name}: soft edge" for name in ("The jetty", "lake", "rower in")]


def test_variations_are_shown_half_way_through_what_is_varied(spot):
    sheet = load_sheet(spot)
    for key, frame in (
        ("cues[1].transition.soft=1", 35),
        ("cues[2].name=x", 75),
        ("overlays[0].key.gain=1", 62),
        ("overlays[0].transition_out.curve=ease", 72),
        ("sheet.title=x", 50),
    ):
        place = varied_place(read_choices([key]), [{}], [sheet])
        assert varied_frame(sheet, place) == frame, key
    board = variation_board(sheet, read_choices(["cues[1].transition.soft=0,8"]), at=30)
    assert [cell["frame"] for cell in board.cells] == [30, 30]


@pytest.mark.parametrize(
    ("vary", "said"),
    [
        ("cues[1].transition.pattern=201,clokWipe", "pattern=clokWipe makes a sheet with faults"),
        ("cues[1].transition.soft=2,900", "soft=900 makes a sheet with faults"),
        ("cues[9].transition.soft=2", "must lead to a key"),
        ("cues[1].transition.colour=#GG0000", "makes a sheet with faults"),
        ("variables.accnt=#FF0000,#00FF00", "nothing uses that key"),
        ("include=house.toml,other.toml", "include=house.toml makes a sheet with faults"),
        ("transitions.hous.soft=1", "nothing uses that key"),
        ("sheet.title=One,Two", "frame 50, 00:00:02:00 it looks the same"),
        ("cues[2].at=80,90", "each half way it looks the same"),
    ],
)
def test_a_variation_that_does_not_hold_is_named(spot, tmp_path, vary, said):
    with pytest.raises(SettingError, match=said.replace("[", r"\[")) as caught:
        board_files(spot, tmp_path / "b.png", [vary], at=None, paper="A3", force=False)
    assert "\n" not in str(caught.value)
    assert not list(tmp_path.iterdir())


def test_settings_of_an_include_can_be_varied(spot):
    shared = spot.parent / "house.toml"
    shared.write_text(
        'version = 1\n[transitions.house]\nkind = "wipe"\npattern = 1\nlength = 20\n', "utf-8"
    )
    text = 'include = "house.toml"\n' + spot.read_text("utf-8")
    start, end = text.index("[cues.transition]"), text.index('[[cues]]\nsource = "lake"\nat')
    text = f'{text[:start]}transition = {{ use = "house" }}\n\n{text[end:]}'
    using = spot.with_name("using.toml")
    using.write_text(text, "utf-8")
    board = variation_board(
        load_sheet(using), read_choices(["transitions.house.pattern=1,2"]), at=30
    )
    first, second = (item.pixels for item in board.pages[0].items if isinstance(item, Photo))
    assert not np.array_equal(first, second)


_VARIABLES = """version = 1
[variables]
accent = "#FFC83D"
length = 20
backing = "#103050"
[sheet]
title = "Two boats, accent ${accent}"
format = "160x90@25"
length = 200
[sources]
blue = { colour = "${backing}" }
bars = { bars = 75 }
[transitions.house]
kind = "wipe"
pattern = "barWipe/leftToRight"
length = "${length}"
border = 4
border_colour = "${accent}"
[[cues]]
source = "blue"
[[cues]]
source = "bars"
at = 50
transition = { use = "house", soft = 2 }
"""


def test_variables_and_what_is_used_by_name_are_varied_and_shown_where_they_are_seen(tmp_path):
    """A wipe of 20 frames from frame 50 is half way at frame 60; blue is on air up to 50."""
    path = tmp_path / "boats.toml"
    path.write_text(_VARIABLES, "utf-8")
    sheet = load_sheet(path)
    for vary, frames in (
        ("variables.accent=#FFC83D,#FF0000,#00FF00", [60, 60, 60]),
        ("variables.length=20,40", [60, 70]),
        ("variables.backing=#103050,#503010", [25, 25]),
        ("transitions.house.border=4,8", [60, 60]),
        ("sources.blue.colour=#103050,#503010", [25, 25]),
    ):
        board = variation_board(sheet, read_choices([vary]))
        assert [cell["frame"] for cell in board.cells] == frames, vary
        photos = [item.pixels for item in board.pages[0].items if isinstance(item, Photo)]
        assert not np.array_equal(photos[0], photos[1]), vary
        assert _texts(board).count("as in the sheet") == 1
    with pytest.raises(SettingError, match="another overrides it"):
        variation_board(sheet, read_choices(["transitions.house.soft=1,9"]))
    out = tmp_path / "board.png"
    board_files(path, out, ["variables.accent=#FF0000,#00FF00"], at=None, paper="A4", force=False)
    remake_file(out, tmp_path / "two.png", cell=2)
    with Image.open(tmp_path / "two.png") as picture:
        assert (np.array(picture) == (0, 255, 0)).all(axis=2).any()


def test_outputs_are_checked_before_anything_is_rendered(spot, tmp_path):
    for name in ("board.jpg", "board", "missing/board.png"):
        with pytest.raises(OutputError):
            board_files(spot, tmp_path / name, [], at=None, paper="A3", force=False)
    (tmp_path / "there.png").write_bytes(b"x")
    with pytest.raises(OutputError, match="exists"):
        board_files(spot, tmp_path / "there.png", [], at=None, paper="A3", force=False)
    with pytest.raises(SettingError, match="without --vary"):
        board_files(spot, tmp_path / "b.png", [], at="1s", paper="A3", force=False)


def test_a_story_of_more_pictures_than_anyone_leafs_through_is_refused(monkeypatch):
    """120 cues with transitions of two frames: 360 moments, the first cue and the last frame."""
    cues = "".join(
        f'[[cues]]\nsource = "a"\nat = {5 * n}\ntransition = {{ kind = "mix", length = 2 }}\n'
        for n in range(1, 121)
    )
    sheet = parse_sheet(
        'version = 1\n[sheet]\nformat = "64x36@25"\nlength = 700\n[sources.a]\ncolour = "#FFF"\n'
        '[[cues]]\nsource = "a"\n' + cues
    )
    monkeypatch.setattr("keyer.report.boards.board.Plan", lambda *_: pytest.fail("was drawn"))
    with pytest.raises(SettingError, match=r"at most 240 pictures, and this sheet has 362 moments"):
        storyboard(sheet)


def test_zones_are_drawn_into_every_picture_when_asked_for(tmp_path):
    (tmp_path / "lantern.toml").write_text(
        'version = 1\nstation = "Lantern"\n[[zones]]\nname = "mark"\nbox = [80, 10, 10, 20]\n'
    )
    sheet, out = tmp_path / "spot.toml", tmp_path / "board.png"
    text = (
        'version = 1\n[sheet]\nformat = "160x90@25"\nlength = 10\nrules = "lantern.toml"\n'
        '[sources.grey]\ncolour = "#404040"\n[[cues]]\nsource = "grey"\n'
    )
    sheet.write_text(text)
    board_files(sheet, out, [], at=None, paper="A4", force=False, zones=True)
    plain, zoned = (storyboard(load_sheet(sheet), zones=zones) for zones in (False, True))
    for page, other in zip(plain.pages, zoned.pages, strict=True):
        for one, two in zip(page.items, other.items, strict=True):
            if isinstance(one, Photo):
                # by hand: 80 to 90 % of 160 columns, 10 to 30 % of 90 rows
                apart = np.argwhere((one.pixels != two.pixels).any(axis=2))
                assert [*apart.min(0), *apart.max(0)] == [9, 128, 26, 143]
    assert remake_file(out, tmp_path / "again.png").same
    choices = read_choices(["sources.grey.colour=#303030,#505050"], load_sheet(sheet))
    varied = variation_board(load_sheet(sheet), choices, zones=True)
    photos = [item.pixels for item in varied.pages[0].items if isinstance(item, Photo)]
    assert [photo[9, 128].tolist() for photo in photos] == [[255] * 3] * 2
    sheet.write_text(text.replace('rules = "lantern.toml"\n', ""))
    with pytest.raises(SettingError, match="zones needs a station's rules"):
        board_files(sheet, out, [], at=None, paper="A4", force=True, zones=True)
