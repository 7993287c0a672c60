"""What the page says of a row: verdicts, and what helps where a matte does not hold."""

import json

import numpy as np
import pytest
from PIL import Image

from keyer.rehearsal.edits import edit_text, read_edits
from keyer.rehearsal.numbers import key_remedies, row_numbers
from keyer.render.plan import Plan
from keyer.sheet.load import parse_sheet

SHEET = """version = 1
[sheet]
format = "320x180@25"
length = 50
[sources]
green = { file = "green.png" }
[[cues]]
source = "green"
[[overlays]]
source = "green"
key = { kind = "chroma", acceptance = 130, clip = 4, gain = 1.1 }
"""


@pytest.fixture
def folder(tmp_path):
    """A grey block before an even green wall, with a teal print in its middle."""
    picture = np.full((180, 320, 3), (30, 190, 50), np.uint8)
    picture[40:, 100:220] = 128
    picture[100:106, 150:156] = (30, 157, 127)
    Image.fromarray(picture).save(tmp_path / "green.png")
    return tmp_path


def holes(text, folder):
    with Plan(parse_sheet(text, folder=folder)) as plan:
        said = json.loads(row_numbers(plan, "overlays[0]", 5))
        tried = json.loads(key_remedies(plan, "overlays[0]", 5))
    return next(one for one in said["verdicts"] if one["measure"] == "coverage.holes"), tried


def test_what_helps_is_told_as_edits_that_do_it(folder):
    bad, tried = holes(SHEET, folder)
    assert bad["verdict"] != "holds"
    helps = tried["coverage.holes"]
    assert helps["words"]
    mended, left = holes(edit_text(SHEET, read_edits(helps["edits"])), folder)
    assert mended["verdict"] == "holds"
    assert "coverage.holes" not in left


def test_a_row_without_a_key_has_nothing_to_be_tried(folder):
    text = SHEET.replace('key = { kind = "chroma", acceptance = 130, clip = 4, gain = 1.1 }\n', "")
    with Plan(parse_sheet(text, folder=folder)) as plan:
        assert json.loads(key_remedies(plan, "overlays[0]", 5)) == {}
