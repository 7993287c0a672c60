import json

import pytest
from report.spots import HEAD, cut

from keyer.cli.main import perform

FLASHING = [("blue", 0), *((("white", "blue")[i % 2], 10 + 3 * i) for i in range(12))]
ASKED = ("approved test", "local rules", "people at risk")


@pytest.fixture
def sheet(tmp_path):
    def write(order):
        path = tmp_path / "sheet.toml"
        path.write_text(HEAD.format(length=100) + cut(*order), encoding="utf-8")
        return str(path)

    return write


def test_a_sheet_that_holds(sheet, capsys):
    assert perform(["check", sheet([("blue", 0), ("grey", 50)])]) == 0
    out = capsys.readouterr().out
    assert "0 findings fail, 0 need a look" in out
    assert "flash.general" in out
    assert all(words in out for words in ASKED)


def test_a_sheet_that_fails(sheet, capsys):
    assert perform(["check", sheet(FLASHING)]) == 4
    out, err = capsys.readouterr()
    assert [line for line in err.splitlines() if "does not pass" in line] == [
        line for line in err.splitlines() if "flash.general" in line
    ]
    assert len([line for line in err.splitlines() if "does not pass" in line]) == 1
    assert "fails: flash.general\n  when   00:00:00:01 to" in out
    assert "  limit  3 flashes in any second" in out
    assert "  after  WCAG 2.3.1" in out
    assert "  remedy " in out
    assert all(words in out for words in ASKED)


def test_json_is_one_object_and_nothing_else(sheet, capsys):
    assert perform(["check", sheet(FLASHING), "--json"]) == 4
    data = json.loads(capsys.readouterr().out)
    assert data["verdict"] == "fails"
    assert data["findings"][0]["check"].startswith("flash")
    assert all(words in data["caution"] for words in ASKED)


def test_help_says_that_it_is_no_clearance(capsys):
    assert perform(["check", "--help"]) == 0
    out = " ".join(capsys.readouterr().out.split())
    assert "an aid and no clearance" in out
    assert all(words in out for words in ASKED)


def test_a_sheet_that_cannot_be_read(tmp_path, capsys):
    assert perform(["check", str(tmp_path / "gone.toml")]) == 3
    assert len(capsys.readouterr().err.strip().splitlines()) == 1
