"""Batches gone on with: what holds is kept, what is not the batch's is not replaced."""

from dataclasses import replace

import numpy as np
import pytest
from batch.made import contents, guests, project, table
from batch.rendering import changed_rows, render_all
from PIL import Image

from keyer.batch import run
from keyer.batch.front import BatchOrder, check_batch
from keyer.batch.manifest import NAME, read_manifest


def test_resume_renders_only_what_has_changed(tmp_path):
    sheet, rows = project(tmp_path), guests(tmp_path, 6)
    order = BatchOrder(sheet, rows, tmp_path / "out")
    render_all(order)
    assert changed_rows(tmp_path, order) == (0, [])
    rows.write_text(rows.read_text().replace("Guest 3", "Oswin").replace("Guest 5", "Tilda"))
    assert changed_rows(tmp_path, order) == (2, ["003.png", "005.png", NAME])
    (order.folder / "001.png").unlink()
    assert changed_rows(tmp_path, order) == (1, ["001.png"])
    (order.folder / "002.png").write_bytes(b"damaged")
    assert changed_rows(tmp_path, order) == (1, ["002.png"])
    design = tmp_path / "design.toml"
    design.write_text(design.read_text().replace("size = 9", "size = 8"))
    assert changed_rows(tmp_path, order)[0] == 6
    Image.fromarray(np.zeros((180, 320, 3), np.uint8)).save(tmp_path / "back.png")
    assert changed_rows(tmp_path, order)[0] == 6


def test_cell_with_a_line_separator_is_not_rendered_again(tmp_path):
    rows = table(tmp_path, "file,name,role\na,Ines\u2028Marlow,x\x85y\nb,Tilda,\n")
    order = BatchOrder(project(tmp_path), rows, tmp_path / "out")
    render_all(order)
    assert changed_rows(tmp_path, order) == (0, [])


def test_row_moved_in_the_table_is_kept(tmp_path):
    sheet, rows = project(tmp_path), guests(tmp_path, 3)
    order = BatchOrder(sheet, rows, tmp_path / "out")
    render_all(order)
    head, *lines = rows.read_text().splitlines()
    rows.write_text("\n".join([head, *lines[::-1]]))
    assert changed_rows(tmp_path, order) == (0, [NAME])
    assert [entry.row for entry in read_manifest(order.folder).entries.values()] == [2, 3, 4]


def resumed(order):
    """What is told of files that are there, without rendering."""
    checked = check_batch(replace(order, resume=True))
    return [fault.message for fault in checked.found.faults]


def test_pictures_that_no_batch_has_made_are_not_replaced(tmp_path):
    order = BatchOrder(project(tmp_path), guests(tmp_path, 3), tmp_path / "out")
    order.folder.mkdir()
    (order.folder / "001.png").write_bytes((tmp_path / "back.png").read_bytes())
    (said,) = resumed(order)
    assert "its output exists, and no batch made it" in said
    assert not check_batch(replace(order, force=True)).found.faults


def test_pictures_that_somebody_has_changed_are_not_replaced(tmp_path):
    order = BatchOrder(project(tmp_path), guests(tmp_path, 3), tmp_path / "out")
    render_all(order)
    (order.folder / "001.png").write_bytes((tmp_path / "back.png").read_bytes())
    rows = order.rows.read_text().replace("Guest 2", "Oswin")
    order.rows.write_text(rows)
    (said,) = resumed(order)
    assert "its output has been changed since it was made" in said
    (order.folder / "001.png").write_bytes(b"half of a pic")  # damage is no change
    assert changed_rows(tmp_path, order)[0] == 2


def test_second_table_in_a_folder(tmp_path):
    """It keeps the first one's lines, and does not touch its pictures."""
    order = BatchOrder(project(tmp_path), guests(tmp_path, 3), tmp_path / "out")
    render_all(order)
    before = contents(order.folder)
    hosts = table(tmp_path, "file,name,role\nh1,Tilda,\n", "hosts.csv")
    second = replace(order, rows=hosts)
    render_all(second)
    entries = read_manifest(order.folder).entries
    assert list(entries) == ["h1.png", "000.png", "001.png", "002.png"]
    assert changed_rows(tmp_path, order) == (0, [])
    assert changed_rows(tmp_path, second) == (0, [])
    hosts.write_text("file,name,role\nh1,Tilda,\n001,Oswin,\n")
    (said,) = resumed(second)
    assert "its output was made from sheet.toml with rows.csv, over, png, and this is" in said
    assert {name: data for name, data in contents(order.folder).items() if name in before} == {
        **before, NAME: (order.folder / NAME).read_bytes()
    }  # fmt: skip


def test_kinds_share_a_folder(tmp_path):
    order = BatchOrder(project(tmp_path), guests(tmp_path, 2), tmp_path / "out")
    render_all(order)
    render_all(replace(order, kind="keyfill"))
    assert changed_rows(tmp_path, order) == (0, [])
    assert changed_rows(tmp_path, replace(order, kind="keyfill")) == (0, [])


def test_row_that_is_gone_is_told_and_can_come_back(tmp_path):
    order = BatchOrder(project(tmp_path), guests(tmp_path, 3), tmp_path / "out")
    render_all(order)
    whole = order.rows.read_text()
    order.rows.write_text(whole.rpartition("\n")[0])
    outcome = render_all(replace(order, resume=True))
    assert outcome.gone == ("002.png",)
    assert read_manifest(order.folder).entries["002.png"].row is None
    order.rows.write_text(whole.replace("Guest 2", "Oswin"))
    assert changed_rows(tmp_path, order)[0] == 1


def test_line_comes_before_its_files(tmp_path, monkeypatch):
    """Stopped between both, the batch knows the file of the run before as its own."""
    order = BatchOrder(project(tmp_path), guests(tmp_path, 2), tmp_path / "out")
    render_all(order)
    order.rows.write_text(order.rows.read_text().replace("Guest", "Sir"))

    def stopped(*_):
        raise KeyboardInterrupt

    monkeypatch.setattr(run, "write_bytes", stopped)
    with pytest.raises(KeyboardInterrupt):
        render_all(replace(order, resume=True))
    monkeypatch.undo()
    assert changed_rows(tmp_path, order)[0] == 2
