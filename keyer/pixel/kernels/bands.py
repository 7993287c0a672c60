"""Work on a picture a band of rows at a time, on a plain thread pool.

A band of float32 planes stays in the processor's cache between the small stages
that work on it. Bands are independent, so a result depends neither on their
height nor on the number of threads.
"""

from __future__ import annotations

import os
from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor
from functools import cache

BAND_PIXELS = 1 << 17
"""Pixels of a band: few enough for the cache, enough to make a call worth while."""


def default_threads() -> int:
    """How many threads this process may use."""
    if hasattr(os, "sched_getaffinity"):
        return len(os.sched_getaffinity(0))
    return os.cpu_count() or 1


@cache
def _pool(threads: int) -> ThreadPoolExecutor:
    return ThreadPoolExecutor(threads, thread_name_prefix="keyer-band")


def band_rows(height: int, width: int, threads: int, multiple: int = 1) -> int:
    """Choose the height of a picture's bands: alike, and as many for each thread.

    Parameters
    ----------
    height, width : int
        Of the picture.
    threads : int
    multiple : int
        Of which the height shall be one, so that no tile is cut.
    """
    wanted = max(1, height * width // BAND_PIXELS)
    count = -(-wanted // threads) * threads
    return max(1, -(-height // count // multiple)) * multiple


def run_bands(
    height: int,
    width: int,
    work: Callable[[int, int], None],
    *,
    threads: int | None = None,
    rows: int | None = None,
    multiple: int = 1,
) -> None:
    """Call `work(top, bottom)` for each band of a picture.

    Parameters
    ----------
    height, width : int
        Of the picture.
    work : callable
        Computes rows `top` to `bottom` (exclusive) and releases the
        interpreter lock while it does.
    threads : int, optional
        Default: every core this process may use.
    rows : int, optional
        Rows in a band; default: what `band_rows` chooses.
    multiple : int
        For `band_rows`.
    """
    threads = threads or default_threads()
    step = rows or band_rows(height, width, threads, multiple)
    tops = range(0, height, step)
    count = min(threads, len(tops))
    todo = iter(tops)  # shared: a thread that is held up leaves its bands to the others

    def worker() -> None:
        for top in todo:
            work(top, min(top + step, height))

    helpers = [_pool(count - 1).submit(worker) for _ in range(1, count)]
    worker()
    for helper in helpers:
        helper.result()
