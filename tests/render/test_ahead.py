import itertools
import threading
import time

import pytest

from keyer.render.ahead import Ahead


def threads():
    return [thread for thread in threading.enumerate() if thread.name == "keyer-ahead"]


def test_items_come_in_order():
    with Ahead(range(50)) as items:
        assert list(items) == list(range(50))
    assert not threads()


def test_stages_can_be_chained():
    with Ahead(range(9)) as first, Ahead(n * n for n in first) as second:
        assert list(second) == [n * n for n in range(9)]


def test_no_more_is_made_than_can_wait():
    """Two waiting and one in hand."""
    made = []

    def items():
        for number in range(100):
            made.append(number)
            yield number

    with Ahead(items(), 2) as ahead:
        assert next(ahead) == 0
        time.sleep(0.3)
        assert len(made) <= 4


def test_an_error_comes_in_its_place():
    def items():
        yield 1
        message = "broken"
        raise ValueError(message)

    with Ahead(items()) as ahead:
        assert next(ahead) == 1
        with pytest.raises(ValueError, match="broken"):
            next(ahead)
        assert next(ahead, None) is None


def test_an_error_passes_through_all_stages():
    def items():
        yield from range(3)
        raise KeyboardInterrupt

    with (
        pytest.raises(KeyboardInterrupt),
        Ahead(items()) as first,
        Ahead(iter(first)) as second,
    ):
        list(second)
    assert not threads()


@pytest.mark.parametrize("taken", [0, 1, 5])
def test_leaving_early_stops_every_stage(taken):
    with Ahead(itertools.count()) as first, Ahead(n + 1 for n in first) as second:
        assert list(itertools.islice(second, taken)) == list(range(1, taken + 1))
    assert not threads()
