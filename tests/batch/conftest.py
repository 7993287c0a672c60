"""Batches in these tests start one process, unless they say how many."""

import pytest

from keyer.batch import front


@pytest.fixture(autouse=True)
def one_process(monkeypatch):
    monkeypatch.setattr(front, "default_threads", lambda: 1)
