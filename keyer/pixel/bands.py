"""Work on a picture a band of rows at a time, on a plain thread pool.

A band of 64 rows of float32 planes stays in the processor's cache between the
small stages that work on it. Bands are independent, so a result depends
neither on their height nor on the number of threads.
"""

from __future__ import annotations

import os
from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor
from functools import cache

BAND_ROWS = 64


def default_threads() -> int:
    """How many threads this process may use."""
    if hasattr(os, "sched_getaffinity"):
        return len(os.sched_getaffinity(0))
    return os.cpu_count() or 1


@cache
def _pool(threads: int) -> ThreadPoolExecutor:
    return ThreadPoolExecutor(threads, thread_name_prefix="keyer-band")


def run_bands(
    height: int,
    work: Callable[[int, int], None],
    *,
    threads: int | None = None,
    rows: int = BAND_ROWS,
) -> None:
    """Call `work(top, bottom)` for each band of a picture.

    Parameters
    ----------
    height : int
        Rows of the picture.
    work : callable
        Computes rows `top` to `bottom` (exclusive) and releases the
        interpreter lock while it does.
    threads : int, optional
        Default: every core this process may use.
    rows : int
        Rows in a band.
    """
    tops = range(0, height, rows)
    count = min(threads or default_threads(), len(tops))

    def stripe(first: int) -> None:
        for top in tops[first::count]:
            work(top, min(top + rows, height))

    if count <= 1:
        stripe(0)
        return
    helpers = [_pool(count - 1).submit(stripe, first) for first in range(1, count)]
    stripe(0)
    for helper in helpers:
        helper.result()
