import json
import shutil
from pathlib import Path

import cv2
import numpy as np
import pytest
from PIL import Image
from report.made_spot import TEXT, plate, scene, write_spot

from keyer.cli.main import perform
from keyer.errors import InputFileError, KeyerError, OutputError, SettingError
from keyer.media.encode_still import encode_still
from keyer.media.files import Files
from keyer.media.notes import read_notes
from keyer.media.write import write_bytes
from keyer.pixel.colour.load import from_array
from keyer.render.stills import render_files
from keyer.report.boards.board_files import board_files
from keyer.report.versions.remake import remake_file
from keyer.titles.fonts import shipped_faces


@pytest.fixture
def spot(tmp_path):
    return write_spot(tmp_path / "spot")


def _still(spot, name="one.png", at="35", show="picture"):
    out = spot.parent / name
    render_files(spot, [at], out, show=show, force=True)
    return out


@pytest.mark.parametrize("show", ["picture", "matte", "spill", "subject"])
def test_a_still_is_made_again_to_the_last_bit(spot, tmp_path, show):
    first = _still(spot, at="60", show=show)
    made = remake_file(first, tmp_path / "again.png", folder=spot.parent)
    assert made.same
    assert made.differing_percent == 0
    assert (tmp_path / "again.png").read_bytes() == first.read_bytes()


def test_a_picture_of_16_bits_is_made_again_to_the_last_bit(tmp_path):
    spot = write_spot(tmp_path / "spot")
    ramp = np.linspace(0, 65535, 90 * 160 * 3).reshape(90, 160, 3).astype(np.uint16)
    cv2.imwrite(str(spot.parent / "media" / "lake.png"), ramp)
    first = _still(spot, at="20")
    made = remake_file(first, tmp_path / "again.png")
    assert made.differing_percent == 0
    assert (tmp_path / "again.png").read_bytes() == first.read_bytes()


def test_files_are_found_in_the_folder_named_and_in_the_pictures_own(spot, tmp_path, monkeypatch):
    inside = spot.parent / "stills"
    inside.mkdir()
    first = _still(spot)
    moved = inside / "one.png"
    moved.write_bytes(first.read_bytes())
    with pytest.raises(InputFileError, match=rf"--folder\); {spot.parent} has them"):
        remake_file(moved, tmp_path / "a.png")
    monkeypatch.chdir(tmp_path)
    with pytest.raises(InputFileError, match=r"\(--folder\)"):
        remake_file(moved, tmp_path / "a.png")
    assert not (tmp_path / "a.png").exists()
    assert remake_file(moved, tmp_path / "a.png", folder=spot.parent).same
    assert remake_file(moved, tmp_path / "b.png", folder=tmp_path).same  # in a folder of that one
    with pytest.raises(InputFileError, match="found none at nowhere"):
        remake_file(moved, tmp_path / "c.png", folder=Path("nowhere"))


def test_a_sheet_beside_its_media_is_found_in_the_folder_of_both(spot, tmp_path):
    sheets = spot.parent / "sheets"
    sheets.mkdir()
    text = spot.read_text("utf-8").replace("media/", "../media/")
    (sheets / "spot.toml").write_text(text, "utf-8")
    first = _still(sheets / "spot.toml")
    with pytest.raises(InputFileError, match="--folder"):
        remake_file(first, tmp_path / "a.png")
    assert remake_file(first, tmp_path / "a.png", folder=spot.parent).same


def test_a_changed_file_is_named_and_the_difference_measured(spot, tmp_path):
    first = _still(spot, at="20")
    changed = scene(1)
    changed[:9] += 4
    Image.fromarray(changed).save(spot.parent / "media" / "lake.png")
    made = remake_file(first, tmp_path / "again.png")
    assert made.changed == ("media/lake.png",)
    assert made.differing_percent == pytest.approx(10)  # 9 of 90 rows
    assert made.largest_difference == 4
    assert not made.same


def test_a_change_that_does_not_show_is_told_as_well(spot, tmp_path):
    first = _still(spot, at="20")
    Image.fromarray(plate(seed=2)).save(spot.parent / "media" / "rower.png")
    made = remake_file(first, tmp_path / "again.png")
    assert made.changed == ("media/rower.png",)
    assert made.differing_percent == 0
    assert not made.same


def test_a_sheet_that_has_changed_is_told_and_the_old_one_used(spot, tmp_path):
    first = _still(spot)
    spot.write_text(spot.read_text("utf-8").replace("soft = 2", "soft = 9"), "utf-8")
    made = remake_file(first, tmp_path / "again.png")
    assert made.same
    assert any("has changed since; the picture is made" in text for text in made.notices)
    spot.write_text("# a comment more\n" + spot.read_text("utf-8").replace("soft = 9", "soft = 2"))
    assert remake_file(first, tmp_path / "third.png").notices == ()


def test_a_board_is_made_again_and_each_of_its_pictures(spot, tmp_path):
    out = spot.parent / "board.png"
    vary = ["cues[1].transition.pattern=201,102,119", "cues[1].transition.soft=0,8"]
    board_files(spot, out, vary, at=None, paper="A4", force=False)
    made = remake_file(out, tmp_path / "again.png")
    assert made.differing_percent == 0
    assert (tmp_path / "again.png").read_bytes() == out.read_bytes()
    remake_file(out, tmp_path / "five.png", cell=5)
    text = spot.read_text("utf-8")
    text = text.replace("clockWipe/clockwiseTwelve", "irisWipe/diamond")
    asked = spot.with_name("asked.toml")
    asked.write_text(text.replace("soft = 2", "soft = 8"), "utf-8")
    expected = _still(asked, "expected.png")
    five = np.array(Image.open(tmp_path / "five.png"))
    assert np.array_equal(five, np.array(Image.open(expected)))
    assert remake_file(tmp_path / "five.png", tmp_path / "again5.png", folder=spot.parent).same
    with pytest.raises(SettingError, match="1 to 6, got 7"):
        remake_file(out, tmp_path / "seven.png", cell=7)


def test_a_storyboard_is_made_again(spot, tmp_path):
    out = spot.parent / "story.png"
    board_files(spot, out, [], at=None, paper="A4", force=False)
    assert remake_file(out, tmp_path / "again.png").differing_percent == 0


def test_the_same_still_has_the_same_bytes_wherever_it_is_written(spot, tmp_path):
    first = _still(spot)
    render_files(spot, ["35"], tmp_path / "other.png", show="picture", force=False)
    assert first.read_bytes() == (tmp_path / "other.png").read_bytes()
    assert str(tmp_path) not in read_notes(first)["keyer"]


def _with_note(spot, name, value):
    first = _still(spot)
    recipe = json.loads(read_notes(first)["keyer"])
    recipe[name] = value
    pixels = np.array(Image.open(first))
    data = encode_still(from_array(pixels), first, {"keyer": json.dumps(recipe)})
    out = spot.parent / "odd.png"
    write_bytes(out, data, Files(force=True))
    return out


@pytest.mark.parametrize(
    ("name", "value", "said"),
    [
        ("frame", "x", "damaged"),
        ("sheet", None, "damaged"),
        ("sheet", 5, "damaged"),
        ("more", 1, "damaged"),
        ("form", 99, "newer program"),
        ("board", {"page": 1}, "damaged"),
        ("board", {"paper": "A3", "page": 7, "cells": []}, "damaged"),
        ("board", {"paper": "A3", "page": 1, "vary": 3}, "damaged"),
    ],
)
def test_a_recipe_that_does_not_hold_is_one_line(spot, tmp_path, name, value, said):
    odd = _with_note(spot, name, value)
    with pytest.raises(InputFileError, match=said) as caught:
        remake_file(odd, tmp_path / "out.png")
    assert "\n" not in str(caught.value)
    assert not (tmp_path / "out.png").exists()


def test_pictures_without_a_recipe_are_refused(spot, tmp_path):
    Image.fromarray(scene(1)).save(tmp_path / "plain.png")
    Image.fromarray(scene(1)).save(tmp_path / "photo.jpg")
    (tmp_path / "torn.png").write_bytes(_still(spot).read_bytes()[:60])
    for name, said in (
        ("plain.png", "does not say how"), ("photo.jpg", "no PNG"), ("torn.png", "."),
        ("gone.png", "does not exist"),
    ):  # fmt: skip
        with pytest.raises(InputFileError, match=said):
            remake_file(tmp_path / name, tmp_path / "out.png")


def test_the_picture_itself_is_never_written_over(spot):
    first = _still(spot)
    with pytest.raises(OutputError, match="input"):
        remake_file(first, first, force=True)


def test_the_command_says_so_and_exits_with_4_where_it_differs(spot, tmp_path, capsys):
    first = _still(spot, at="20")
    assert perform(["remake", str(first), "-o", str(tmp_path / "a.png")]) == 0
    assert "to the last bit" in capsys.readouterr().out
    Image.fromarray(scene(5)).save(spot.parent / "media" / "lake.png")
    assert perform(["remake", str(first), "-o", str(tmp_path / "b.png")]) == 4
    said = capsys.readouterr().out
    assert "media/lake.png has changed since" in said
    assert "of the pixels differ" in said
    assert (tmp_path / "b.png").exists()
    assert perform(["remake", str(first), "-o", str(tmp_path / "c.png"), "--json"]) == 4
    assert json.loads(capsys.readouterr().out)["changed"] == ["media/lake.png"]


OURS = (
    '[[pattern]]\ntype = "ours"\nsubtype = "hex"\ndefault = true\nsummary = "A hexagon"\n'
    'function = "polygon"\nparams = { corners = 6, first_deg = 30 }\n'
)


def test_patterns_of_ones_own_are_part_of_how_a_picture_was_made(tmp_path):
    text = TEXT.replace('format = "160x90@25"', 'format = "160x90@25"\npatterns = "house"')
    text = text.replace("clockWipe/clockwiseTwelve", "ours/hex")
    spot = write_spot(tmp_path / "spot", text)
    house = spot.parent / "house"
    house.mkdir()
    (house / "ours.toml").write_text(OURS)
    first = _still(spot, at="35")
    assert remake_file(first, tmp_path / "again.png", folder=spot.parent).same
    (house / "ours.toml").write_text(OURS.replace("corners = 6", "corners = 3"))
    made = remake_file(first, tmp_path / "other.png", folder=spot.parent)
    assert made.changed == ("house/ours.toml",)
    assert made.differing_percent > 1


def test_a_push_and_a_background_are_made_again_to_the_last_bit(tmp_path):
    look = '[sources.ground]\nbackground = { look = "ember-drift", loop = 20, seed = 3 }\n'
    text = TEXT.replace("[sources.lake]", look + "[sources.lake]").replace(
        'source = "jetty"', 'source = "ground"'
    )
    start, end = 'pattern = "clockWipe', 'border_colour = "#FFC83D"'
    text = text[: text.index(start)] + 'pattern = "pushWipe"\nlength = 20' + text.partition(end)[2]
    first = _still(write_spot(tmp_path / "spot", text), at="35")
    made = remake_file(first, tmp_path / "again.png", folder=tmp_path / "spot")
    assert made.same
    assert (tmp_path / "again.png").read_bytes() == first.read_bytes()


def test_pictures_of_the_sheet_are_never_written_over(spot):
    media = spot.parent / "media" / "lake.png"
    before = media.read_bytes()
    first = _still(spot)
    with pytest.raises(OutputError):
        remake_file(first, media, folder=spot.parent, force=True)
    with pytest.raises(OutputError):
        board_files(spot, media, [], at=None, paper="A4", force=True)
    assert media.read_bytes() == before


HOUSE = "version = 1\n[variables]\nfigure = 'secret'\n"
HEAD = 'version = 1\n[sheet]\nformat = "160x90@25"\nlength = 100\n'
DESIGN = """name = "Trial"
[fields.name]
default = "a"
[styles.big]
size = 9
font = "FONT"
[[boxes]]
id = "words"
place = "bottom left"
[[boxes.texts]]
text = "${name}"
style = "big"
"""


@pytest.fixture
def private(tmp_path):
    """What lies beside the folder that is named, and is nobody's business."""
    folder = tmp_path / "private"
    (folder / "patterns").mkdir(parents=True)
    (folder / "shots").mkdir()
    for name in ("photo.png", "shots/s_0.png", "patterns/own.png"):
        Image.fromarray(scene(3)).save(folder / name)
    shutil.copy(shipped_faces()[0].path, folder / "own.ttf")
    (folder / "secret.toml").write_text(HOUSE, "utf-8")
    (folder / "design.toml").write_text(DESIGN.replace("FONT", "own.ttf"), "utf-8")
    return folder


@pytest.mark.parametrize("name", ["../private/", "{private}/", "media/../../private/", "link/"])
@pytest.mark.parametrize(
    "text",
    [
        '[sources.lake]\nfile = "{at}photo.png"',
        '[sources.lake]\nfile = "{at}shots/s_#.png"',
        '[sources.lake]\nfile = "{at}shots"',
        '[sources.lake.title]\ndesign = "{at}design.toml"',
        '[sources.lake.title]\npage = 7\npages = "{at}pages"',
        '[sources.lake.title]\ndesign = "odd.toml"',
        '[sources.lake]\nramp = true\n[[sound]]\nfile = "{at}photo.png"',
        'include = "{at}secret.toml"\n[sources.lake]\nramp = true',
        '[sources.lake]\nsheet = "{at}secret.toml"',
        '[sources.lake]\nsheet = "inner.toml"',
        '[sources.lake]\nramp = true\n[sheet]\npatterns = "{at}patterns"',
    ],
)
def test_a_picture_from_somebody_else_reaches_nothing_outside(
    spot, tmp_path, private, name, text, opened
):
    """Whatever it says, no file outside the folder that was named is opened."""
    (spot.parent / "link").symlink_to(private)
    at = name.replace("{private}", str(private))
    (spot.parent / "odd.toml").write_text(DESIGN.replace("FONT", f"{at}own.ttf"), "utf-8")
    inner = HEAD + f'[sources.a]\nfile = "{at}photo.png"\n[[cues]]\nsource = "a"\n'
    (spot.parent / "inner.toml").write_text(inner, "utf-8")
    first, *rest = text.replace("{at}", at).split("\n")
    sheet = f"{first}\n{HEAD}" if first.startswith("include") else f"{HEAD}{first}\n"
    sheet += "\n".join(rest).replace("[sheet]\n", "") if "[sheet]" not in text else ""
    if "[sheet]" in text:
        sheet = HEAD + rest[-1] + "\n[sources.lake]\nramp = true\n"
    sheet += '\n[[cues]]\nsource = "lake"\n'
    picture = _with_note(spot, "sheet", sheet)
    opened.clear()
    with pytest.raises(KeyerError) as refusal:
        remake_file(picture, tmp_path / "out.png", folder=spot.parent)
    assert "must lie in" in str(refusal.value)
    assert not (tmp_path / "out.png").exists()
    inside = str(private.resolve())
    assert not [path for path in opened if str(Path(path).resolve()).startswith(inside)]


def test_a_file_that_the_note_lists_is_not_looked_for_outside(spot, tmp_path, private):
    picture = _with_note(spot, "files", {"../private/photo.png": "0"})
    with pytest.raises(InputFileError, match=r"photo\.png is needed"):
        remake_file(picture, tmp_path / "out.png", folder=spot.parent)


def test_a_cell_of_a_board_changes_no_file_to_one_outside(spot, tmp_path, private):
    board_files(spot, spot.parent / "b.png", ["cues[1].transition.soft=0,8"], at=None, paper="A4",
                force=False)  # fmt: skip
    recipe = json.loads(read_notes(spot.parent / "b.png")["keyer"])
    recipe["board"]["cells"][0]["changes"] = {"sources.lake.file": "../private/photo.png"}
    pixels = np.array(Image.open(spot.parent / "b.png"))
    odd = spot.parent / "odd.png"
    odd.write_bytes(encode_still(from_array(pixels), odd, {"keyer": json.dumps(recipe)}))
    with pytest.raises(KeyerError, match="must lie in"):
        remake_file(odd, tmp_path / "out.png", cell=1, folder=spot.parent)


def test_what_a_picture_says_of_itself_works_no_terminal(spot, tmp_path, capsys):
    picture = _with_note(spot, "made_by", "\x1b]0;mine\x07 \x1b[2J")
    recipe = json.loads(read_notes(picture)["keyer"])
    assert recipe["made_by"].startswith("\x1b")
    odd = _with_note(spot, "digest", "0\x1b[2J")
    for one in (picture, odd):
        perform(["remake", str(one), "-o", str(tmp_path / "o.png"), "--force"])
    said = "".join(capsys.readouterr())
    assert not set(said) & set("\x1b\x07")


def test_a_picture_that_differs_is_said_in_one_line(spot, tmp_path, capsys):
    first = _still(spot, at="20")
    Image.fromarray(scene(9)).save(spot.parent / "media" / "lake.png")
    capsys.readouterr()
    assert perform(["remake", str(first), "-o", str(tmp_path / "again.png"), "--json"]) == 4
    (line,) = [line for line in capsys.readouterr().err.splitlines() if "compiling" not in line]
    assert (
        "again.png differs from the picture that it was: media/lake.png changed since and" in line
    )
