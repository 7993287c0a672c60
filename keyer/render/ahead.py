"""Work on ahead in a thread of its own, by a few items and no more.

Ctrl-C may come at any point in the main thread. If it came while that thread
was about to let go of a lock, the others would wait for it for ever: so nothing
here is locked but inside `SimpleQueue`, which is not written in Python.
"""

from __future__ import annotations

import queue
import threading
from collections.abc import Iterable, Iterator
from types import TracebackType
from typing import Generic, Self, TypeVar

T = TypeVar("T")

_WAIT = 0.1
"""Seconds after which a waiting thread looks whether it is still wanted."""


class _End:
    """Stands behind the last item, with the error that ended them if there was one."""

    def __init__(self, error: BaseException | None) -> None:
        self.error = error


class Ahead(Generic[T]):
    """An iterator whose items are made in a thread of its own; a context manager.

    Iterators of this kind can be chained; each is a stage that works while the
    others do. Leaving the block stops the thread, however many items are left.

    Parameters
    ----------
    items : iterable
        Asked for its items in that thread alone. What it raises is raised where
        the item would have come.
    size : int
        How many finished items may wait.
    """

    def __init__(self, items: Iterable[T], size: int = 2) -> None:
        self._items = items
        self._ready: queue.SimpleQueue[T | _End] = queue.SimpleQueue()
        self._room: queue.SimpleQueue[None] = queue.SimpleQueue()
        for _ in range(size):
            self._room.put(None)
        self._stopped = False
        self._thread = threading.Thread(target=self._work, name="keyer-ahead", daemon=True)

    def __enter__(self) -> Self:
        self._thread.start()
        return self

    def _work(self) -> None:
        error: BaseException | None = None
        try:
            for item in self._items:
                self._put(item)
                if self._stopped:
                    return
        except BaseException as found:  # noqa: BLE001  handed on to who waits for the item
            error = found
        self._put(_End(error))

    def _put(self, item: T | _End) -> None:
        while not self._stopped:
            try:
                self._room.get(timeout=_WAIT)
            except queue.Empty:
                continue
            self._ready.put(item)
            return

    def __iter__(self) -> Iterator[T]:
        return self

    def __next__(self) -> T:
        while not self._stopped:
            try:
                item = self._ready.get(timeout=_WAIT)
            except queue.Empty:
                continue
            self._room.put(None)
            if not isinstance(item, _End):
                return item
            self._stopped = True
            if item.error is not None:
                raise item.error
        raise StopIteration

    def __exit__(
        self,
        kind: type[BaseException] | None,
        error: BaseException | None,
        trace: TracebackType | None,
    ) -> None:
        self._stopped = True
        self._thread.join()
