"""A column of pictures: a portrait or logo for each row."""

import json
import re
from dataclasses import replace

import numpy as np
import pytest
from batch.made import DESIGN, project, table
from batch.rendering import changed_rows, picture, render_all
from PIL import Image

from keyer.batch.front import BatchOrder, batch, check_batch

PORTRAIT = """
[fields.portrait]
kind = "picture"
default = ""
"""
BOX = """
[[boxes]]
id = "portrait"
place = "top right"
width = 20
height = 30
picture = { file = "${portrait}", fit = "cover" }
"""
ROWS = "file,name,role,portrait\na,Ines,x,faces/red.png\nb,Tilda,x,faces/blue.png\nc,Wren,x,\n"


@pytest.fixture
def order(tmp_path):
    """A sheet whose title shows a portrait from the column of its field's name."""
    sheet = project(tmp_path)
    design = DESIGN.replace("[styles.big]", f"{PORTRAIT}[styles.big]", 1) + BOX
    (tmp_path / "design.toml").write_text(design, encoding="utf-8")
    (tmp_path / "faces").mkdir()
    for name, colour in (("red", (200, 0, 0)), ("blue", (0, 0, 200))):
        Image.new("RGB", (30, 90), colour).save(tmp_path / "faces" / f"{name}.png")
    return BatchOrder(sheet, table(tmp_path, ROWS), tmp_path / "out")


def test_each_row_shows_its_own_picture(order):
    """By hand: 20 % of 180 rows are 36 columns, 30 % are 54 rows, 5 % in from top and right."""
    render_all(order)
    box = np.s_[12:60, 272:300]
    assert (picture(order.folder / "a.png")[box] == (200, 0, 0)).all()
    assert (picture(order.folder / "b.png")[box] == (0, 0, 200)).all()
    back = picture(order.sheet.parent / "back.png")
    np.testing.assert_array_equal(picture(order.folder / "c.png")[box], back[box])


def test_the_manifest_holds_the_pictures_digests(order):
    """And what has the digest of none has no key for one."""
    render_all(order)
    lines = [json.loads(one) for one in (order.folder / "manifest.jsonl").read_text().splitlines()]
    assert set(lines[0]["pictures"]) == {"guest.portrait"}
    assert lines[0]["pictures"] != lines[1]["pictures"]
    assert "pictures" not in lines[2]


def test_a_picture_that_has_changed_costs_its_row_alone(order):
    render_all(order)
    Image.new("RGB", (30, 90), (0, 200, 0)).save(order.sheet.parent / "faces" / "red.png")
    rendered, changed = changed_rows(order.sheet.parent, order)
    assert rendered == 1
    assert changed == ["a.png", "manifest.jsonl"]


def test_a_picture_that_was_moved_costs_nothing_but_counts_by_what_it_is(order):
    render_all(order)
    folder = order.sheet.parent / "faces"
    (folder / "red.png").rename(folder / "ines.png")
    table(order.sheet.parent, ROWS.replace("red", "ines"))
    assert changed_rows(order.sheet.parent, order)[0] == 0


@pytest.mark.parametrize(
    ("cell", "words"),
    [
        ("faces/none.png", "row 2: portrait: .*none.png does not exist"),
        ("faces/broken.png", "row 2: portrait: .*broken.png is a broken PNG"),
        ("../red.png", "row 2: portrait must name a picture in .* or below, got '../red.png'"),
        ("/etc/hosts", "row 2: portrait must name a picture in .* or below, got '/etc/hosts'"),
        ("link.png", "row 2: portrait must name a picture in .* or below, got 'link.png'"),
        ("faces", "row 2: portrait: .* must be a still"),
        ("sheet.toml", "row 2: portrait: .* neither a picture nor a clip"),
    ],
)
def test_pictures_that_cannot_be_shown_are_faults_of_their_row(order, cell, words):
    folder = order.sheet.parent
    whole = (folder / "faces" / "red.png").read_bytes()
    (folder / "faces" / "broken.png").write_bytes(whole[:60])
    outside = folder.parent / f"{folder.name}.png"
    outside.write_bytes(whole)
    (folder / "link.png").symlink_to(outside)
    table(folder, ROWS.replace("faces/red.png", cell))
    (fault,) = check_batch(order).found.faults
    assert fault.rows == (2,)
    assert re.search(words, str(fault))
    assert batch(order).outcome is None
    assert not order.folder.exists()


def test_a_column_that_fills_a_source_is_held_to_the_folder_too(order):
    folder = order.sheet.parent
    outside = folder.parent / f"{folder.name}.png"
    outside.write_bytes((folder / "back.png").read_bytes())
    table(folder, f"file,name,role,portrait,back\na,A,x,,other.png\nb,B,x,,../{outside.name}\n")
    (fault,) = check_batch(order).found.faults
    assert fault.rows == (3,)
    assert "source back must be a file in" in str(fault)


def test_no_output_goes_over_a_row_s_picture(order):
    folder = order.sheet.parent
    table(folder, "file,name,role,portrait\nred,A,x,faces/red.png\n")
    (fault,) = check_batch(replace(order, folder=folder / "faces", force=True)).found.faults
    assert "red.png" in str(fault)
