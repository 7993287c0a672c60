"""A graph as a picture: 8 or 16 bits or float, opaque or with its alpha."""

from __future__ import annotations

from typing import Any

import numpy as np
from numpy.typing import DTypeLike, NDArray

from keyer.kinds.arrays import Planes
from keyer.kinds.picture import RgbPicture
from keyer.pixel.colour.load import store_band
from keyer.pixel.compose.over import unpremultiply
from keyer.pixel.kernels.bands import run_bands
from keyer.pixel.wipes.blocks import TILE
from keyer.render.effect import Effect, flat
from keyer.render.evaluate import Evaluator, Ready, Whole
from keyer.render.fused import one_pass
from keyer.render.graph import Node, Rows
from keyer.render.leaves import Lettering


def picture(
    node: Node,
    evaluator: Evaluator,
    depth: DTypeLike = np.uint8,
    *,
    alpha: bool = False,
    window: tuple[int, int] | None = None,
    threads: int | None = None,
    rows: int | None = None,
    ready: Ready | None = None,
    fuse: bool = True,
) -> RgbPicture:
    """Work a picture out, or some rows of it.

    Parameters
    ----------
    node : Node
    evaluator : Evaluator
    depth : dtype
        uint8, uint16 or float32.
    alpha : bool
        Whether what is clear stays so; else black lies below.
    window : (top, bottom), optional
        Rows wanted, `bottom` excluded; the picture returned has these alone.
    threads, rows : int, optional
        The result does not depend on them.
    ready : Ready, optional
        What is prepared already.
    fuse : bool
        Whether chains of nodes may run as one pass.

    Returns
    -------
    RgbPicture
        Straight colour; without alpha where it is opaque for certain.
    """
    start, end = window or (0, node.height)
    planes: NDArray[Any] = np.empty((3, end - start, node.width), depth)
    if alpha and not node.opaque:
        ready = evaluator.prepare(node, threads=threads, ready=ready)
        cover: NDArray[Any] = np.empty(planes.shape[1:], depth)

        def put_both(found: Rows, into: int) -> None:
            opacity = found.alpha
            if opacity is None:
                opacity = np.ones(found.planes.shape[1:], np.float32)
            else:
                unpremultiply(found.planes, opacity)
            store_band(found.planes, planes, into)
            store_band(np.clip(opacity, 0, 1), cover, into)

        ready.bands(node, put_both, window=window, threads=threads, rows=rows)
        return RgbPicture(planes, cover)
    node = flat(node)
    ready = evaluator.prepare(node, threads=threads, ready=ready)
    work = one_pass(node, ready, planes) if fuse and window is None else None
    if work is not None:
        run_bands(end, node.width, work, threads=threads, rows=rows, multiple=TILE)
        return RgbPicture(planes)

    def put(found: Rows, into: int) -> None:
        store_band(found.planes, planes, into)

    ready.bands(node, put, window=window, threads=threads, rows=rows)
    return RgbPicture(planes)


def subject(node: Node, evaluator: Evaluator, *, threads: int | None = None) -> Whole:
    """Work a keyed subject out as a whole: what the shows and the measures look at.

    Returns
    -------
    Whole
        Its planes are not to be changed: they may be kept.
    """
    return evaluator.prepare(node, threads=threads).whole(node)


def rows_seen(node: Node, evaluator: Evaluator) -> tuple[int, int]:
    """Find the first row on which something is not clear, and the one after the last.

    Returns
    -------
    top, bottom : int
        Equal where all is clear.
    """
    ready = evaluator.prepare(node, threads=1)
    rows = []
    for row in range(node.height):
        left, right = node.seen(row, row + 1, ready, 0.0)
        if left < right:
            rows.append(row)
    return (rows[0], rows[-1] + 1) if rows else (0, 0)


def cut_out(
    effect: Effect, evaluator: Evaluator, window: tuple[int, int]
) -> tuple[Planes, NDArray[np.float32]]:
    """Cut titles out: straight colour and key, as a keyer lays them.

    Parameters
    ----------
    effect : Effect
        The titles, over nothing.
    evaluator : Evaluator
    window : (top, bottom)
        Rows wanted.

    Returns
    -------
    colour : (3, rows, W) float32
        Where nothing covers, the titles' own colours stand, so that a filter
        that runs over it meets no foreign one.
    key : (rows, W) float32
    """
    ready = evaluator.prepare(effect, threads=1)
    found = picture(
        effect, evaluator, np.float32, alpha=True, window=window, threads=1, ready=ready
    )
    colour, key = found.planes, found.alpha
    if key is None:
        return colour, np.ones(colour.shape[1:], np.float32)
    for layer in effect.layers:
        if isinstance(layer.node, Lettering):
            drawn = ready.of(layer.node)
            rows = slice(drawn.top - window[0], drawn.top - window[0] + drawn.picture.height)
            columns = slice(drawn.left, drawn.left + drawn.picture.width)
            clear = key[rows, columns] == 0
            colour[:, rows, columns][:, clear] = drawn.picture.planes[:, clear]
    return colour, key
