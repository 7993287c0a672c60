"""Results tables: columns, baselines, pages."""

from fractions import Fraction

import pytest

from keyer.errors import SettingError, SheetError
from keyer.titles.foresee import Foresight
from keyer.titles.ink import Canvas
from keyer.titles.inside import laid_out
from keyer.titles.moving import time_title
from keyer.titles.read import parse_design
from keyer.titles.tables import table_pages

DESIGN = """
name = "Results"
[fields.page]
default = ""
[styles.cell]
size = 5
[styles.head]
size = 4
[table]
box = "table"
style = "cell"
heading = "head"
row_height = 10
gap = 2
smallest = 4
stripe = { colour = "#FFFFFF", opacity = 0.1 }
line = { thickness = 0.5 }
columns = [{ column = "n", title = "" }, { column = "who", title = "Rider" }, { column = "time" }]
[[boxes]]
id = "table"
place = "top left"
width = 100
height = 52
padding = [1, 2]
[boxes.panel]
[[boxes]]
id = "page"
place = "bottom right"
[[boxes.texts]]
text = "${page}"
style = "cell"
"""
CANVAS = Canvas(1920, 1080)  # 10.8 pixels a percent; title-safe begins at 96, 54
COLUMNS = ("n", "who", "time", "other")
ROWS = [("9", "Bo", "58:07", "x"), ("10", "Ilse Marrowfen", "1:00:12", ""), ("11", "Oda", "", "")]


def pages(rows=ROWS, design=DESIGN, given=None):
    return table_pages(parse_design(design), COLUMNS, rows, given or {}, CANVAS)


def boxes(page):
    design, values = page
    layout = laid_out(design.design, design.design.values(values), CANVAS)
    return {laid.box.id: laid for laid in layout.boxes}


def ends(laid):
    """Where the line of a cell begins and ends, and its baseline."""
    (placed,) = laid.lines
    return placed.x, placed.x + placed.line.width, placed.baseline


def test_figures_end_and_texts_begin_in_one_line():
    (page,) = pages()
    cells = boxes(page)
    right = {round(ends(cells[f"table-{r}-0"])[1], 3) for r in (1, 2, 3)}
    left = {round(ends(cells[f"table-{r}-1"])[0], 3) for r in (0, 1, 2, 3)}
    assert len(right) == len(left) == 1
    last = [ends(cells[f"table-{r}-2"])[1] for r in (0, 1, 2)]
    # by hand: the box ends at 96 + 1080 pixels, less a padding of 21.6
    assert last == pytest.approx([1154.4] * 3, abs=0.3)


def test_a_row_stands_on_one_baseline_and_rows_are_evenly_apart():
    (page,) = pages()
    cells = boxes(page)
    lines = [{round(ends(cells[f"table-{r}-{c}"])[2], 3) for c in (0, 1)} for r in (1, 2, 3)]
    assert [len(line) for line in lines] == [1, 1, 1]
    first, second, third = (min(line) for line in lines)
    assert (second - first, third - second) == pytest.approx((108, 108))


def test_figures_are_equally_wide_in_columns_of_them():
    (page,) = pages()
    styles = page[0].design.styles
    assert styles["table-1-0"].figures == styles["table-1-2"].figures == "tabular"
    assert styles["table-1-1"].figures == ""


def test_an_empty_cell_keeps_its_place_and_stripes_are_every_second_row():
    (page,) = pages([("1", "", "2", ""), ("3", "Bo", "4", ""), ("5", "Oda", "6", "")])
    cells = boxes(page)
    assert cells["table-1-1"].lines == ()
    assert ends(cells["table-1-2"])[1] == ends(cells["table-2-2"])[1]
    assert [r for r in range(4) if f"table-{r}-stripe" in cells] == [1, 3]
    assert [r for r in range(4) if f"table-{r}-line" in cells] == [0, 1, 2]


def test_rows_that_do_not_fit_are_shared_out_evenly_over_pages():
    """52 less the padding of 2 has room for a heading and four rows of 10; nine take 3 pages."""
    rows = [(str(n), f"Rider {n}", "1:00", "") for n in range(1, 10)]
    found = pages(rows)
    assert [values["page"] for _, values in found] == ["1 / 3", "2 / 3", "3 / 3"]
    shown = [[values[f"table-{r}-0"] for r in (1, 2, 3)] for _, values in found]
    assert shown == [["1", "2", "3"], ["4", "5", "6"], ["7", "8", "9"]]
    assert "page" not in pages()[0][1]
    limited = DESIGN.replace("gap = 2", "gap = 2\nrows = 2")
    assert [len(v) // 3 - 1 for _, v in pages(design=limited)] == [2, 1]


def test_texts_get_smaller_before_they_are_refused():
    """A narrower box: the letters of the column of texts shrink, and those of figures do not."""
    narrow = DESIGN.replace("width = 100", "width = 58")
    (page,) = pages(design=narrow)
    styles = page[0].design.styles
    assert 4 <= styles["table-1-1"].size < 5
    assert styles["table-1-0"].size == 5
    cells = boxes(page)
    assert len({round(ends(cells[f"table-1-{c}"])[2], 3) for c in (0, 1, 2)}) == 1
    with pytest.raises(SettingError, match="% of the picture height too wide for box 'table'"):
        pages(design=DESIGN.replace("width = 100", "width = 40"))
    given = DESIGN.replace('{ column = "who", ', '{ column = "who", width = 10, ')
    with pytest.raises(SettingError, match=r"column 'who': Ilse Marrowfen is \d+ % too wide"):
        pages(design=given)


@pytest.mark.parametrize(
    ("rows", "design", "words"),
    [
        ([], DESIGN, "must have a row to show"),
        ([("1",) * 4] * 1001, DESIGN, "at most 1000 rows, got 1,001"),
        (ROWS, DESIGN.replace('column = "time"', 'column = "tine"'), "no column 'tine'. .*'time'"),
        (ROWS, DESIGN.replace("row_height = 10", "row_height = 40"), "room for a row of 40 %"),
        (ROWS, 'name = "x"\n[styles.s]\n[[boxes]]\nid = "a"\nplace = "top"\nwidth = 1\nheight = 1',
         "must have a \\[table\\] to set rows in"),
    ],
)  # fmt: skip
def test_what_cannot_be_set_is_refused(rows, design, words):
    with pytest.raises(SettingError, match=words):
        pages(rows, design)


def test_a_title_is_no_table():
    """Neither drawn nor foreseen, for its rows are wanted."""
    file = parse_design(DESIGN)
    for make in (
        lambda: time_title(file, {}, CANVAS, Fraction(25)),
        lambda: Foresight(file.design, CANVAS),
    ):
        with pytest.raises(SettingError, match="draw it with 'keyer table'"):
            make()


@pytest.mark.parametrize(
    ("was", "now", "words"),
    [
        ('box = "table"', 'box = "tables"', "box 'tables' is not in this design"),
        ('heading = "head"', 'heading = "hat"', "style 'hat' is not in this design"),
        ('{ column = "time" }', '{ column = "time", style = "x" }', "style 'x' is not in"),
        ("width = 100", 'width = "page"', "must have no texts, and sides in percent"),
    ],
)
def test_names_that_lead_nowhere_are_told(was, now, words):
    with pytest.raises(SheetError, match=words):
        parse_design(DESIGN.replace(was, now, 1))
