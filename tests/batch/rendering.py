"""Batches rendered in the test's own process."""

from dataclasses import replace

import numpy as np
from batch.made import contents
from PIL import Image

from keyer.batch.front import check_batch
from keyer.batch.render_row import RowRenderer
from keyer.batch.run import run_batch, write_made


def in_process(job, folder):
    """Render here, without further processes: quick, and faults show themselves."""

    def render(tasks):
        renderer = RowRenderer(job)
        for task in tasks:
            yield task, write_made(folder, task, renderer.render(task.row.cells))
        renderer.close()

    return render


def render_all(order, sheets=None):
    """Render what an order asks for; `sheets(checked)` makes what draws its contact sheets."""
    checked = check_batch(order)
    assert not checked.found.faults
    render = in_process(checked.job, order.folder)
    then = sheets(checked).add if sheets else (lambda _row, _entry: None)
    return run_batch(
        checked.found.tasks, order.folder, render, checked.known, checked.kept, checked.left,
        then=then,
    )  # fmt: skip


def picture(path):
    with Image.open(path) as opened:
        return np.asarray(opened).astype(np.float64)


def changed_rows(tmp_path, order):
    before = contents(order.folder)
    outcome = render_all(replace(order, resume=True))
    after = contents(order.folder)
    return outcome.rendered, [name for name in after if before.get(name) != after[name]]
