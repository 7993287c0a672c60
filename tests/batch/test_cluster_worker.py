"""What a worker does with a row."""

import time
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path

import pytest
from batch.made import guests, project

from keyer.batch import cluster_worker
from keyer.batch.cluster_worker import Place, render_there
from keyer.batch.front import BatchOrder, check_batch
from keyer.batch.render_row import RowRenderer
from keyer.batch.run import take_made

NOWHERE = Place(Path("nowhere"), "mark")


def test_rows_of_a_worker_with_threads_come_one_after_the_other(tmp_path, monkeypatch):
    """A scene holds the words of one row: two at once would swap names."""
    order = BatchOrder(project(tmp_path), guests(tmp_path, 4), tmp_path / "out")
    checked = check_batch(order)
    inside, most = [], []
    real = RowRenderer.render

    def render(self, cells):
        inside.append(cells)
        most.append(len(inside))
        time.sleep(0.02)
        inside.pop()
        return real(self, cells)

    monkeypatch.setattr(RowRenderer, "render", render)
    monkeypatch.setattr(cluster_worker, "worker_address", lambda: "here")
    with ThreadPoolExecutor(4) as pool:
        made = list(pool.map(
            lambda task: render_there(checked.job, "mark", [(task.row.cells, task.rests)], NOWHERE),
            checked.found.tasks,
        ))  # fmt: skip
    assert most == [1, 1, 1, 1]
    assert len({one.rows[0].made.files for one in made}) == 4


def test_a_worker_that_sees_the_folder_puts_files_aside(tmp_path, monkeypatch):
    """And sends the bytes where it does not; either way they are the same."""
    monkeypatch.setattr(cluster_worker, "worker_address", lambda: "here")
    checked = check_batch(BatchOrder(project(tmp_path), guests(tmp_path, 1), tmp_path / "out"))
    (task,) = checked.found.tasks
    out = tmp_path / "out"
    out.mkdir()
    (out / "mark").touch()
    asked = checked.job, "other", [(task.row.cells, task.rests)]
    (here,), (sent,) = (render_there(*asked, place).rows for place in (Place(out, "mark"), NOWHERE))
    (name,) = here.aside
    assert (sent.aside, here.digests) == ((), sent.digests)
    assert here.made.files == ((".png", b""),)
    assert (out / name).read_bytes() == sent.made.files[0][1]
    entry = take_made(out, task, here.made, here.digests, here.aside)
    assert (out / "000.png").read_bytes() == sent.made.files[0][1]
    assert entry.outputs == (("000.png", here.digests[0]),)
    with pytest.raises(FileNotFoundError):
        take_made(out, task, here.made, here.digests, here.aside)
