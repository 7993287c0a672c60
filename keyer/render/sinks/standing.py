"""A graph as float planes that stay from frame to frame: painted anew only where it has changed.

Where only layers have changed, such as a title that comes up, all that they do
not reach is as it was. The planes are those that painting all of them gives, to
the bit: a part begins and ends where `keyer.render.effect.STEP` says.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import replace
from itertools import pairwise

import numpy as np

from keyer.kinds.arrays import Planes
from keyer.pixel.kernels.bands import run_bands
from keyer.pixel.kernels.scratch import give
from keyer.render.between import joined
from keyer.render.effect import STEP, Effect, flat
from keyer.render.evaluate import Evaluator, Ready
from keyer.render.graph import Box, Layer, Node


class Standing:
    """Planes of the picture that was painted last.

    Parameters
    ----------
    planes : (3, H, W) float32
        Painted: R'G'B', nominal 0..1, before the limits of any file.
    evaluator : Evaluator
    edges : sequence of int
        Rows on which strips begin that are painted together, and H.
    """

    def __init__(self, planes: Planes, evaluator: Evaluator, edges: Sequence[int]) -> None:
        self._planes, self._evaluator, self._edges = planes, evaluator, edges
        self._before: _Painted | None = None

    def holds(self, node: Node) -> bool:
        """Whether a picture is the one that was painted last."""
        before = self._before
        return before is not None and before.node.signature == flat(node).signature

    def paint(
        self,
        node: Node,
        then: Callable[[Box], None],
        *,
        ready: Ready | None = None,
        threads: int | None = None,
    ) -> list[Box]:
        """Paint a picture over the one before.

        Parameters
        ----------
        node : Node
        then : callable
            Told of each part as it is painted, by the thread that painted it,
            while the processor still has it at hand.
        ready : Ready, optional
            What is prepared already.
        threads : int, optional
            The result does not depend on it.

        Returns
        -------
        list of Box
            The parts painted, at most one a strip; they need not have changed.

        Raises
        ------
        InputFileError
            If a file cannot be decoded.
        """
        node = flat(node)
        now = _Painted(node, self._evaluator.prepare(node, threads=threads, ready=ready))
        before, self._before = self._before, None  # what is given up halfway is no picture
        boxes = self._changed(before, now)

        def work(first: int, end: int) -> None:
            for box in boxes[first:end]:
                now.ready.check()
                found = now.ready.drawn(node, box)
                here = self._planes[:, box.top : box.bottom, box.left : box.right]
                np.copyto(here, found.planes)
                give(found.planes)
                give(found.alpha)
                then(box)

        run_bands(len(boxes), 1, work, threads=threads, rows=1)
        self._before = now
        return boxes

    def _changed(self, before: _Painted | None, now: _Painted) -> list[Box]:
        """Find the parts on which two pictures may differ, strip by strip."""
        width = self._planes.shape[2]
        layers = None if before is None else _differing(before.node, now.node)
        boxes = []
        for top, bottom in pairwise(self._edges):
            left, right = 0, width
            if before is not None and layers is not None:
                gone = [before.seen(layer, top, bottom) for layer in layers[0]]
                left, right = joined(*gone, *(now.seen(one, top, bottom) for one in layers[1]))
            if left < right and width % STEP == 0:
                left, right = max(left, 0) // STEP * STEP, min(-(-right // STEP) * STEP, width)
            elif left < right:
                left, right = 0, width
            if left < right:
                boxes.append(Box(left, top, right, bottom))
        return boxes


class _Painted:
    """A picture with what its bands share, and where its layers are seen."""

    def __init__(self, node: Node, ready: Ready) -> None:
        self.node, self.ready = node, ready
        self._seen: dict[tuple[bytes, int], tuple[int, int]] = {}

    def seen(self, layer: Layer, top: int, bottom: int) -> tuple[int, int]:
        """Columns outside of which a layer is clear."""
        name = layer.node.signature, top
        if name not in self._seen:
            self._seen[name] = layer.node.seen(top, bottom, self.ready, 0.0)
        return self._seen[name]


def _differing(before: Node, now: Node) -> tuple[list[Layer], list[Layer]] | None:
    """Find the layers that one of two pictures has alone; None where more than layers differs."""
    if not isinstance(before, Effect) or not isinstance(now, Effect):
        return None
    if replace(before, layers=()).signature != replace(now, layers=()).signature:
        return None
    names = [[(one.path, one.node.signature) for one in node.layers] for node in (before, now)]
    both = set(names[0]) & set(names[1])
    if [one for one in names[0] if one in both] != [one for one in names[1] if one in both]:
        return None
    gone, new = (
        [layer for layer, name in zip(node.layers, named, strict=True) if name not in both]
        for node, named in zip((before, now), names, strict=True)
    )
    return gone, new
