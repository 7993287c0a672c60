"""Planes that a thread uses again."""

from concurrent.futures import ThreadPoolExecutor

import numpy as np

from keyer.pixel.kernels.scratch import buffer


def test_planes_of_one_purpose_are_the_same_memory():
    one = buffer("a purpose", 3, 4, 5)
    assert one.shape == (3, 4, 5)
    assert np.shares_memory(one, buffer("a purpose", 2, 4, 5))
    assert not np.shares_memory(one, buffer("another", 3, 4, 5))


def test_they_grow_when_more_is_asked_for():
    assert buffer("grows", 1, 2, 2).shape == (1, 2, 2)
    assert buffer("grows", 3, 40, 50).shape == (3, 40, 50)


def test_each_thread_has_its_own():
    mine = buffer("mine", 1, 2, 2)
    with ThreadPoolExecutor(1) as pool:
        other = pool.submit(buffer, "mine", 1, 2, 2).result()
    assert not np.shares_memory(mine, other)
