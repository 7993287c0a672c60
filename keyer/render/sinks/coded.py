"""A graph straight into the Y'CbCr planes that an encoder takes.

Bands go to the encoder's planes without a stop at 8 bits. Where the picture is
one source alone that has the planes wanted, its codes are taken as they are.
"""

from __future__ import annotations

import numpy as np

from keyer.kinds.arrays import AnyPlane
from keyer.kinds.picture import Picture, YccPicture
from keyer.pixel.colour.decode_ycc import chroma_steps
from keyer.pixel.colour.encode_ycc import Sampling, empty_ycc, encode_band
from keyer.pixel.kernels.bands import band_rows, default_threads, run_bands
from keyer.pixel.kernels.scratch import give
from keyer.pixel.keys.key_coded import key_coded, key_spans
from keyer.render.between import Opacity, joined
from keyer.render.effect import Effect, Lit, flat
from keyer.render.evaluate import Evaluator, Ready
from keyer.render.graph import Box, Node
from keyer.render.keying import Key
from keyer.render.leaves import Source

STRIP = 128
"""Rows of a strip; strips begin at row 0 of every picture, so that they are the same always."""

_MARGIN = 4
"""Columns and rows about a box that are worked out with it: chroma filters reach 3 far."""

_ALIGN = 16

_FAINT = 0.25
"""Part of a code that what is left of a backing may be worth and count as nothing."""

_SAMPLINGS: dict[tuple[int, int], Sampling] = {(1, 1): "444", (2, 1): "422", (2, 2): "420"}


def _alike(picture: Picture, out: YccPicture) -> bool:
    """Whether a picture has planes of the size and sampling of `out`."""
    return (
        isinstance(picture, YccPicture)
        and picture.luma.shape == out.luma.shape
        and chroma_steps(picture) == chroma_steps(out)
    )


def _like(picture: YccPicture, out: YccPicture) -> bool:
    """Whether a picture's codes mean what those of `out` shall mean."""
    return (
        _alike(picture, out)
        and picture.left_sited
        and picture.alpha is None
        and out.alpha is None
        and (picture.bits, picture.full_range, picture.matrix)
        == (out.bits, out.full_range, out.matrix)
    )


def _planes(picture: YccPicture) -> tuple[AnyPlane, AnyPlane, AnyPlane]:
    return picture.luma, picture.cb, picture.cr


def _parted(node: Node) -> tuple[Node, list[Node]]:
    """Part a picture into what lies at the very bottom and all that lies over it."""
    if isinstance(node, Lit):
        return _parted(node.of)
    if isinstance(node, Effect) and node.fade is None:
        bottom, over = _parted(node.base)
        return bottom, [*over, *(layer.node for layer in node.layers)]
    return node, []


def _key_apart(node: Node, over: list[Node], ready: Ready, out: YccPicture) -> Node | None:
    """Find the one key that can go from codes to codes, if there is such a one."""
    if not isinstance(node, Effect) or node.light != "video":
        return None
    for layer in over:
        key = layer.of if isinstance(layer, Opacity) else layer
        if isinstance(key, Key) and isinstance(key.of, Source):
            picture: Picture = ready.of(key.of)
            if _alike(picture, out) and picture.alpha is None:
                return layer
    return None


def _key_codes(
    layer: Node, under: YccPicture, out: YccPicture, ready: Ready, faint: float, threads: int
) -> None:
    key, share = (layer.of, layer.share) if isinstance(layer, Opacity) else (layer, 1.0)
    if not isinstance(key, Key):
        return
    picture: YccPicture = ready.of(key.of)
    spans = key_spans(picture, key.settings, faint)

    def work(top: int, bottom: int) -> None:
        key_coded(picture, under, key.settings, share, out, spans, top, bottom)

    run_bands(len(spans), out.width, work, threads=threads)


def changed_boxes(
    over: list[Node], size: tuple[int, int], ready: Ready, faint: float = 0.0
) -> list[Box]:
    """Find the part of a picture that layers can change, strip by strip.

    Parameters
    ----------
    over : list of Node
    size : (width, height)
    ready : Ready
    faint : float
        Alpha up to which a key counts as clear. It cannot change R'G'B' by
        more than that.

    Returns
    -------
    list of Box
        At most one a strip of `STRIP` rows.
    """
    width, height = size
    boxes = []
    for top in range(0, height, STRIP):
        bottom = min(top + STRIP, height)
        left, right = joined(*(node.seen(top, bottom, ready, faint) for node in over))
        if left < right:
            boxes.append(Box(max(left, 0), top, min(right, width), bottom))
    return boxes


def _aligned(box: Box, width: int) -> Box:
    """Widen a box to all columns whose chroma it can change, and to a round number of them."""
    left = max(box.left - 1, 0) // _ALIGN * _ALIGN
    right = min(-(-(box.right + 2) // _ALIGN) * _ALIGN, width)
    return Box(left, box.top, right, box.bottom)


def _grown(box: Box, width: int, height: int) -> Box:
    return Box(
        max(box.left - _MARGIN, 0),
        max(box.top - _MARGIN, 0),
        min(box.right + _MARGIN, width),
        min(box.bottom + _MARGIN, height),
    )


def _paste(small: YccPicture, outer: Box, box: Box, out: YccPicture) -> None:
    """Put the planes of a box, encoded with a margin, into those of the picture."""
    step_x, step_y = chroma_steps(out)
    steps = ((1, 1), (step_x, step_y), (step_x, step_y))
    for plane, into, (across, down) in zip(_planes(small), _planes(out), steps, strict=True):
        x, y = (box.left - outer.left) // across, (box.top - outer.top) // down
        columns = -(-box.right // across) - box.left // across
        rows = -(-box.bottom // down) - box.top // down
        left, top = box.left // across, box.top // down
        into[top : top + rows, left : left + columns] = plane[y : y + rows, x : x + columns]


def _work_box(node: Node, box: Box, ready: Ready, out: YccPicture) -> None:
    box = _aligned(box, out.width)
    outer = _grown(box, out.width, out.height)
    small = empty_ycc(
        outer.width,
        outer.rows,
        sampling=_SAMPLINGS[chroma_steps(out)],
        bits=out.bits,
        matrix=out.matrix,
    )
    found = ready.drawn(node, outer)
    encode_band(found.planes, small, 0)
    give(found.planes)
    give(found.alpha)
    _paste(small, outer, box, out)


def coded(
    node: Node,
    evaluator: Evaluator,
    out: YccPicture,
    *,
    threads: int | None = None,
    ready: Ready | None = None,
) -> None:
    """Work a picture out into Y'CbCr planes.

    Parameters
    ----------
    node : Node
    evaluator : Evaluator
    out : YccPicture
        From `keyer.pixel.colour.encode_ycc.empty_ycc`, of the picture's size; its
        samples are set, but for alpha.
    threads : int, optional
        Default: every core. The result does not depend on it.
    ready : Ready, optional
        What is prepared already.
    """
    threads = threads or default_threads()
    node = flat(node)
    ready = evaluator.prepare(node, threads=threads, ready=ready)
    bottom, over = _parted(node)
    picture = ready.of(bottom) if isinstance(bottom, Source) else None
    if not isinstance(picture, YccPicture) or not _like(picture, out):
        even = -(-band_rows(out.height, out.width, threads) // 2) * 2
        ready.bands(
            node, lambda band, top: encode_band(band.planes, out, top), threads=threads, rows=even
        )
        return
    for plane, into in zip(_planes(picture), _planes(out), strict=True):
        np.copyto(into, plane)
    faint = _FAINT / (1 << out.bits)
    key = _key_apart(node, over, ready, out)
    if key is not None:
        _key_codes(key, picture, out, ready, faint, threads)
    boxes = changed_boxes(
        [one for one in over if one is not key], (out.width, out.height), ready, faint
    )

    def work(first: int, end: int) -> None:
        for box in boxes[first:end]:
            _work_box(node, box, ready, out)

    run_bands(len(boxes), 1, work, threads=threads, rows=1)
