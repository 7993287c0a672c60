"""Rows chosen by number and by what stands in a column; the others stay as they are."""

import json
from dataclasses import replace

import pytest
from batch.made import project, table
from batch.rendering import render_all

from keyer.batch.choose_rows import choose_rows
from keyer.batch.front import BatchOrder, check_batch
from keyer.batch.manifest import read_manifest
from keyer.batch.rows import Row, Rows
from keyer.cli.main import perform
from keyer.errors import SettingError

TOWNS = Rows(
    "t.csv",
    ("file", "town", "day"),
    tuple(
        Row(n, {"file": f"f{n}", "town": town, "day": day})
        for n, town, day in [
            (2, "Nord", "Mon"), (3, "Sud", "Mon"), (4, " Nord ", "Tue"), (6, "West", "Tue"),
            (7, "Nord", "Tue"),
        ]
    ),
)  # fmt: skip


@pytest.mark.parametrize(
    ("numbers", "where", "rows"),
    [
        ("", (), [2, 3, 4, 6, 7]),
        ("3", (), [3]),
        ("2-4, 7", (), [2, 3, 4, 7]),
        ("4-", (), [4, 6, 7]),
        ("5-6", (), [6]),  # row 5 is empty in the file
        ("", ("town=Nord",), [2, 4, 7]),
        ("", ("town=Nord", "day=Tue"), [4, 7]),
        ("", ("town=Nord", "town=West"), [2, 4, 6, 7]),
        ("2-6", ("town=Nord",), [2, 4]),
    ],
)
def test_which_rows(numbers, where, rows):
    chosen = choose_rows(TOWNS, numbers, where)
    assert [row.number for row in chosen.table.rows] == rows
    every = sorted(row.number for row in (*chosen.table.rows, *chosen.left))
    assert every == [2, 3, 4, 6, 7]
    told = f"{len(rows)} of 5 rows chosen; the others are left as they are."
    assert chosen.table.notices == (() if len(rows) == 5 else (told,))


@pytest.mark.parametrize(
    ("numbers", "where", "says"),
    [
        ("two", (), "rows must be numbers as a spreadsheet counts, got 'two'"),
        ("4-2", (), "rows must go up, got '4-2'. Write 2-4."),
        ("8", (), r"rows must be in \[2, 7\]"),
        ("9999999-", (), r"rows must be in \[2, 7\]"),
        ("5", (), "rows 5 must choose a row of t.csv, got none of its 5 rows"),
        ("", ("town",), "where must be COLUMN=TEXT, got 'town'"),
        (
            "",
            ("towns=Nord",),
            "where must name a column of t.csv, got 'towns'. Did you mean 'town'",
        ),
        ("", ("town=nord",), "town=nord must choose a row"),
    ],
)
def test_what_cannot_be_chosen_is_one_line(numbers, where, says):
    with pytest.raises(SettingError, match=says):
        choose_rows(TOWNS, numbers, where)


def order(folder, **settings):
    rows = table(folder, "file,name,#town\na,Ines,Nord\nb,Tomas,Sud\nc,Ada,Nord\n")
    return BatchOrder(project(folder), rows, folder / "out", **settings)


def test_rows_that_were_not_chosen_stay_as_they_are(tmp_path):
    asked = order(tmp_path)
    render_all(asked)
    before = {path.name: path.read_bytes() for path in (tmp_path / "out").glob("*.png")}
    design = tmp_path / "design.toml"
    design.write_text(design.read_text("utf-8").replace("#103040", "#402010"), encoding="utf-8")
    outcome = render_all(replace(asked, resume=True, where=("#town=Nord",)))
    after = {path.name: path.read_bytes() for path in (tmp_path / "out").glob("*.png")}
    assert [name for name in after if after[name] != before[name]] == ["a.png", "c.png"]
    assert outcome.gone == ()  # the row is still in the table
    assert {entry.row for entry in read_manifest(tmp_path / "out").entries.values()} == {2, 3, 4}


def test_a_chosen_row_does_not_take_the_name_of_another(tmp_path):
    rows = table(tmp_path, "file,name\na,Ines\na,Tomas\n")
    found = check_batch(BatchOrder(project(tmp_path), rows, tmp_path / "out", only="3")).found
    assert "which row 2 has as well" in found.faults[0].message


def test_the_command_chooses_rows(tmp_path, capfd):
    asked = order(tmp_path)
    line = ["batch", asked.sheet, asked.rows, "-d", asked.folder, "--jobs", 1, "--rows", "3-",
            "--where", "#town=Nord", "--json"]  # fmt: skip
    assert perform([str(part) for part in line]) == 0
    report = json.loads(capfd.readouterr().out)
    assert (report["rows"], report["outputs"]) == (1, ["c.png"])
    assert report["notices"] == ["1 of 3 rows chosen; the others are left as they are."]
