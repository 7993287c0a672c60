"""The same batch on a cluster of processes on this machine, one of them killed."""

import logging
import os
import signal
import time
from dataclasses import replace

import pytest
from batch.made import contents, guests, project

from keyer.batch.front import BatchOrder, batch
from keyer.errors import InputFileError

distributed = pytest.importorskip("distributed", reason="needs the extra keyer[cluster]")

pytestmark = [
    pytest.mark.filterwarnings("ignore"),
    pytest.mark.filterwarnings("ignore::pytest.PytestUnraisableExceptionWarning"),
]


def test_killed_worker_changes_nothing(tmp_path):
    order = BatchOrder(project(tmp_path), guests(tmp_path, 30), tmp_path / "cluster")
    with distributed.LocalCluster(
        n_workers=2, threads_per_worker=1, processes=True, dashboard_address="127.0.0.1:0",
        host="127.0.0.1", silence_logs=logging.CRITICAL,
    ) as cluster:  # fmt: skip
        victim = next(iter(cluster.workers.values())).pid
        killed = []

        def told(done: int, _all: int) -> None:
            if done >= 8 and not killed:
                os.kill(victim, signal.SIGKILL)
                killed.append(time.monotonic())

        there = replace(order, scheduler=cluster.scheduler_address)
        report = batch(there, told=told)
    assert killed
    assert report.outcome is not None
    assert report.outcome.rendered == 30
    assert not report.faults
    batch(replace(order, folder=tmp_path / "here", jobs=1))
    assert contents(tmp_path / "cluster") == contents(tmp_path / "here")


def test_no_scheduler_answers(tmp_path, monkeypatch):
    from keyer.batch import cluster

    monkeypatch.setattr(cluster, "_CONNECT_SECONDS", 1)
    order = BatchOrder(project(tmp_path), guests(tmp_path, 1), tmp_path / "out")
    with pytest.raises(InputFileError, match="no scheduler answers at tcp://127"):
        batch(replace(order, scheduler="tcp://127.0.0.1:9"))
