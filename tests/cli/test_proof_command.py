"""`keyer proof` and `keyer pages proof`: printed, as a file, as JSON."""

import json

import pytest
from batch.made import SHEET, project, table
from pypdf import PdfReader

from keyer.cli.main import perform


@pytest.fixture
def here(tmp_path, monkeypatch):
    project(tmp_path)
    table(tmp_path, "file,name,role\na,Ines,the lake\nb,Tilda,\nc," + "x" * 90 + ",\n")
    (tmp_path / "sheet.toml").write_text(SHEET.replace('role = ""', 'name = "Wren"'))
    monkeypatch.chdir(tmp_path)
    return tmp_path


def run(capsys, text):
    code = perform(text.split())
    said = capsys.readouterr()
    return code, said.out, said.err


def test_titles_of_a_sheet_as_text(here, capsys):
    code, out, err = run(capsys, "proof sheet.toml")
    assert (code, err) == (0, "")
    assert out.splitlines() == [
        "1   guest   00:00:00:10 to 00:00:03:14",
        "    Wren",
        "  4 letters, 1 word, 2.0 s to read, on screen for 2.7 s",
        "1 title: 0 fail, 0 to watch.",
    ]


def test_rows_as_a_pdf_that_can_be_searched(here, capsys):
    code, out, err = run(capsys, "proof sheet.toml rows.csv -o proof.pdf")
    assert (code, err) == (4, "keyer: row 4 does not pass.\n")
    assert out.startswith("proof.pdf: proof\n")
    assert out.endswith("3 titles: 1 fail (1 cannot be drawn), 0 to watch.\n")
    (page,) = PdfReader(here / "proof.pdf").pages
    assert all(text in page.extract_text() for text in ("Ines", "the lake", "Tilda"))
    code, _, err = run(capsys, "proof sheet.toml rows.csv -o proof.pdf")
    assert (code, "exists" in err) == (2, True)


def test_pages_as_json(here, capsys):
    run(capsys, "title design.toml -f name=Ines --save 12")
    code, out, _ = run(capsys, "pages proof --json --format 320x180@25")
    data = json.loads(out)
    assert (code, data["counts"]) == (0, {"fails": 0, "watch": 0, "holds": 1})
    assert (data["titles"][0]["number"], data["titles"][0]["lines"]) == (12, ["Ines"])


@pytest.mark.parametrize(
    ("text", "says"),
    [
        ("proof sheet.toml --rows 2", "need a table"),
        ("proof sheet.toml rows.csv --set back=x.png", "--set is for a sheet alone"),
        ("proof sheet.toml rows.csv -o proof.txt", "must end in .pdf or .png"),
        ("proof sheet.toml rows.csv -o nowhere/proof.pdf", "Make it first"),
        ("pages proof -o sheet.toml", "must end in .pdf or .png"),
    ],
)
def test_wrong_requests_are_one_line(here, capsys, text, says):
    before = sorted(here.rglob("*"))
    code, _, err = run(capsys, text)
    assert (code, err.count("\n"), says in err) == (2, 1, True)
    assert sorted(here.rglob("*")) == before
