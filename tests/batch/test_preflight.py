"""Every fault of every row before anything is drawn."""

import time
from dataclasses import replace

import pytest
from batch.made import project, table
from openpyxl import Workbook

from keyer.batch.front import BatchOrder, batch
from keyer.batch.job import make_job
from keyer.batch.preflight import preflight
from keyer.batch.rows import Row, Rows
from keyer.batch.scene import still_frame
from keyer.errors import SettingError
from keyer.sheet.load import load_sheet

GOOD = "file,name,role\na,Ines,pilot\n"


def check(tmp_path, text, **more):
    sheet, rows = project(tmp_path), table(tmp_path, text)
    order = BatchOrder(sheet, rows, tmp_path / "out", **more)
    return batch(order, dry_run=True)


def told(report):
    return {row: fault.message for fault in report.faults for row in fault.rows}


def test_good_rows(tmp_path):
    report = check(tmp_path, GOOD)
    assert (report.rows, report.outcome, report.faults) == (1, None, ())
    assert not (tmp_path / "out").exists()


@pytest.mark.parametrize(
    ("row", "says"),
    [
        ("../../x,Ines,", ""),
        ("CON,Ines,", ""),
        ("b,=SUM(A1),@x", ""),
        ("b,<b>{name}</b>,{{", ""),
        ("b,Z\u0308oe\u0308 N\u0303andu\u0301,\u1ebf", ""),
        (",Ines,", "file must name the output"),
        ("...,Ines,", "file must name the output"),
        ("A,Ines,", "which row 2 has as well"),
        ("b,,pilot", "field name must not be empty"),
        ("b,   ,pilot", "field name must not be empty"),
        ("b,Smile \U0001f642,", "SLIGHTLY SMILING FACE"),
        (f"b,{'W' * 40},", "too wide"),
        (f"b,{'Hamburg' * 3},", "too wide at its smallest size"),
        (f"b,{'x' * 5000},", "at most 2000 letters, got 5,000"),
        (f"b,Ines,{'longish ' * 5}", "has 2"),
        ('b,"a\0b",', "control character U+0000"),
    ],
)
def test_hostile_rows(tmp_path, row, says):
    found = told(check(tmp_path, GOOD + row + "\n"))
    if says:
        assert says in found[3]
        assert "\n" not in found[3]
    else:
        assert not found


def test_all_faults_of_all_rows(tmp_path):
    text = GOOD + ",,x\nb,Smile \U0001f642,\na,Ines,\n"
    report = check(tmp_path, text)
    assert [fault.rows for fault in report.faults] == [(3,), (3,), (4,), (5,)]


def test_empty_cells(tmp_path):
    """An empty text is empty, whatever the sheet says; an empty colour is the design's own."""
    sheet = project(tmp_path)
    job = make_job(sheet, ("file", "name", "role", "tint", "back"))
    filled = job.filled({"file": "a", "name": "x", "role": "", "tint": "", "back": ""})
    assert dict(filled.fields)["guest"] == (("role", ""), ("name", "x"))
    assert filled.variables == ()


def test_columns_that_set_nothing_are_named(tmp_path):
    with pytest.raises(SettingError, match=r"'nme' sets nothing.*Did you mean 'name'"):
        check(tmp_path, "file,nme,#remark\n")
    several = r"columns 'nme', 'x' set nothing.* Known: .*name.* Begin their names with # if"
    with pytest.raises(SettingError, match=several):
        check(tmp_path, "file,nme,x,#remark\n")
    with pytest.raises(SettingError, match=r"must have a column 'file'.*Did you mean 'files'"):
        check(tmp_path, "files,name\n")


def test_colour_and_source_of_a_row(tmp_path):
    text = "file,name,tint,back\na,Ines,#FF0000,other.png\nb,Ines,red,\nc,Ines,,none.png\n"
    found = told(check(tmp_path, text))
    assert list(found) == [3, 4]
    assert "tint must be written as #RRGGBB" in found[3]
    assert "none.png" in found[4]


def test_variable_in_a_title_stands_where_the_sheet_puts_it(tmp_path):
    sheet = project(tmp_path)
    text = sheet.read_text()
    text = text.replace('role = ""', 'role = "of ${where}", name = "x"')
    sheet.write_text(text.replace('back = "back.png"', 'back = "back.png"\nwhere = "the lake"'))
    job = make_job(sheet, ("file", "where"), as_in_sheet=("name",))
    assert job.variables == {}
    filled = job.filled({"file": "a", "where": "the shore"})
    assert dict(dict(filled.fields)["guest"])["role"] == "of the shore"


def test_number_of_a_variable(tmp_path):
    sheet = project(tmp_path)
    text = sheet.read_text().replace('back = "back.png"', 'back = "back.png"\nup = 10')
    sheet.write_text(text.replace("in = 10", 'in = "${up}"'))
    job = make_job(sheet, ("file", "name", "up"))
    assert job.filled({"name": "x", "up": "20"}).variables == (("up", 20),)
    with pytest.raises(SettingError, match="up must be a number, as in the sheet, got 'soon'"):
        job.filled({"name": "x", "up": "soon"})


def test_outputs_that_exist_are_a_fault(tmp_path):
    (tmp_path / "out").mkdir()
    (tmp_path / "out" / "a.png").touch()
    assert "--resume" in told(check(tmp_path, GOOD))[2]
    assert "no batch made it" in told(check(tmp_path, GOOD, resume=True))[2]
    assert not told(check(tmp_path, GOOD, force=True))


def test_two_files_of_a_row_may_not_meet_another_rows(tmp_path):
    text = "file,name\na,x\na-key,y\na-KEY,z\n"
    found = told(check(tmp_path, text, kind="keyfill"))
    assert list(found) == [4]


def test_time_at_which_no_title_is_seen(tmp_path):
    found = told(check(tmp_path, GOOD, kind="alpha", at="0"))
    assert "at must be a time at which a title is seen" in found[2]
    assert not told(check(tmp_path, GOOD, at="0"))


@pytest.mark.parametrize(
    ("more", "says"),
    [({"kind": "ovr"}, "Did you mean 'over'"), ({"jobs": 0}, "jobs must be in"),
     ({"resume": True, "force": True}, "exclude each other")],
)  # fmt: skip
def test_wrong_requests(tmp_path, more, says):
    with pytest.raises(SettingError, match=says):
        check(tmp_path, GOOD, **more)


def test_ten_thousand_rows_a_second(tmp_path):
    """A hundred thousand in ten; processor time, so that a busy machine does not decide."""
    job = make_job(project(tmp_path), ("file", "name", "role"))
    odd = ("Ines Marlow", "W" * 60, "x" * 3000, "\u05d0\u05d1 Ines", "", "Z\u0308oe\u0308")
    rows = tuple(
        Row(n, {"file": f"f{n}", "name": f"{odd[n % 200 if n % 200 < 6 else 0]} {n}", "role": "x"})
        for n in range(2, 20_002)
    )
    preflight(job, Rows("rows", ("file", "name", "role"), rows[:400]))  # fonts found and opened
    started = time.process_time()
    found = preflight(job, Rows("rows", ("file", "name", "role"), rows))
    assert time.process_time() - started < 2
    assert len(found.tasks) + len({row for fault in found.faults for row in fault.rows}) == 20_000


def test_words_of_the_sheet_stand_on_every_picture_only_if_asked_for(tmp_path):
    sheet = project(tmp_path)
    sheet.write_text(sheet.read_text().replace('role = ""', 'role = "Keeper"'))
    order = BatchOrder(sheet, table(tmp_path, "file,name\na,Ines\n"), tmp_path / "out")
    with pytest.raises(
        SettingError, match=r"no column sets field 'role'.*'Keeper', as in the sheet"
    ):
        batch(order, dry_run=True)
    assert not batch(replace(order, as_in_sheet=("role",)), dry_run=True).faults
    with pytest.raises(SettingError, match=r"field 'rule' .* is in no title. Did you mean 'role'"):
        batch(replace(order, as_in_sheet=("role", "rule")), dry_run=True)
    table(tmp_path, GOOD)
    assert not batch(order, dry_run=True).faults


def test_colour_of_the_sheet_needs_no_column(tmp_path):
    """A colour is a choice and no sample."""
    sheet = project(tmp_path)
    sheet.write_text(sheet.read_text().replace('role = ""', 'tint = "#FF0000"'))
    order = BatchOrder(sheet, table(tmp_path, "file,name\na,Ines\n"), tmp_path / "out")
    assert not batch(order, dry_run=True).faults


def test_fault_of_all_rows_is_told_once(tmp_path):
    text = "file,name,back\n" + "".join(f"f{n},Ines,none.png\n" for n in range(50))
    (fault,) = check(tmp_path, text).faults
    assert str(fault).startswith("every row: ")
    assert fault.rows == tuple(range(2, 52))
    (fault,) = check(tmp_path, text + "good,Ines,\n").faults
    assert str(fault).startswith("rows 2-51: ")


@pytest.mark.parametrize("kind", ["keyfill", "alpha"])
def test_titles_apart_of_a_sheet_that_mixes_light_are_refused(tmp_path, kind):
    sheet = project(tmp_path)
    sheet.write_text(sheet.read_text().replace("[sheet]", '[sheet]\nlight = "linear"'))
    order = BatchOrder(sheet, table(tmp_path, GOOD), tmp_path / "out", kind=kind)
    (fault,) = batch(order, dry_run=True).faults
    assert 'needs light = "video"' in fault.message
    assert not batch(replace(order, kind="over"), dry_run=True).faults


@pytest.mark.parametrize(
    ("cell", "column", "fine"),
    [(1, "up", True), (0.5, "up", True), (0.5, "role", False), ("#N/A", "up", False),
     ("#N/A", "#remark", True)],
)  # fmt: skip
def test_cell_in_doubt_is_a_fault_where_it_matters(tmp_path, cell, column, fine):
    """How a half is written is the machine's affair; what number it is stands in the file."""
    sheet = project(tmp_path)
    text = sheet.read_text().replace('back = "back.png"', 'back = "back.png"\nup = 0.5')
    sheet.write_text(text.replace("in = 10", 'opacity = "${up}"\nin = 10'))
    row = {"file": "a", "name": "Ines", "role": "x", "up": 1, "#remark": ""} | {column: cell}
    book = Workbook()
    book.active.append(list(row))
    book.active.append(list(row.values()))
    book.save(tmp_path / "rows.xlsx")
    report = batch(BatchOrder(sheet, tmp_path / "rows.xlsx", tmp_path / "out"), dry_run=True)
    assert bool(report.faults) != fine


def test_a_still_of_a_crawl_is_the_middle_of_its_time(tmp_path):
    """By hand: on air from 10 to 90, in by a mix of 12 frames: (22 + 90) / 2."""
    path = project(tmp_path)
    design = (
        (tmp_path / "design.toml")
        .read_text()
        .replace("[[boxes]]", '[move]\nkind = "crawl"\npixels = 4\n[[boxes]]')
    )
    (tmp_path / "design.toml").write_text(design)
    job = make_job(path, ("file", "name", "role"))
    assert still_frame(job, load_sheet(path)) == 56
