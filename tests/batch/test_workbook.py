"""Workbooks as a person sees them, written by a library or, where it would not, by hand."""

import datetime as dt
import io
import zipfile
import zlib

import pytest
from openpyxl import Workbook
from openpyxl.styles import Font

from keyer.batch import package, worksheet
from keyer.batch.grid import column_name, spans
from keyer.batch.rows import read_rows
from keyer.errors import InputFileError, SettingError

NAMES = "http://schemas.openxmlformats.org/spreadsheetml/2006/main"
OFFICE = "http://schemas.openxmlformats.org/officeDocument/2006/relationships"


def saved(tmp_path, book):
    book.save(tmp_path / "rows.xlsx")
    return tmp_path / "rows.xlsx"


def formatted(tmp_path, *cells):
    """A column of values, each in its format."""
    book = Workbook()
    sheet = book.active
    sheet.append(["file", "what"])
    for n, (value, code) in enumerate(cells, 2):
        sheet.append([f"f{n}", value])
        sheet.cell(n, 2).number_format = code
    return saved(tmp_path, book)


def by_hand(tmp_path, rows, *, after="", before="", strings="", styles=""):
    """A workbook of one sheet from its XML."""
    links = "".join(
        f'<Relationship Id="{key}" Type="{OFFICE}/{kind}" Target="{target}"/>'
        for key, kind, target in (
            ("r1", "worksheet", "s.xml"),
            ("r2", "sharedStrings", "t.xml"),
            ("r3", "styles", "y.xml"),
        )
    )  # fmt: skip
    parts = {
        "_rels/.rels": f'<Relationships><Relationship Id="a" Type="{OFFICE}/officeDocument" '
        'Target="/xl/book.xml"/></Relationships>',
        "xl/_rels/book.xml.rels": f"<Relationships>{links}</Relationships>",
        "xl/book.xml": f'<workbook xmlns="{NAMES}" xmlns:r="{OFFICE}"><sheets>'
        '<sheet name="Names" sheetId="1" r:id="r1"/></sheets></workbook>',
        "xl/s.xml": f'<worksheet xmlns="{NAMES}">{before}<sheetData>{rows}</sheetData>{after}'
        "</worksheet>",
    }
    parts |= {"xl/t.xml": strings} if strings else {}
    parts |= {"xl/y.xml": styles} if styles else {}
    with zipfile.ZipFile(tmp_path / "rows.xlsx", "w", zipfile.ZIP_DEFLATED) as made:
        for name, text in parts.items():
            made.writestr(name, text)
    return tmp_path / "rows.xlsx"


def word(text, reference=""):
    place = f' r="{reference}"' if reference else ""
    return f'<c{place} t="inlineStr"><is><t>{text}</t></is></c>'


HEADER = f"<row>{word('file')}{word('name')}</row>"


def texts(found, column="what"):
    return [row.cells[column] for row in found.rows]


def doubts(found):
    return [doubt.message for row in found.rows for doubt in row.doubts.values()]


def test_what_the_person_sees(tmp_path):
    date = dt.date(2026, 8, 5)
    found = read_rows(formatted(
        tmp_path, (date, "dd.mm.yyyy"), (0.45, "0%"), (7, "000"), ("Ines", "General"),
        (41.0, "General"), (dt.time(20, 15), "h:mm"), ("007", "@"), (3, '0" goals"'),
    ))  # fmt: skip
    assert texts(found) == ["05.08.2026", "45%", "007", "Ines", "41", "20:15", "007", "3 goals"]
    assert doubts(found) == []


def test_formula_without_a_value_error_and_what_each_machine_shows_its_own_way(tmp_path):
    date = dt.date(2026, 8, 5)
    found = read_rows(formatted(
        tmp_path, ('="a"&"b"', "General"), ("#N/A", "General"), (date, "mm-dd-yy"), (12.5, "0.00"),
        (True, "General"),
    ))  # fmt: skip
    said = doubts(found)
    assert [text[:24] for text in said] == [f"cell B{n} of sheet 'Sheet'" for n in range(2, 7)]
    assert "formula whose value is not in the file" in said[0]
    assert "shows the error '#N/A'" in said[1]
    assert "machine's settings choose" in said[2]
    assert "12.50, which is shown with a point or a comma" in said[3]
    assert "machine's language" in said[4]


def test_formula_with_a_value_is_what_was_seen(tmp_path):
    rows = (
        f'{HEADER}<row>{word("a")}<c t="str"><f>B9</f><v>Ines</v></c></row>'
        f'<row>{word("b")}<c t="str"><f>B9</f><v></v></c></row>'
        f"<row>{word('c')}<c><f>1+1</f><v>2</v></c></row>"
    )
    found = read_rows(by_hand(tmp_path, rows))
    assert texts(found, "name") == ["Ines", "", "2"]
    assert doubts(found) == []


def test_hidden_sheet_is_passed_over_and_another_chosen_by_name(tmp_path):
    book = Workbook()
    book.active.title = "last year"
    book.active.sheet_state = "hidden"
    for sheet in (book.active, book.create_sheet("tonight"), book.create_sheet("late")):
        sheet.append(["file"])
        sheet.append([sheet.title])
    file = saved(tmp_path, book)
    found = read_rows(file)
    assert texts(found, "file") == ["tonight"]
    assert found.notices == ("rows are those of sheet 'tonight' of rows.xlsx; others: 'late'.",)
    assert texts(read_rows(file, "last year"), "file") == ["last year"]
    with pytest.raises(SettingError, match=r"'last year', 'tonight', 'late'.*got 'Late'"):
        read_rows(file, "Late")


def test_hidden_rows_are_left_out_and_told(tmp_path):
    book = Workbook()
    book.active.append(["file"])
    for n in range(2, 9):
        book.active.append([f"f{n}"])
    for n in (3, 5, 6, 7):
        book.active.row_dimensions[n].hidden = True
    found = read_rows(saved(tmp_path, book))
    assert texts(found, "file") == ["f2", "f4", "f8"]
    assert found.notices == ("sheet 'Sheet': hidden, and left out: rows 3, 5-7.",)


def test_hidden_column_is_refused_unless_it_is_a_remark(tmp_path):
    book = Workbook()
    book.active.append(["file", "name", "#id"])
    book.active.append(["a", "Ines", "17"])
    book.active.column_dimensions["C"].hidden = True
    assert texts(read_rows(saved(tmp_path, book)), "name") == ["Ines"]
    book.active.column_dimensions["B"].hidden = True
    with pytest.raises(InputFileError, match=r"column B \('name'\) of sheet 'Sheet' is hidden"):
        read_rows(saved(tmp_path, book))


def test_merged_cells_are_in_doubt(tmp_path):
    book = Workbook()
    for cells in (["file", "name", "#id"], ["a", "Ines", 1], ["b", None, 2], ["c", "Tilda", 3]):
        book.active.append(cells)
    book.active.merge_cells("B2:B3")
    book.active.merge_cells("C2:C4")  # a remark
    found = read_rows(saved(tmp_path, book))
    assert doubts(found) == [
        f"cell B{n} of sheet 'Sheet' is merged (B2:B3). Split it and fill each cell."
        for n in (2, 3)
    ]


def test_doubt_in_the_header_is_a_fault_of_the_file(tmp_path):
    book = Workbook()
    book.active.append(["file", "#REF!"])
    book.active.append(["a", "x"])
    with pytest.raises(InputFileError, match="cell B1 of sheet 'Sheet' shows the error"):
        read_rows(saved(tmp_path, book))


def test_dimension_is_not_believed(tmp_path):
    rows = f"{HEADER}<row>{word('a')}{word('Ines')}</row>"
    found = read_rows(by_hand(tmp_path, rows, before='<dimension ref="A1:A1"/>'))
    assert texts(found, "name") == ["Ines"]


def test_shared_rich_and_escaped_texts(tmp_path):
    strings = (
        f'<sst xmlns="{NAMES}"><si><r><t>In</t></r><r><rPr><b/></rPr><t>es</t></r>'
        "<rPh><t>aloud</t></rPh></si><si><t>a_x000D_b &amp; c</t></si></sst>"
    )
    rows = HEADER + "".join(f'<row>{word("a")}<c t="s"><v>{n}</v></c></row>' for n in range(2))
    found = read_rows(by_hand(tmp_path, rows, strings=strings))
    assert texts(found, "name") == ["Ines", "a\rb & c"]


def test_bold_text_of_the_library(tmp_path):
    book = Workbook()
    book.active.append(["file", "name"])
    book.active.append(["a", "Ines"])
    book.active["B2"].font = Font(bold=True)
    assert texts(read_rows(saved(tmp_path, book)), "name") == ["Ines"]


def test_gaps_between_cells_and_rows(tmp_path):
    rows = f'{HEADER}<row r="9">{word("Ines", "B9")}</row><row/><row>{word("c")}</row>'
    found = read_rows(by_hand(tmp_path, rows))
    assert [(row.number, row.cells) for row in found.rows] == [
        (9, {"file": "", "name": "Ines"}), (11, {"file": "c", "name": ""}),
    ]  # fmt: skip


@pytest.mark.parametrize(
    ("rows", "says"),
    [
        (f'<row r="5">{word("a")}</row><row r="5">{word("b")}</row>', "row 5 comes after row 5"),
        (f"<row>{word('a', 'B1')}{word('b', 'A1')}</row>", "cell A1 is not in its place"),
        (f"<row>{word('a', 'A7')}</row>", "cell A7 is not in its place"),
        (f"<row>{word('a', '7')}</row>", "'7' is not the name of a cell"),
        ('<row><c t="s"><v>3</v></c></row>', "there is no item 3"),
        ("<row><c><v>many</v></c></row>", "could not convert"),
        ("<row><c s='x'><v>1</v></c></row>", "invalid literal"),
        ("<row>", "mismatched tag"),
        ("&lol;", "undefined entity"),
        (f'<row r="1048577">{word("a")}</row>', "more than 1,048,576 rows"),
        (f"<row>{word('x' * 32_768)}</row>", "a text of more than 32,767"),
        (f"<row>{word('x', 'ALM1')}</row>", "at most 1000 columns.*in column ALM"),
        (HEADER + f"<row>{word('a') * 3}</row>", "row 2 has 3 cells"),
    ],
)
def test_broken_sheets_are_one_line(tmp_path, rows, says):
    with pytest.raises(InputFileError, match=says) as caught:
        read_rows(by_hand(tmp_path, rows))
    assert "\n" not in str(caught.value)


def test_document_type_is_refused(tmp_path):
    file = by_hand(tmp_path, HEADER)
    with zipfile.ZipFile(file, "a") as made, pytest.warns(UserWarning, match="Duplicate"):
        made.writestr("xl/s.xml", '<!DOCTYPE a [<!ENTITY b "bb">]><worksheet>&b;</worksheet>')
    with pytest.raises(InputFileError, match="document type"):
        read_rows(file)


def test_budgets(tmp_path, monkeypatch):
    """A file that unpacks to more than anybody needs is given up on the way."""
    file = by_hand(tmp_path, HEADER + "<row/>" * 200_000)
    assert len(read_rows(file).rows) == 0
    monkeypatch.setattr(worksheet, "MOST_LINES", 100_000)
    with pytest.raises(InputFileError, match="more than 100,000 rows in sheet 'Names'"):
        read_rows(file)
    monkeypatch.setattr(package, "MOST_XML", 1 << 20)
    monkeypatch.setattr(worksheet, "MOST_LINES", 1_000_000)
    with pytest.raises(InputFileError, match="unpacks to more than 1 MiB"):
        read_rows(file)


@pytest.mark.parametrize("merged", ["A1:XFD1048576", "A1:B2"])
def test_merged_cells_have_a_budget(tmp_path, merged, monkeypatch):
    monkeypatch.setattr(worksheet, "_MOST_MERGED", 1000)
    after = f"<mergeCells>{f'<mergeCell ref={chr(34)}{merged}{chr(34)}/>' * 999}</mergeCells>"
    with pytest.raises(InputFileError, match="too many merged cells"):
        read_rows(by_hand(tmp_path, HEADER * 2, after=after))


def damaged(data, seed):
    """The file with a few bytes changed, by turns in its table of contents and its parts."""
    changed = bytearray(data)
    for n in range(3):
        at = zlib.crc32(f"{seed} {n}".encode()) % len(changed)
        changed[at] ^= 1 + seed % 255
    return bytes(changed)


def test_damaged_files_are_one_line(tmp_path):
    """Every one of 300 damaged workbooks is read or refused, and none is a defect."""
    book = Workbook()
    for n in range(40):
        book.active.append([f"file{n}", f"Ines {n}"])
    stream = io.BytesIO()
    book.save(stream)
    file = tmp_path / "rows.xlsx"
    refused = 0
    for seed in range(300):
        file.write_bytes(damaged(stream.getvalue(), seed))
        try:
            read_rows(file)
        except InputFileError as error:
            refused += "\n" not in str(error)
    assert refused > 100


def test_xls_and_passwords(tmp_path):
    (tmp_path / "rows.xlsx").write_bytes(b"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1" + bytes(500))
    with pytest.raises(InputFileError, match="XLS file, or locked with a password"):
        read_rows(tmp_path / "rows.xlsx")


def test_column_names():
    assert [column_name(n) for n in (0, 25, 26, 701, 702)] == ["A", "Z", "AA", "ZZ", "AAA"]


def test_spans():
    assert spans([3, 5, 6, 7, 9]) == "3, 5-7, 9"
    assert spans(list(range(0, 60, 2))) == "0, 2, 4, 6, 8, 10, 12, 14, 16, 18 and 20 more"


def test_tag_without_an_end(tmp_path):
    file = by_hand(tmp_path, f'<row spans="{"1" * (2 << 20)}">')
    with pytest.raises(InputFileError, match="a tag that never ends"):
        read_rows(file)
