"""Processes that work for this one: they leave stops to it, and end with it.

A stop reaches every process of a group. The children take none of it, not even while they
begin, and this program takes back what was begun; a child that is told to end (SIGTERM, as the
pool does where another has died) takes back its own.
"""

from __future__ import annotations

import multiprocessing as mp
import multiprocessing.connection
import os
import signal
import threading
from collections.abc import Callable, Iterator
from concurrent.futures import ProcessPoolExecutor
from contextlib import contextmanager
from typing import Any

from keyer.kinds import stopping

_MASKS = hasattr(signal, "pthread_sigmask")


def process_pool(
    count: int, begin: Callable[..., None] | None = None, *arguments: Any
) -> ProcessPoolExecutor:
    """Make a pool of processes; hand it work inside `deaf_children()` alone.

    Parameters
    ----------
    count : int
    begin : callable, optional
        Called in each process when it begins, with `arguments`.
    *arguments : object
    """
    return ProcessPoolExecutor(
        count,
        mp_context=mp.get_context("spawn"),
        initializer=_begin,
        initargs=(begin, arguments),
    )


def _begin(begin: Callable[..., None] | None, arguments: tuple[Any, ...]) -> None:
    for kind in stopping.KINDS:
        signal.signal(kind, signal.SIG_IGN)
    signal.signal(signal.SIGTERM, _end)
    if _MASKS:
        signal.pthread_sigmask(signal.SIG_UNBLOCK, stopping.KINDS)
    parent = mp.parent_process()
    if parent is not None:
        threading.Thread(target=_end_with, args=(parent.sentinel,), daemon=True).start()
    if begin is not None:
        begin(*arguments)


def _end(_kind: int, _frame: object) -> None:
    stopping.take_back()
    os._exit(1)


def _end_with(sentinel: int) -> None:
    multiprocessing.connection.wait([sentinel])
    _end(0, None)


@contextmanager
def deaf_children() -> Iterator[None]:
    """Let processes that begin here never hear of a stop, and hear of it here when they have begun.

    They inherit the mask. It does not keep a signal from this program's other
    threads, and what it raises then would leave a child with half of its start.
    """
    if threading.current_thread() is not threading.main_thread():
        yield
        return
    heard: list[int] = []
    handlers = {
        kind: signal.signal(kind, lambda number, _: heard.append(number))
        for kind in stopping.KINDS
        if signal.getsignal(kind) not in {signal.SIG_IGN, None}
    }
    before = signal.pthread_sigmask(signal.SIG_BLOCK, stopping.KINDS) if _MASKS else set()
    try:
        yield
    finally:
        if _MASKS:
            signal.pthread_sigmask(signal.SIG_SETMASK, before)
        for kind, handler in handlers.items():
            signal.signal(kind, handler)
    for number in heard:
        signal.raise_signal(number)
