"""Pictures that rows name, decoded side by side before the rows are checked one by one."""

from __future__ import annotations

from collections import deque
from collections.abc import Iterator, Sequence
from concurrent.futures import Future, ThreadPoolExecutor
from contextlib import suppress

from keyer.batch.job import Job
from keyer.batch.rows import Row
from keyer.batch.scene import title_fields
from keyer.errors import KeyerError
from keyer.pixel.kernels.bands import default_threads
from keyer.titles.pictures import picture_shape

_AHEAD = 8
"""Rows looked at in advance, for each thread."""


def pictures_seen(job: Job, rows: Sequence[Row]) -> Iterator[Row]:
    """Give rows, each once its pictures have been decoded: to find those that are broken.

    Yields
    ------
    Row
        In order; what is wrong with a picture is told where the row is checked.
    """
    if not job.pictures:
        yield from rows
        return
    threads = default_threads()
    waiting: deque[tuple[Row, list[Future[None]]]] = deque()
    with ThreadPoolExecutor(threads, thread_name_prefix="keyer-pictures") as pool:
        try:
            for row in rows:
                waiting.append((row, [pool.submit(_see, file) for file in _files(job, row)]))
                if len(waiting) > _AHEAD * threads:
                    yield _done(*waiting.popleft())
            while waiting:
                yield _done(*waiting.popleft())
        finally:
            pool.shutdown(wait=False, cancel_futures=True)


def _files(job: Job, row: Row) -> set[str]:
    try:
        filled = job.filled(row.cells)
    except KeyerError:
        return set()
    named = {
        fields.get(field, "")
        for title, fields in title_fields(filled).items()
        for at, field in job.pictures
        if at == title
    }
    return named - {""}


def _see(file: str) -> None:
    with suppress(KeyerError, OSError):
        picture_shape(None, file)


def _done(row: Row, seeing: Sequence[Future[None]]) -> Row:
    for one in seeing:
        one.result()
    return row
