"""The cache: bounded, asked once for each signature, by however many threads."""

import threading
from concurrent.futures import ThreadPoolExecutor

import numpy as np
import pytest
from support import planes

from keyer.kinds.picture import RgbPicture
from keyer.pixel.compose.place import Placement
from keyer.render.between import Mix
from keyer.render.evaluate import Evaluator
from keyer.render.graph import Box
from keyer.render.leaves import Source
from keyer.render.placing import Placed

ROWS, COLUMNS = 20, 30
BYTES = 3 * ROWS * COLUMNS * 4


class Counted:
    """Pictures that are counted as they are brought."""

    def __init__(self):
        self.brought = []

    def source(self, name, wait=None):
        def bring():
            self.brought.append(name)
            if wait is not None:
                wait.wait(timeout=5)
            return RgbPicture(planes(len(name), ROWS, COLUMNS))

        return Source((name,), COLUMNS, ROWS, bring, opaque=True)


def test_what_has_the_same_signature_is_worked_out_once():
    counted, evaluator = Counted(), Evaluator()
    for _ in range(3):
        evaluator.prepare(Placed(counted.source("a"), Placement(40.0)))
    assert counted.brought == ["a"]


def test_of_many_threads_one_works_and_the_others_wait():
    counted, evaluator, go = Counted(), Evaluator(), threading.Event()
    node = counted.source("a", go)
    with ThreadPoolExecutor(4) as pool:
        tasks = [pool.submit(evaluator.prepare, node) for _ in range(4)]
        go.set()
        found = [task.result().of(node) for task in tasks]
    assert counted.brought == ["a"]
    assert all(one is found[0] for one in found)


def test_the_cache_is_bounded_and_drops_what_was_not_asked_for_longest():
    counted, evaluator = Counted(), Evaluator(2 * BYTES)
    nodes = [counted.source(name) for name in ("a", "bb", "ccc")]
    for place in (0, 1, 0, 2, 0, 1):
        evaluator.prepare(nodes[place])
    assert counted.brought == ["a", "bb", "ccc", "bb"]


def test_a_frame_at_hand_needs_no_cache():
    counted, evaluator = Counted(), Evaluator(0)
    node = Mix(counted.source("a"), Placed(counted.source("bb"), Placement(40.0)), 0.5)
    ready = evaluator.prepare(node)
    assert ready.rows(node, Box(0, 0, COLUMNS, ROWS)) is not None
    assert counted.brought == ["a", "bb"]


def test_a_failure_is_not_kept():
    tries = []

    def bring():
        tries.append(1)
        if len(tries) == 1:
            msg = "gone"
            raise OSError(msg)
        return RgbPicture(planes(1, ROWS, COLUMNS))

    evaluator, node = Evaluator(), Source(("a",), COLUMNS, ROWS, bring)
    with pytest.raises(OSError, match="gone"):
        evaluator.prepare(node)
    np.testing.assert_array_equal(evaluator.prepare(node).of(node).planes, planes(1, ROWS, COLUMNS))


def test_only_sources_are_fetched_ahead_and_not_below_what_is_known():
    counted, evaluator = Counted(), Evaluator()
    node = Mix(counted.source("a"), Placed(counted.source("bb"), Placement(40.0)), 0.5)
    ready = evaluator.fetch(node)
    assert sorted(counted.brought) == ["a", "bb"]
    assert node.second not in ready
    evaluator.prepare(node, ready=ready)
    known = Evaluator()
    known.prepare(node)
    known._kept.pop(node.second.of.signature)
    counted.brought.clear()
    known.fetch(node)
    assert counted.brought == []
