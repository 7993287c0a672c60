"""Rows from CSV and XLSX."""

import pytest
from openpyxl import Workbook

from keyer.batch.rows import read_rows
from keyer.errors import InputFileError, KeyerError


def read(tmp_path, content, name="rows.csv"):
    file = tmp_path / name
    file.write_bytes(content if isinstance(content, bytes) else content.encode())
    return read_rows(file)


@pytest.mark.parametrize("mark", ["", "\ufeff"])
@pytest.mark.parametrize("separator", [",", ";", "\t"])
@pytest.mark.parametrize("ending", ["\n", "\r\n"])
def test_separators_marks_and_endings(tmp_path, mark, separator, ending):
    lines = [separator.join(cells) for cells in (("file", "name"), ("a", "Ines"), ("b", "Örtwin"))]
    found = read(tmp_path, mark + ending.join(lines) + ending)
    assert found.columns == ("file", "name")
    assert [(row.number, row.cells) for row in found.rows] == [
        (2, {"file": "a", "name": "Ines"}),
        (3, {"file": "b", "name": "Örtwin"}),
    ]


def test_quoted_line_breaks_separators_and_quotes(tmp_path):
    found = read(tmp_path, 'file,name\na,"one\ntwo, ""three"""\nb,x\n')
    assert found.rows[0].cells["name"] == 'one\ntwo, "three"'
    assert found.rows[1].number == 3


def test_separator_inside_quotes_of_the_header_does_not_count(tmp_path):
    found = read(tmp_path, '"a,b,c,d";name\nx;y\n')
    assert found.columns == ("a,b,c,d", "name")


def test_empty_rows_are_passed_over_and_short_ones_filled(tmp_path):
    found = read(tmp_path, "file,name,role\n\na\n,,\n , \nb,x,y,\n")
    assert [(row.number, row.cells["file"], row.cells["role"]) for row in found.rows] == [
        (3, "a", ""), (6, "b", "y"),
    ]  # fmt: skip


def test_cells_like_formulas_are_texts(tmp_path):
    found = read(tmp_path, "file,name\na,=1+1\nb,@sum\n")
    assert [row.cells["name"] for row in found.rows] == ["=1+1", "@sum"]


@pytest.mark.parametrize(
    ("content", "says"),
    [
        ("", "empty table"),
        ("\n\n", "empty table"),
        ("file,,name\n", "column 2 has no name"),
        ("file,name,file\n", "'file' twice"),
        ("file,name\na,b,c\n", "row 2 has 3 cells and the header 2"),
        ('file,name\na,"open\n', "row 2 is not"),
        ("file\n\xe9".encode("latin-1"), "line 2 is not. Export it again"),
    ],
)
def test_broken_tables_are_one_line(tmp_path, content, says):
    with pytest.raises(InputFileError, match=says) as caught:
        read(tmp_path, content)
    assert "\n" not in str(caught.value)


def test_a_sheet_or_design_is_no_table(tmp_path):
    file = tmp_path / "results.toml"
    file.write_text('name = "Results"\n')
    with pytest.raises(InputFileError, match="is a sheet or a design, not a table of rows"):
        read_rows(file)


def test_missing_file(tmp_path):
    with pytest.raises(InputFileError, match="no such file"):
        read_rows(tmp_path / "none.csv")


def test_workbook(tmp_path):
    book = Workbook()
    sheet = book.active
    for cells in (
        ("file", "name", "age"),
        ("a", "Ines", 41.0),
        (None, None, None),
        ("b", "", True),
    ):
        sheet.append(cells)
    book.save(tmp_path / "rows.xlsx")
    found = read_rows(tmp_path / "rows.xlsx")
    assert [(row.number, row.cells) for row in found.rows] == [
        (2, {"file": "a", "name": "Ines", "age": "41"}),
        (4, {"file": "b", "name": "", "age": "true"}),
    ]


def test_text_named_xlsx(tmp_path):
    with pytest.raises(InputFileError, match="must be an XLSX workbook"):
        read(tmp_path, "file,name\n", "rows.xlsx")


@pytest.mark.parametrize(
    ("encoding", "data"),
    [
        ("latin-1", "file;name\na;Zoë “Ö” – 5 €\n".encode("cp1252")),
        ("utf-16", "file;name\na;Zoë “Ö” – 5 €\n".encode("utf-16")),
        ("utf-8", "file;name\na;Zoë “Ö” – 5 €\n".encode()),
    ],
)
def test_tables_of_other_encodings_on_request(tmp_path, encoding, data):
    file = tmp_path / "rows.csv"
    file.write_bytes(data)
    assert read_rows(file, encoding=encoding).rows[0].cells == {
        "file": "a",
        "name": "Zoë “Ö” – 5 €",
    }
    if encoding != "utf-8":
        with pytest.raises(InputFileError, match="name its --encoding"):
            read_rows(file)


@pytest.mark.parametrize(
    ("name", "data", "encoding", "says"),
    [
        ("a.csv", b"file\na\n", "ebcdic", "encoding must be"),
        ("a.xlsx", b"", "latin-1", "encoding is for CSV, got a.xlsx"),
        ("a.csv", b"file\na", "utf-16", "must be CSV in UTF-16"),
        ("a.csv", b"file\na\x81\n", "latin-1", "must be CSV in LATIN-1, but line 2 is not"),
    ],
)
def test_an_encoding_that_it_is_not_is_one_line(tmp_path, name, data, encoding, says):
    (tmp_path / name).write_bytes(data)
    with pytest.raises(KeyerError, match=says):
        read_rows(tmp_path / name, encoding=encoding)
