"""Graphs worked out: what bands share first, once a signature, then the bands.

`Evaluator.prepare` walks a graph from its sources up. What a node has to work
out as a whole (a decoded picture, a fine key, a wipe's boundary) comes from a
cache that is bounded in bytes, or is worked out by one thread while others
wait for it. After that rows of any part can be asked for, by any thread.
"""

from __future__ import annotations

import threading
from collections import OrderedDict
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from contextvars import ContextVar
from dataclasses import dataclass, is_dataclass
from functools import cached_property
from typing import Any

import numpy as np
from numpy.typing import NDArray

from keyer.kinds.arrays import Planes
from keyer.pixel.kernels.bands import run_bands
from keyer.pixel.kernels.scratch import give, take
from keyer.pixel.wipes.blocks import TILE
from keyer.render.graph import Alpha, Box, Node, Rows

CACHE_BYTES = 256 << 20
"""What is kept beyond the frame at hand: eight fine keys at 1920 x 1080."""


@dataclass(frozen=True, eq=False)
class Whole:
    """A picture that was worked out as a whole, not in bands.

    Attributes
    ----------
    planes : (3, H, W) float32
        Premultiplied.
    alpha : (H, W) float32, or None
        None: opaque.
    """

    planes: Planes
    alpha: Alpha | None

    @cached_property
    def spans(self) -> tuple[NDArray[np.intp], NDArray[np.intp]]:
        """First column of each row that is not clear, and the one after the last."""
        if self.alpha is None:
            rows, width = self.planes.shape[1:]
            return np.zeros(rows, np.intp), np.full(rows, width, np.intp)
        some = self.alpha != 0
        first, last = some.argmax(axis=1), some.shape[1] - some[:, ::-1].argmax(axis=1)
        none = ~some.any(axis=1)
        first[none], last[none] = some.shape[1], 0
        return first, last

    def seen(self, top: int, bottom: int) -> tuple[int, int]:
        """Columns outside of which some rows are clear."""
        first, last = self.spans
        left, right = int(first[top:bottom].min()), int(last[top:bottom].max())
        return (left, right) if left < right else (0, 0)

    def part(self, box: Box) -> Rows:
        """Copy a part of the picture into an asker's planes."""
        here = (slice(box.top, box.bottom), slice(box.left, box.right))
        planes = take(3, box.rows, box.width)
        np.copyto(planes, self.planes[:, *here])
        if self.alpha is None:
            return Rows(planes, None)
        alpha = take(1, box.rows, box.width)[0]
        np.copyto(alpha, self.alpha[here])
        return Rows(planes, alpha)


class Outdated(Exception):  # noqa: N818  no error: nobody wants the picture any more
    """Work was given up because its picture is not wanted any more."""


_wanted: ContextVar[Callable[[], bool] | None] = ContextVar("whether it is wanted", default=None)


@contextmanager
def while_wanted(wanted: Callable[[], bool]) -> Iterator[None]:
    """Work graphs out for as long as somebody wants them; then `Outdated` is raised.

    Parameters
    ----------
    wanted : callable
        Asked before every band and before whatever is worked out as a whole;
        by any thread.
    """
    token = _wanted.set(wanted)
    try:
        yield
    finally:
        _wanted.reset(token)


class Ready:
    """What nodes of a graph have prepared, so that bands of it can be worked out.

    Parameters
    ----------
    threads : int or None
        For what is worked out as a whole; None: every core.
    """

    def __init__(self, threads: int | None = None) -> None:
        self.threads = threads
        self._held: dict[bytes, Any] = {}
        self._wanted = _wanted.get()

    def check(self) -> None:
        """Give up if nobody wants the picture any more.

        Raises
        ------
        Outdated
        """
        if self._wanted is not None and not self._wanted():
            raise Outdated

    def of(self, node: Node) -> Any:
        """Return what `prepare` made for a node."""
        return self._held[node.signature]

    def holds(self, whole: Whole) -> bool:
        """Whether a node has prepared this very picture, so that nobody may change it."""
        return any(held is whole for held in self._held.values())

    def put(self, node: Node, prepared: object) -> None:
        """Keep what a node has prepared."""
        self._held[node.signature] = prepared

    def __contains__(self, node: Node) -> bool:
        return node.signature in self._held

    def rows(self, node: Node, box: Box) -> Rows | None:
        """Ask a node for a part of its picture; None where it is clear all over."""
        if not node.wide or box.width == node.width:
            return node.rows(box, self)
        found = node.rows(Box(0, box.top, node.width, box.bottom), self)
        if found is None:
            return None
        planes = take(3, box.rows, box.width)
        np.copyto(planes, found.planes[:, :, box.left : box.right])
        alpha = None
        if found.alpha is not None:
            alpha = take(1, box.rows, box.width)[0]
            np.copyto(alpha, found.alpha[:, box.left : box.right])
        give(found.planes)
        give(found.alpha)
        return Rows(planes, alpha)

    def drawn(self, node: Node, box: Box) -> Rows:
        """Ask a node for a part of its picture; planes of zeros where it is clear."""
        found = self.rows(node, box)
        if found is not None:
            return found
        planes, alpha = take(3, box.rows, box.width), take(1, box.rows, box.width)[0]
        planes.fill(0)
        alpha.fill(0)
        return Rows(planes, alpha)

    def whole(self, node: Node) -> Whole:
        """Work a node out as a whole, or take what it has prepared."""
        known = self._held.get(node.signature)
        if isinstance(known, Whole):
            return known
        planes = np.empty((3, node.height, node.width), np.float32)
        alpha = None if node.opaque else np.ones((node.height, node.width), np.float32)

        def take_rows(found: Rows, top: int) -> None:
            bottom = top + found.planes.shape[1]
            np.copyto(planes[:, top:bottom], found.planes)
            if alpha is not None and found.alpha is not None:
                np.copyto(alpha[top:bottom], found.alpha)

        self.bands(node, take_rows, threads=self.threads)
        return Whole(planes, alpha)

    def bands(
        self,
        node: Node,
        put: Callable[[Rows, int], None],
        *,
        window: tuple[int, int] | None = None,
        threads: int | None = None,
        rows: int | None = None,
    ) -> None:
        """Work a picture out, or some rows of it, and hand each band on as it is done.

        Parameters
        ----------
        node : Node
        put : callable
            Given a band and its first row counted from the window's; the band
            may be changed, and is used again afterwards.
        window : (top, bottom), optional
            Rows wanted, `bottom` excluded.
        threads, rows : int, optional
            What is handed on does not depend on them, but for where bands begin.
        """
        start, end = window or (0, node.height)

        def work(into: int, until: int) -> None:
            self.check()
            found = self.drawn(node, Box(0, start + into, node.width, start + until))
            put(found, into)
            give(found.planes)
            give(found.alpha)

        run_bands(end - start, node.width, work, threads=threads, rows=rows, multiple=TILE)


class Evaluator:
    """Prepares graphs, and keeps of what was prepared as much as it may.

    Parameters
    ----------
    limit : int
        Bytes kept.
    """

    def __init__(self, limit: int = CACHE_BYTES) -> None:
        self.limit = limit
        self._kept: OrderedDict[bytes, tuple[Any, int]] = OrderedDict()
        self._bytes = 0
        self._lock = threading.Lock()
        self._working: dict[bytes, threading.Lock] = {}

    def prepare(
        self, *nodes: Node, threads: int | None = None, ready: Ready | None = None
    ) -> Ready:
        """Let every node of some graphs prepare what all bands of it share.

        Parameters
        ----------
        nodes : Node
        threads : int, optional
            Default: every core. What is worked out does not depend on it.
        ready : Ready, optional
            What is prepared already, from `fetch`.

        Raises
        ------
        InputFileError
            If a file cannot be decoded.
        """
        ready = Ready(threads) if ready is None else ready
        for node in nodes:
            self._prepare(node, ready)
        return ready

    def forget(self) -> None:
        """Drop all that is kept."""
        with self._lock:
            self._kept.clear()
            self._bytes = 0

    def fetch(self, *nodes: Node) -> Ready:
        """Bring the pictures of a graph's sources, and nothing else: work for a thread of its own.

        Raises
        ------
        InputFileError
            If a file cannot be decoded.
        """
        ready = Ready()
        todo = list(nodes)
        while todo:
            node = todo.pop()
            if not node.inputs:
                self._prepare(node, ready)
            elif not (node.whole and self._known(node)):
                todo += node.inputs
        return ready

    def _prepare(self, node: Node, ready: Ready) -> None:
        if node in ready:
            return
        if not node.whole:
            for part in node.inputs:
                self._prepare(part, ready)
        ready.put(node, self._made(node, ready) if node.whole or node.shared else None)

    def _made(self, node: Node, ready: Ready) -> Any:
        """Take what a node prepares from the cache; else make it, one thread at a time."""
        name = node.signature
        with self._lock:
            if name in self._kept:
                self._kept.move_to_end(name)
                return self._kept[name][0]
            turn = self._working.setdefault(name, threading.Lock())
        with turn:
            with self._lock:
                if name in self._kept:
                    return self._kept[name][0]
            if node.whole:
                for part in node.inputs:
                    self._prepare(part, ready)
            ready.check()
            try:
                made = node.prepare(ready)
                self._keep(name, made)
            finally:
                with self._lock:
                    self._working.pop(name, None)
        return made

    def _known(self, node: Node) -> bool:
        with self._lock:
            return node.signature in self._kept

    def _keep(self, name: bytes, made: object) -> None:
        """Keep something, and drop what has not been asked for longest."""
        size = _bytes_of(made)
        if size > self.limit:
            return
        with self._lock:
            self._kept[name] = made, size
            self._bytes += size
            while self._bytes > self.limit:
                self._bytes -= self._kept.popitem(last=False)[1][1]


def _bytes_of(value: object) -> int:
    """Memory of the arrays that a value is made of."""
    if isinstance(value, np.ndarray):
        return int(value.nbytes)
    if isinstance(value, tuple):
        return sum(map(_bytes_of, value))
    parts = vars(value).values() if is_dataclass(value) else ()
    return sum(_bytes_of(part) for part in parts if isinstance(part, np.ndarray | tuple))
