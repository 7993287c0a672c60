import json

import cv2
import numpy as np
import pytest
from PIL import Image
from report.boards import TEXT, plate, scene, write_spot

from keyer.cli.main import perform
from keyer.errors import InputFileError, OutputError, SettingError
from keyer.media.encode_still import encode_still
from keyer.media.files import Files
from keyer.media.notes import read_notes
from keyer.media.write import write_bytes
from keyer.pixel.load import from_array
from keyer.render.stills import render_files
from keyer.report.board_files import board_files
from keyer.report.remake import remake_file


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


def test_the_files_are_found_about_the_picture_or_the_current_folder(spot, tmp_path, monkeypatch):
    inside = spot.parent / "stills"
    inside.mkdir()
    first = _still(spot)
    moved = inside / "one.png"
    moved.write_bytes(first.read_bytes())
    assert remake_file(moved, tmp_path / "a.png").same
    mailed = tmp_path / "mail"
    mailed.mkdir()
    (mailed / "one.png").write_bytes(first.read_bytes())
    with pytest.raises(InputFileError, match="--folder"):
        remake_file(mailed / "one.png", tmp_path / "b.png")
    assert not (tmp_path / "b.png").exists()
    monkeypatch.chdir(spot.parent)
    assert remake_file(mailed / "one.png", tmp_path / "b.png").same


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
    assert any("says something else by now" in text for text in made.notices)
    spot.write_text("# a comment more\n" + spot.read_text("utf-8").replace("soft = 9", "soft = 2"))
    assert remake_file(first, tmp_path / "third.png").notices == ()


def test_a_board_is_made_again_and_each_of_its_pictures(spot, tmp_path):
    out = spot.parent / "board.png"
    vary = ["cues[1].transition.pattern=201,102,119", "cues[1].transition.soft=0,8"]
    board_files(spot, out, vary, at=None, paper="A4", force=False)
    made = remake_file(out, tmp_path / "again.png")
    assert made.differing_percent == 0
    assert (tmp_path / "again.png").read_bytes() == out.read_bytes()
    remake_file(out, tmp_path / "four.png", cell=4)
    text = spot.read_text("utf-8")
    text = text.replace("clockWipe/clockwiseTwelve", "irisWipe/diamond")
    asked = spot.with_name("asked.toml")
    asked.write_text(text.replace("soft = 2", "soft = 8"), "utf-8")
    expected = _still(asked, "expected.png")
    four = np.array(Image.open(tmp_path / "four.png"))
    assert np.array_equal(four, np.array(Image.open(expected)))
    assert remake_file(tmp_path / "four.png", tmp_path / "again4.png", folder=spot.parent).same
    with pytest.raises(SettingError, match="1 to 6, got 7"):
        remake_file(out, tmp_path / "seven.png", cell=7)


def test_a_story_board_is_made_again(spot, tmp_path):
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
