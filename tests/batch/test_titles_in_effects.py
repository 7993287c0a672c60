"""Rows for titles that stand in an effect over the picture."""

import json
from dataclasses import replace

import numpy as np
import pytest
from batch.made import SHEET, project, table
from batch.rendering import picture, render_all

from keyer.batch.front import BatchOrder
from keyer.render.still import render_still
from keyer.sheet.load import load_sheet

WITHIN = SHEET.replace(
    '[[overlays]]\nsource = "guest"\nin = 10\nout = 90\n',
    "[sources]\nnothing = { clear = true }\nlower = { effect = \"lower\" }\n"
    '[effects.lower]\ncues = [{ source = "nothing" }]\n'
    'overlays = [{ source = "guest", in = 5, out = 70 }]\n'
    '[[overlays]]\nsource = "lower"\nin = 10\nout = 90\nplacement = { scale = 50 }\n',
)  # fmt: skip
ROWS = "file,name,role\na,Ines,x\nb,Tilda,y\n"


@pytest.fixture
def order(tmp_path):
    sheet = project(tmp_path)
    sheet.write_text(WITHIN, encoding="utf-8")
    return BatchOrder(sheet, table(tmp_path, ROWS), tmp_path / "out")


def test_a_row_is_the_still_of_the_sheet_with_its_words(order):
    """The title is in when the effect's mix is over: frame 22."""
    render_all(order)
    text = order.sheet.read_text().replace(
        'fields = { role = "" }', 'fields = { name = "Tilda", role = "y" }'
    )
    other = order.sheet.with_name("tilda.toml")
    other.write_text(text, encoding="utf-8")
    expected = render_still(load_sheet(other), 22)
    np.testing.assert_array_equal(picture(order.folder / "b.png"), expected)
    assert (picture(order.folder / "a.png") != picture(order.folder / "b.png")).any()


def verdicts(order):
    render_all(order)
    line = json.loads((order.folder / "manifest.jsonl").read_text().splitlines()[0])
    return {one["measure"]: one["value"] for one in line["verdicts"]}


def test_it_is_measured_where_the_picture_shows_it(order):
    """By hand: letters half as high as without the box; the title from frame 15 to 79, of which
    the mix of the effect leaves those from 22 on, 58 of them."""
    found = verdicts(order)
    order.sheet.write_text(SHEET, encoding="utf-8")
    alone = verdicts(replace(order, folder=order.folder.with_name("alone")))
    assert found["title.letter_height"] == pytest.approx(alone["title.letter_height"] / 2)
    assert found["title.reading_time"] == pytest.approx(58 / 25)
    assert "title.contrast" in found
