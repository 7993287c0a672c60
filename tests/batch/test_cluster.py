"""The same batch on clusters of this machine: lost and unlike workers, silent schedulers."""

import logging
import os
import signal
import socket
import sys
import time
from dataclasses import replace
from pathlib import Path

import pytest
from batch.clusters import SCHEDULER, WORKER, program, scheduler
from batch.made import contents, guests, project, table
from titles.system_fonts import forget_fonts, square_font

from keyer.batch import cluster_link
from keyer.batch.front import BatchOrder, batch
from keyer.batch.workers import Workers
from keyer.errors import InputFileError, OutputError

distributed = pytest.importorskip("distributed", reason="needs the extra keyer[cluster]")

pytestmark = [
    pytest.mark.filterwarnings("ignore"),
    pytest.mark.filterwarnings("ignore::pytest.PytestUnraisableExceptionWarning"),
]
GEORGIAN = "\u10d0\u10d1"
MORTAL = """
import os
from keyer.batch.render_row import RowRenderer
render = RowRenderer.render
def mortal(self, cells):
    return os._exit(9) if cells["name"] == "Guest 3" else render(self, cells)
RowRenderer.render = mortal
"""
"""A worker that ends by itself on one row."""
IMPATIENT = "import dask; dask.config.set({'distributed.scheduler.allowed-failures': 0})\n"


def _others():
    """Places that Python loads modules from, but for those with this program."""
    return [place for place in sys.path if not (Path(place or ".") / "keyer/batch").is_dir()]


@pytest.fixture
def order(tmp_path):
    return BatchOrder(project(tmp_path), guests(tmp_path, 30), tmp_path / "cluster")


@pytest.mark.slow
def test_killed_worker_changes_nothing(tmp_path, order, monkeypatch):
    monkeypatch.setattr(cluster_link, "LOOK_SECONDS", 0.02)
    with distributed.LocalCluster(
        n_workers=2, threads_per_worker=2, processes=True, dashboard_address="127.0.0.1:0",
        host="127.0.0.1", silence_logs=logging.CRITICAL,
    ) as local:  # fmt: skip
        nanny = next(iter(local.workers.values()))
        victim, address = nanny.pid, nanny.worker_address
        killed, said, workers = [], [], Workers()

        def told(what: str, done: int, _all: int) -> None:
            if what == "rows" and done >= 8 and not killed:
                os.kill(victim, signal.SIGKILL)
                killed.append(victim)
                while address in local.scheduler.workers:
                    time.sleep(0.02)

        there = replace(order, scheduler=local.scheduler_address)
        report = batch(there, told=told, said=said.append, workers=workers)
    assert killed
    assert said[0] == "rendering on 2 workers of 1 machine."
    assert "--nworkers N --nthreads 1" in said[1]  # these have two threads each
    assert any(f"worker {address} is gone" in text for text in said[1:])
    assert sum(report.workers.values()) == 30
    assert report.outcome is not None
    assert report.outcome.rendered == 30
    assert not report.faults
    batch(replace(order, folder=tmp_path / "here", jobs=1))
    assert contents(tmp_path / "cluster") == contents(tmp_path / "here")


@pytest.mark.slow
def test_a_row_that_ends_its_workers_costs_only_itself(tmp_path):
    """Rows that were handed to the same workers are lost with them, and done in the end."""
    order = BatchOrder(project(tmp_path), guests(tmp_path, 8), tmp_path / "cluster")
    with (
        scheduler(IMPATIENT) as (_, address),
        program(MORTAL + WORKER, address),
        program(MORTAL + WORKER, address),
        program(MORTAL + WORKER, address),
    ):
        report = batch(replace(order, scheduler=address))
    assert report.outcome.rendered == 7
    (fault,) = report.faults
    assert fault.rows == (5,)  # row 1 names the columns, row 2 is Guest 0
    assert "every worker that began this row was lost, also when it was alone" in fault.message
    assert "--rows 5, without --scheduler" in fault.message
    report = batch(replace(order, resume=True, jobs=1))
    assert (len(report.outcome.entries), report.outcome.rendered) == (8, 1)


@pytest.mark.slow
def test_worker_with_other_fonts_is_left_out(tmp_path, order, monkeypatch):
    """Of two systems with unlike fonts under one name, one look goes into the batch."""
    homes = {}
    for name, height in (("mine", 700), ("other", 400)):
        homes[name] = str(tmp_path / name)
        (tmp_path / name / "fonts").mkdir(parents=True)
        square_font(tmp_path / name / "fonts/a.ttf", "A Sans", GEORGIAN, height=height)
    monkeypatch.setenv("XDG_DATA_HOME", homes["mine"])
    monkeypatch.setenv("XDG_DATA_DIRS", homes["mine"])
    forget_fonts()
    names = "\n".join(f"f{n},{GEORGIAN} {n},x" for n in range(12))
    order = replace(order, rows=table(tmp_path, f"file,name,role\n{names}\n"))
    said = []
    with (
        scheduler() as (_, address),
        program(WORKER, address),
        program(WORKER, address, XDG_DATA_HOME=homes["other"], XDG_DATA_DIRS=homes["other"]),
    ):
        with distributed.Client(address) as client:
            client.wait_for_workers(2)
        report = batch(replace(order, scheduler=address), said=said.append)
    batch(replace(order, folder=tmp_path / "here", jobs=1))
    forget_fonts()
    assert report.outcome.rendered == 12
    assert said[0] == "rendering on 2 workers of 1 machine."
    assert "is left out: it has other fonts of the system that step in" in said[1]
    assert len(said) == 2
    assert list(report.workers.values()) == [12]
    assert contents(tmp_path / "cluster") == contents(tmp_path / "here")


def test_other_versions_are_refused_at_once(order, monkeypatch):
    monkeypatch.setattr(cluster_link, "libraries", lambda: {"keyer": "99.0"})
    said = r"has the same programs and files as this machine: it has keyer .* instead of 99\.0\."
    with scheduler() as (_, address), program(WORKER, address):
        with distributed.Client(address) as client:
            client.wait_for_workers(1)
        with pytest.raises(OutputError, match=said):
            batch(replace(order, scheduler=address))
    assert not list(order.folder.iterdir())


@pytest.mark.slow
def test_scheduler_without_this_program_is_one_line(order):
    """What it is handed names functions of `keyer`: without it, the row came back as a defect."""
    bare = f"import sys; sys.path[:] = {_others()!r}\n{SCHEDULER}"
    with program(bare, PYTHONPATH="") as process:
        address = process.stdout.readline().strip()
        with pytest.raises(OutputError, match=r"needs keyer .*: it cannot load this program \(Mod"):
            batch(replace(order, scheduler=address))


@pytest.mark.slow
def test_scheduler_of_another_version_is_one_line(order, monkeypatch):
    monkeypatch.setattr(cluster_link, "__version__", "99.0")
    with (
        scheduler() as (_, address),
        pytest.raises(
            OutputError, match=r"needs keyer 99\.0, as this machine has it: it has keyer"
        ),
    ):
        batch(replace(order, scheduler=address))


def test_scheduler_without_workers(order, monkeypatch):
    monkeypatch.setattr(cluster_link, "WORKER_SECONDS", 0.5)
    said = []
    with scheduler() as (_, address), pytest.raises(InputFileError, match="has had no workers"):
        batch(replace(order, scheduler=address), said=said.append)
    assert said == [f"the scheduler at {address} has no workers; waiting 0.5 s for one."]


@pytest.mark.slow
def test_scheduler_that_goes_away(order):
    with scheduler() as (process, address), program(WORKER, address):

        def told(what: str, done: int, _all: int) -> None:
            if what == "rows" and done == 4:
                process.kill()

        dask = pytest.importorskip("dask")
        with (
            dask.config.set({"distributed.comm.timeouts.connect": "1s"}),
            pytest.raises(InputFileError, match=r"is gone .* with --resume to do the rest"),
        ):
            batch(replace(order, scheduler=address), told=told)
    assert len(list(order.folder.glob("*.png"))) >= 4
    report = batch(replace(order, resume=True, jobs=1))
    assert (len(report.outcome.entries), report.outcome.rendered < 27) == (30, True)


def test_no_scheduler_answers(order, monkeypatch):
    monkeypatch.setattr(cluster_link, "CONNECT_SECONDS", 0.5)
    with pytest.raises(InputFileError, match="no scheduler answers at tcp://127"):
        batch(replace(order, scheduler="tcp://127.0.0.1:9"))
    with pytest.raises(InputFileError, match=r"no scheduler answers at foo \(missing port"):
        batch(replace(order, scheduler="foo"))
    assert not order.folder.exists()


def test_scheduler_that_accepts_and_says_nothing(order, monkeypatch):
    monkeypatch.setattr(cluster_link, "CONNECT_SECONDS", 1.0)
    monkeypatch.setattr(cluster_link, "_SAY_AFTER", 0.1)
    said = []
    with socket.create_server(("127.0.0.1", 0)) as mute:
        address = f"tcp://127.0.0.1:{mute.getsockname()[1]}"
        with pytest.raises(InputFileError, match=r"no scheduler answers at .*TimeoutError"):
            batch(replace(order, scheduler=address), said=said.append)
    assert said == [f"the scheduler at {address} has not answered yet; waiting 1 s."]


def test_workers_are_not_asked_in_a_dry_run(order):
    assert not batch(replace(order, scheduler="tcp://127.0.0.1:9"), dry_run=True).faults
