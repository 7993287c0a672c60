"""Names that are no UTF-8, too long, or no names at all: a result or one line, never a defect."""

import os
import shutil
import sys

import pytest
from cli.whole_project import make_project

from keyer.cli.main import perform

pytestmark = pytest.mark.skipif(sys.platform != "linux", reason="names are bytes on Linux alone")

ODD = os.fsdecode(b"\xff\xfe")
LONG = "n" * 300


@pytest.fixture(scope="module")
def whole(tmp_path_factory):
    folder = tmp_path_factory.mktemp("odd")
    make_project(folder)
    for name in ("plate.png", "sheet.toml", "rows.csv"):
        shutil.copy(folder / name, folder / f"{ODD}{name}")
    return folder


@pytest.fixture
def project(whole, tmp_path, monkeypatch):
    shutil.copytree(whole, tmp_path / "project")
    monkeypatch.chdir(tmp_path / "project")
    return tmp_path / "project"


def told(capsys):
    """Lines on standard error, without the one that a first run ever begins with."""
    return [line for line in capsys.readouterr().err.splitlines() if "compiling" not in line]


@pytest.mark.parametrize(
    "command",
    [
        "still ODDsheet.toml --at 1 -o ODD.png",
        "still ODDsheet.toml --at 1 -o ODDfolder --json",
        "clip ODDsheet.toml -o ODD.mov",
        "board ODDsheet.toml -o ODD.png",
        "board ODDsheet.toml -o ODD.pdf",
        "report ODDsheet.toml -o ODD.html",
        "cues ODDsheet.toml -o ODD.html",
        "key ODDplate.png --over back.png -o ODD.png --board ODDboard.pdf --json",
        "survey ODDplate.png -o ODD.pdf",
        "batch ODDsheet.toml ODDrows.csv --jobs 1 -d ODD --contact ODD.png",
        "title designs/name.toml --save 5 --pages ODDpages",
    ],
)
def test_names_that_are_no_utf_8_are_names(command, project, capsys):
    assert perform(command.replace("ODD", ODD).split()) in (0, 4), capsys.readouterr().err
    out, err = capsys.readouterr()
    assert "defect" not in err
    (out + err).encode()  # nothing that a terminal could not be given


def test_a_picture_of_a_sheet_of_an_odd_name_is_made_again(project):
    assert perform(["still", f"{ODD}sheet.toml", "--at", "1", "-o", "one.png"]) == 0
    assert perform(["remake", "one.png", "-o", "two.png"]) == 0


@pytest.mark.parametrize(
    "command",
    [
        "title designs/name.toml --save 5 --note ODD",
        "title designs/name.toml -o t.png -f name=ODD",
        "mix back.png third.png --kind ODD -o m.png",
        "still sheet.toml --at ODD -o s.png",
        "board sheet.toml --vary ODD=1 -o b.png",
        "batch sheet.toml rows.csv -d out --file-column ODD",
        "ODD",
    ],
)
def test_words_that_are_no_utf_8_are_refused(command, project, capsys):
    before = sorted(project.rglob("*"))
    assert perform(command.replace("ODD", ODD).split()) == 2
    assert len(told(capsys)) == 1
    assert sorted(project.rglob("*")) == before


@pytest.mark.parametrize(
    "command",
    [
        "still LONG.toml --at 1 -o o.png",
        "still sheet.toml --at 1 -o LONG.png",
        "still sheet.toml --at 1 -o LONG",
        "still sheet.toml --at 1 -o LONG/a.png",
        "clip sheet.toml -o LONG.mov",
        "board sheet.toml -o LONG.pdf",
        "report sheet.toml -o LONG.html",
        "cues sheet.toml -o LONG.csv",
        "key LONG.png --over back.png -o k.png",
        "key plate.png --over LONG -o k.png",
        "key plate.png --over back.png --hold LONG.png -o k.png",
        "key plate.png --over back.png -o k.png --matte-out LONG.png",
        "wipe back.png third.png --pattern 1 --border-source LONG -o w.png",
        "patterns --patterns LONG",
        "patterns --chart LONG.png",
        "survey plate.png -o LONG.png",
        "measure plate.png --matte LONG",
        "batch sheet.toml LONG.csv -d out",
        "batch sheet.toml rows.csv -d LONG",
        "batch sheet.toml rows.csv -d out --contact LONG.png",
        "title LONG.toml -o t.png",
        "title designs/name.toml --save 5 --pages LONG",
        "title 7 --pages LONG -o t.png",
        "pages list --pages LONG",
        "remake LONG.png -o r.png",
        "check LONG",
        "demo LONG",
    ],
)
def test_names_of_more_than_255_bytes_are_refused(command, project, capsys):
    before = sorted(project.rglob("*"))
    code = perform(command.replace("LONG", LONG).split())
    said = told(capsys)
    assert code in (2, 3)
    assert len(said) == 1
    assert "defect" not in said[0]
    assert sorted(project.rglob("*")) == before


@pytest.mark.parametrize(
    ("before", "after", "said"),
    [
        ('patterns = "patterns"', "patterns = 4", "sheet.patterns, line 6: must be text in quotes"),
        ('patterns = "patterns"', 'patterns = ["a", 4]', "sheet.patterns[1], line 6: must be text"),
        ('patterns = "patterns"', "patterns = { a = 1 }", "sheet.patterns, line 6: must be text"),
        ('"plate.png"', '"a\\u0000.png"', "must be a name that a file can have"),
        ('patterns = "patterns"', 'patterns = "\\u0000"', "must be a name that a file can have"),
        ('"designs/name.toml"', '"\\u0000"', "must be a name that a file can have"),
        ('"tone.wav"', '"\\u0000"', "must be a name that a file can have"),
        ('"house.toml"', '"\\u0000"', "must be a name that a file can have"),
    ],
)
def test_what_is_no_name_in_a_sheet(before, after, said, project, capsys):
    sheet = project / "sheet.toml"
    text = sheet.read_text(encoding="utf-8")
    assert before in text
    sheet.write_text(text.replace(before, after), encoding="utf-8")
    assert perform(["still", "sheet.toml", "--at", "1", "-o", "o.png"]) == 2
    first, *faults = capsys.readouterr().err.splitlines()
    assert first == "keyer: sheet.toml: 1 fault"
    assert len(faults) == 1
    assert said in faults[0]
