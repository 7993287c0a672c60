"""Tables into pages and back: all rows or none."""

import re

import pytest
from batch.made import project, table

from keyer.batch.page_rows import RowsOrder, add_pages, pages_table
from keyer.errors import InputFileError, OutputError, SettingError
from keyer.titles.page_list import list_pages, page_numbers

ROWS = """page;name;role;tint;note;#seen
12;Ines Marlow;Ferry pilot;;first half;yes
7;Tilda Rask;;#203040;;
900;=1+1;-5 °C;;@home;
"""


@pytest.fixture
def order(tmp_path):
    project(tmp_path)
    return RowsOrder(table(tmp_path, ROWS), tmp_path / "design.toml", tmp_path / "pages")


def said(store):
    return [(page.number, dict(page.fields), page.note) for page in list_pages(store).pages]


SAID = [
    (7, {"name": "Tilda Rask", "role": "", "tint": "#203040"}, ""),
    (12, {"name": "Ines Marlow", "role": "Ferry pilot"}, "first half"),
    (900, {"name": "=1+1", "role": "-5 °C"}, "@home"),
]


def test_a_row_becomes_a_page(order):
    added = add_pages(order)
    assert (added.rows, added.faults, len(added.pages)) == (3, (), 3)
    assert said(order.store) == SAID


def test_pages_as_a_table_go_back_in_as_they_were(order, tmp_path):
    add_pages(order)
    out = tmp_path / "out.csv"
    pages_table(order.store, [7, 12, 900], out)
    assert not re.search(r"(^|[,;\n])\"?[=+\-@]", out.read_text("utf-8-sig"))
    again = RowsOrder(out, order.design, tmp_path / "again")
    assert add_pages(again).faults == ()
    # a colour that the first table left open is an empty cell of the second, and open again
    assert said(again.store) == SAID


def test_numbers_count_on_from_one(order, tmp_path):
    rows = table(tmp_path, "name\nInes\nTilda\n")
    add_pages(RowsOrder(rows, order.design, order.store, 101))
    assert page_numbers(order.store) == [101, 102]


@pytest.mark.parametrize(
    ("text", "first", "says"),
    [
        ("page,name\n1,Ines\n1,Tilda\n", None, "row 3: row 2 has page 1 already"),
        ("page,name\nx,Ines\n", None, "row 2: page must be the number of a page, got 'x'"),
        ("page,name\n,Ines\n", None, "row 2: page must be the number of a page, got ''"),
        ("page,name\n0,Ines\n", None, r"row 2: page number must be in \[1, 99999\]"),
        ("page,name\n1,\n", None, "row 2: field name must not be empty"),
        ("page,name\n1,Ines\n2," + "x" * 300 + "\n", None, "row 3: .*too wide"),
        ("name\nInes\nTilda\n", 99_999, r"row 3: page number must be in \[1, 99999\], got 100000"),
    ],
)
def test_a_fault_keeps_every_row_out(order, tmp_path, text, first, says):
    added = add_pages(RowsOrder(table(tmp_path, text), order.design, order.store, first))
    assert re.search(says, " | ".join(map(str, added.faults)))
    assert not order.store.exists()


@pytest.mark.parametrize(
    ("text", "first", "says"),
    [
        ("page,nme\n1,Ines\n", None, "column 'nme' is no field of the design. Did you mean 'name'"),
        ("name\nInes\n", None, "numbers must come from a column 'page' or"),
        ("page,name\n1,Ines\n", 5, "one of them"),
        ("page,name\n", None, "must have a row"),
    ],
)
def test_a_table_that_does_not_fit_is_refused(order, tmp_path, text, first, says):
    with pytest.raises(SettingError, match=says):
        add_pages(RowsOrder(table(tmp_path, text), order.design, order.store, first))


def test_pages_that_are_there_are_replaced_when_asked_alone(order, tmp_path):
    add_pages(order)
    rows = table(tmp_path, "page,name\n12,Ada\n13,Bo\n", "more.csv")
    added = add_pages(RowsOrder(rows, order.design, order.store))
    assert "has page 12 already" in str(added.faults[0])
    assert page_numbers(order.store) == [7, 12, 900]
    assert add_pages(RowsOrder(rows, order.design, order.store, force=True)).faults == ()
    assert page_numbers(order.store) == [7, 12, 13, 900]


def test_the_table_is_never_written_over(order, tmp_path):
    order.store.mkdir()
    (order.store / "0012.toml").hardlink_to(order.table)
    before = order.table.read_bytes()
    added = add_pages(RowsOrder(order.table, order.design, order.store, force=True))
    assert "is an input and is never written over" in str(added.faults[0])
    (order.store / "0012.toml").unlink()
    add_pages(order)
    (tmp_path / "t.csv").hardlink_to(order.store / "0012.toml")
    with pytest.raises(OutputError, match="is an input"):
        pages_table(order.store, [12], tmp_path / "t.csv", force=True)
    assert order.table.read_bytes() == before


def test_a_table_in_another_encoding(order, tmp_path):
    rows = tmp_path / "latin.csv"
    rows.write_bytes("page;name\n1;Jörg\n".encode("cp1252"))
    with pytest.raises(InputFileError, match="--encoding"):
        add_pages(RowsOrder(rows, order.design, order.store))
    add_pages(RowsOrder(rows, order.design, order.store, encoding="latin-1"))
    assert said(order.store) == [(1, {"name": "Jörg"}, "")]
