"""Where a title's words stand on the picture, held against the letters that are drawn there."""

import numpy as np
import pytest

from keyer.rehearsal.title_words import title_words
from keyer.render.still import render_still
from keyer.sheet.load import parse_sheet

WIDTH, HEIGHT = 320, 180

SHEET = f"""version = 1
[sheet]
format = "{WIDTH}x{HEIGHT}@25"
length = 4
[sources]
a = {{ colour = "#000000" }}
words = {{ title = {{ design = "design.toml", fields = FIELDS }} }}
[[cues]]
source = "a"
[[overlays]]
source = "words"
"""

DESIGN = """name = "Words"
[fields.name]
[fields.role]
default = ""
[styles.plain]
size = 12
[[boxes]]
id = "words"
place = "bottom left"
max_width = 70
[[boxes.texts]]
text = TEXT
style = "plain"
fit = "wrap"
lines = 3
"""


def words(folder, fields, text="'${name}'", style="size = 12", more=""):
    design = DESIGN.replace("TEXT", text).replace("size = 12", style)
    (folder / "design.toml").write_text(design + more)
    sheet = parse_sheet(SHEET.replace("FIELDS", fields), folder=folder)
    return sheet, title_words(sheet, "words")


def inked(sheet) -> np.ndarray:
    return render_still(sheet, 2)[..., 1] > 90


def test_a_box_lies_around_the_letters(tmp_path):
    sheet, (found,) = words(tmp_path, '{ name = "HxH" }')
    rows, columns = np.nonzero(inked(sheet))
    left, top, wide, high = found["box"]
    assert found["field"] == "name"
    assert columns.min() / WIDTH == pytest.approx(left / 100, abs=0.01)
    assert columns.max() / WIDTH == pytest.approx((left + wide) / 100, abs=0.01)
    assert top / 100 < rows.min() / HEIGHT < rows.max() / HEIGHT < (top + high) / 100


def test_a_caret_stands_between_two_letters(tmp_path):
    """Between bars there is a gap: no ink lies under a caret."""
    sheet, (found,) = words(tmp_path, '{ name = "IIII" }')
    ink = inked(sheet).any(axis=0)
    assert len(found["stops"]) == 5
    for left, _, _ in found["stops"][1:4]:
        assert not ink[round(left * WIDTH / 100)]
    bars = np.flatnonzero(np.diff(ink.astype(int)) > 0)
    assert len(bars) == 4
    starts = [left * WIDTH / 100 for left, _, _ in found["stops"]]
    assert all(a < bar + 1 < b for a, bar, b in zip(starts, bars, starts[1:], strict=False))


def test_each_field_of_a_text_has_its_own_box(tmp_path):
    _, found = words(tmp_path, '{ name = "Ada", role = "Ferry" }', "'${name}, ${role}'")
    name, role = found
    assert [one["field"] for one in found] == ["name", "role"]
    assert name["box"][0] + name["box"][2] < role["box"][0]
    assert (len(name["stops"]), len(role["stops"])) == (4, 6)


def test_a_text_of_several_lines_has_a_caret_on_each(tmp_path):
    said = "keeps bells by the quay"
    _, (found,) = words(tmp_path, f'{{ name = "{said}" }}')
    tops = [top for _, top, _ in found["stops"]]
    assert len(found["stops"]) == len(said) + 1
    assert len(set(tops)) > 1
    assert tops == sorted(tops)


def test_letters_that_are_not_those_typed_have_a_box_alone(tmp_path):
    """In capitals an eszett is two letters (Unicode, SpecialCasing)."""
    _, (found,) = words(tmp_path, '{ name = "Straße" }')
    assert len(found["stops"]) == 7
    _, (found,) = words(tmp_path, '{ name = "Straße" }', style="size = 9\ncapitals = true")
    assert found["stops"] == []
    assert found["box"][2] > 0


def test_words_that_run_through_the_picture_stand_nowhere(tmp_path):
    sheet, found = words(tmp_path, '{ name = "Ada" }', more='[move]\nkind = "crawl"\n')
    assert found == []
    assert title_words(sheet, "a") == []
    assert title_words(sheet, "gone") == []
