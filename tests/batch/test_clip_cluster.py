"""A clip in parts on a cluster of this machine."""

import pytest
from batch.clusters import WORKER, program, scheduler
from batch.made import project

from keyer.batch.clip_cluster import ClipOrder, render_on_cluster
from keyer.batch.workers import Workers
from keyer.cli.main import perform
from keyer.errors import OutputError
from keyer.render.clip import render_clip
from keyer.render.clip_parts import join
from keyer.sheet.load import load_sheet

distributed = pytest.importorskip("distributed", reason="needs the extra keyer[cluster]")

pytestmark = [
    pytest.mark.slow,
    pytest.mark.filterwarnings("ignore"),
    pytest.mark.filterwarnings("ignore::pytest.PytestUnraisableExceptionWarning"),
]
MORTAL = """
import os
from keyer.media.clip_write import ClipWriter
write = ClipWriter.write
def mortal(self, picture):
    if "part-002" in str(self._path) and self._count == 2:
        os._exit(9)
    write(self, picture)
ClipWriter.write = mortal
"""
"""A worker that is lost in the middle of the second part."""


@pytest.fixture
def order(tmp_path):
    sheet = project(tmp_path)
    text = sheet.read_text("utf-8").replace('role = ""', 'name = "Ann", role = ""')
    sheet.write_text(text, "utf-8")
    return ClipOrder(sheet, tmp_path / "a.mov", {}, {"codec": "png"}, 4)


def test_a_worker_lost_in_a_part_changes_nothing(tmp_path, order):
    said, done, workers = [], [], Workers()
    parts = order.cut()
    with (
        scheduler() as (_, address),
        program(MORTAL + WORKER, address),
        program(WORKER, address),
    ):
        with distributed.Client(address) as client:
            client.wait_for_workers(2)
        notices = render_on_cluster(
            order, parts, address, said.append, workers, lambda *pair: done.append(pair)
        )
    assert notices == ()
    assert sum(workers.rows.values()) == 4
    assert said[0] == "rendering on 2 workers of 1 machine."
    assert done[-1] == (100, 100)
    assert parts.missing() == []
    join(parts)
    assert not parts.folder.exists()  # with what the lost worker had begun
    render_clip(load_sheet(order.sheet), tmp_path / "whole.mov", codec="png")
    assert order.output.read_bytes() == (tmp_path / "whole.mov").read_bytes()


def test_workers_that_see_another_sheet_or_no_folder_are_left_out(tmp_path, order, monkeypatch):
    """The sheet is edited after the clip was cut: every worker cuts another one."""
    parts, said = order.cut(), []
    order.sheet.write_text(order.sheet.read_text("utf-8").replace("in = 10", "in = 11"), "utf-8")
    with (
        scheduler() as (_, address),
        program(WORKER, address),
        pytest.raises(OutputError, match="it has other files, fonts or versions for this clip"),
    ):
        render_on_cluster(order, parts, address, said.append, Workers(), lambda *_: None)
    assert "is left out: it has other files, fonts or versions" in said[-1]
    assert not [path for path in parts.folder.iterdir() if path.suffix == ".mov"]


def test_from_the_command_line(tmp_path, order, capfd):
    asked = ["clip", str(order.sheet), "-o", str(order.output), "--codec", "png"]
    with scheduler() as (_, address), program(WORKER, address):
        code = perform([*asked, "--parts", "4", "--scheduler", address, "--json"])
    captured = capfd.readouterr()
    assert code == 0, captured.err
    assert "keyer: rendering on 1 worker of 1 machine." in captured.err
    assert "keyer: 100 of 100 pictures, " in captured.err
    assert order.output.is_file()
    assert perform([*asked, "--scheduler", address, "--force"]) == 2
    assert "Say in how many, --parts N." in capfd.readouterr().err
