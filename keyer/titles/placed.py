"""A drawn title where a sheet puts it: its layers scaled, moved, cropped and mirrored."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from keyer.pixel.compose.place import UNMOVED, Placement, place
from keyer.titles.ink import Mark
from keyer.titles.layers import Drawn, Layer


def placed_title(drawn: Drawn, placement: Placement, opacity: float = 1.0) -> Drawn:
    """Put the layers of a title where a sheet puts its picture, so that they can be measured.

    Parameters
    ----------
    drawn : Drawn
    placement : Placement
    opacity : float
        Of the whole title, 0..1.

    Returns
    -------
    Drawn
        Layers of which nothing is in the picture are left out; the picture is that of `drawn`.
    """
    layers = drawn.layers
    if placement != UNMOVED:
        moved = (_placed(layer, drawn, placement) for layer in layers)
        layers = tuple(layer for layer in moved if layer is not None)
    if opacity < 1:
        layers = tuple(replace(layer, opacity=opacity * layer.opacity) for layer in layers)
    return drawn if layers is drawn.layers else replace(drawn, layers=layers)


def _placed(layer: Layer, drawn: Drawn, placement: Placement) -> Layer | None:
    canvas, mark = drawn.canvas, layer.mark
    cover = np.zeros((canvas.height, canvas.width), np.float32)
    ramp = np.zeros((3, canvas.height, canvas.width), np.float32)
    rows, columns = mark.coverage.shape
    top, left = max(mark.top, 0), max(mark.left, 0)
    bottom, right = min(mark.top + rows, canvas.height), min(mark.left + columns, canvas.width)
    if top >= bottom or left >= right:
        return None
    own = np.s_[top - mark.top : bottom - mark.top, left - mark.left : right - mark.left]
    cover[top:bottom, left:right] = mark.coverage[own]
    if layer.along is not None:
        ramp[:, top:bottom, left:right] = (mark.coverage * layer.along)[own]
    elif layer.planes is not None:
        ramp[:, top:bottom, left:right] = (mark.coverage * layer.planes)[(slice(None), *own)]
    ramp, cover = place(ramp, cover, placement, pixel_aspect=canvas.pixel_aspect)
    inked_rows, inked_columns = np.flatnonzero(cover.any(axis=1)), np.flatnonzero(cover.any(axis=0))
    if not inked_rows.size:
        return None
    top, left = int(inked_rows[0]), int(inked_columns[0])
    seen = np.s_[top : int(inked_rows[-1]) + 1, left : int(inked_columns[-1]) + 1]
    part = np.ascontiguousarray(cover[seen])
    along = planes = None
    least = np.float32(1e-6)
    if layer.along is not None:
        along = (ramp[0][seen] / np.maximum(part, least)).clip(0, 1)
    elif layer.planes is not None:
        planes = (ramp[(slice(None), *seen)] / np.maximum(part, least)).astype(np.float32)
    size = layer.size * placement.scale / 100
    mark = Mark(part, left, top)
    return replace(layer, mark=mark, along=along, planes=planes, size=size)
