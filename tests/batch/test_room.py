"""Free space, reckoned before anything is written."""

from dataclasses import replace
from types import SimpleNamespace

import pytest
from batch.made import guests, project
from batch.rendering import render_all

from keyer.batch import room
from keyer.batch.front import BatchOrder, batch, check_batch
from keyer.batch.room import refuse_small_disk
from keyer.cli.main import perform
from keyer.errors import StorageError


@pytest.fixture
def order(tmp_path):
    return BatchOrder(project(tmp_path), guests(tmp_path, 9), tmp_path / "out", jobs=1)


def free(monkeypatch, size):
    monkeypatch.setattr(room.shutil, "disk_usage", lambda _path: SimpleNamespace(free=size))


def reckon(order):
    found = check_batch(order)
    kept = {entry.outputs[0][0] for entry in found.kept}
    refuse_small_disk(found.job, found.found.tasks, kept, order.folder)


def test_a_small_disk_is_refused_and_nothing_is_written(order, monkeypatch):
    """A row of noise at 320 x 180 takes some 170 kB, nine of them 1.5 MB."""
    free(monkeypatch, 1_000_000)
    with pytest.raises(
        StorageError, match=r"room for 1\.0 MB, and 9 rows take about 1\.\d MB"
    ) as no:
        batch(order)
    assert no.value.exit_code == 3
    assert "name a folder on another disk, or render fewer rows (--rows)" in str(no.value)
    assert not order.folder.exists()


def test_what_fits_is_not_refused(order, monkeypatch):
    """Between what the rows take and what they would take without compression three are tried."""
    free(monkeypatch, 3_000_000)
    reckon(order)


def test_nothing_is_rendered_where_there_is_plenty(order, monkeypatch):
    monkeypatch.setattr(room, "RowRenderer", None)
    free(monkeypatch, 10**9)
    reckon(order)


def test_files_that_are_kept_or_replaced_take_no_room(order, monkeypatch):
    render_all(order)
    free(monkeypatch, 400_000)
    reckon(replace(order, resume=True))  # all are kept
    reckon(replace(order, force=True))  # each goes over its old self


def test_the_command_says_it_in_one_line(order, monkeypatch, capsys):
    free(monkeypatch, 1000)
    words = ["batch", str(order.sheet), str(order.rows), "-d", str(order.folder), "--jobs", "1"]
    assert perform(words) == 3
    said = capsys.readouterr().err.strip().splitlines()
    assert [line for line in said if "room for 1 kB" in line] == said[-1:]
