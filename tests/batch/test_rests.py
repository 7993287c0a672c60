"""What a row's picture rests on."""

from dataclasses import replace

import numpy as np
import pytest
from batch.made import guests, project, table
from batch.rendering import changed_rows, render_all
from PIL import Image
from titles.system_fonts import square_font, system_with

from keyer.batch.front import BatchOrder, check_batch
from keyer.batch.rests import Rests

GEORGIAN = "\u10d0\u10d1"


def test_font_that_steps_in_is_counted(tmp_path, monkeypatch):
    """Another font under the same name is another picture; rows without it stay."""
    fonts = tmp_path / "fonts"
    fonts.mkdir()
    rows = table(tmp_path, f"file,name,role\na,Ines,\nb,{GEORGIAN},\n")
    order = BatchOrder(project(tmp_path), rows, tmp_path / "out")
    square_font(fonts / "a.ttf", "Alpha Sans", GEORGIAN)
    with system_with(fonts, monkeypatch):
        render_all(order)
        assert changed_rows(tmp_path, order) == (0, [])
    square_font(fonts / "a.ttf", "Alpha Sans", GEORGIAN, height=500)
    with system_with(fonts, monkeypatch):
        assert changed_rows(tmp_path, order)[0] == 1
    square_font(fonts / "b.ttf", "Alphabet Sans", GEORGIAN + "x")  # comes after it
    with system_with(fonts, monkeypatch):
        assert changed_rows(tmp_path, order) == (0, [])
    square_font(fonts / "c.ttf", "Aleph Sans", GEORGIAN)  # comes before it
    with system_with(fonts, monkeypatch):
        assert changed_rows(tmp_path, order)[0] == 1


def test_project_that_moves_is_not_rendered_again(tmp_path):
    (tmp_path / "one").mkdir()
    order = BatchOrder(project(tmp_path / "one"), guests(tmp_path / "one", 2), tmp_path / "one/out")
    render_all(order)
    (tmp_path / "one").rename(tmp_path / "two")
    moved = BatchOrder(tmp_path / "two/sheet.toml", tmp_path / "two/rows.csv", tmp_path / "two/out")
    assert changed_rows(tmp_path, moved) == (0, [])


@pytest.mark.parametrize(
    ("change", "says"),
    [
        ({}, []),
        ({"fields": "x"}, ["what stands in the titles"]),
        ({"stepping_in": "x"}, ["fonts of the system that step in"]),
        ({"scene": {"sheet": "x", "fonts": "1"}}, ["sheet"]),
        ({"scene": {"sheet": "0"}}, ["fonts"]),
    ],
)
def test_differences_are_named(change, says):
    mine = Rests({"sheet": "0", "fonts": "1"}, "2")
    other = replace(mine, **change)
    assert mine.differences(other) == says
    assert (mine.key == other.key) == (not says)


LOGO = """
[[boxes]]
id = "logo"
place = "top right"
height = 20
picture = { file = "logo.png" }
[[build]]
parts = ["logo", "words"]
length = 20
"""


def test_a_still_shows_the_built_title_and_is_rendered_again_for_another_logo(tmp_path):
    (tmp_path / "one").mkdir()
    sheet = project(tmp_path / "one")
    design = sheet.parent / "design.toml"
    design.write_text(design.read_text(encoding="utf-8") + LOGO, encoding="utf-8")
    Image.new("RGB", (20, 20), (250, 0, 0)).save(sheet.parent / "logo.png")
    order = BatchOrder(sheet, guests(tmp_path / "one", 1), tmp_path / "one/out")
    render_all(order)
    (still,) = (tmp_path / "one/out").glob("*.png")
    # by hand, 320 x 180: title-safe ends at 304 and begins at 9; the logo is 36 high
    pixel = np.asarray(Image.open(still))[25, 290]
    assert pixel.tolist() == [250, 0, 0]
    assert changed_rows(tmp_path, order) == (0, [])
    Image.new("RGB", (20, 20), (0, 0, 250)).save(sheet.parent / "logo.png")
    assert changed_rows(tmp_path, order)[0] == 1
    (sheet.parent / "logo.png").unlink()
    faults = check_batch(replace(order, folder=tmp_path / "other")).found.faults
    assert faults
    assert "logo.png" in str(faults[0])
