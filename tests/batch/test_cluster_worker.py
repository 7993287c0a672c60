"""What a worker does with a row."""

import time
from concurrent.futures import ThreadPoolExecutor

from batch.made import guests, project

from keyer.batch import cluster_worker
from keyer.batch.cluster_worker import render_there
from keyer.batch.front import BatchOrder, check_batch
from keyer.batch.render_row import RowRenderer


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
            lambda task: render_there(checked.job, "mark", [(task.row.cells, task.rests)]),
            checked.found.tasks,
        ))  # fmt: skip
    assert most == [1, 1, 1, 1]
    assert len({one.rows[0][0].files for one in made}) == 4
