"""Layers of a title moved by any distance, whole pixels or not."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np

from keyer.titles.ink import Canvas, Coverage, Mark
from keyer.titles.layers import Layer


def inked(mark: Mark) -> tuple[int, int, int, int] | None:
    """Left, top, right and bottom of what a mark covers in fact; None for nothing."""
    rows = np.flatnonzero(mark.coverage.any(axis=1))
    columns = np.flatnonzero(mark.coverage.any(axis=0))
    if not rows.size:
        return None
    return (
        mark.left + int(columns[0]),
        mark.top + int(rows[0]),
        mark.left + int(columns[-1]) + 1,
        mark.top + int(rows[-1]) + 1,
    )


def moved(layer: Layer, right: float, down: float, canvas: Canvas) -> Layer | None:
    """Move a layer.

    Parameters
    ----------
    layer : Layer
    right, down : float
        Pixels. Between two pixels coverage is shared by both in proportion.
    canvas : Canvas

    Returns
    -------
    Layer or None
        None if nothing of it is in the picture.
    """
    mark = layer.mark
    rows, columns = mark.coverage.shape
    left, top = mark.left + math.floor(right), mark.top + math.floor(down)
    if not (-columns - 1 < left < canvas.width and -rows - 1 < top < canvas.height):
        return None
    across, along = right - math.floor(right), down - math.floor(down)
    if not (across or along):
        return replace(layer, mark=Mark(mark.coverage, left, top))
    first = max(-left - 1, 0), max(-top - 1, 0)
    last = min(canvas.width - left + 1, columns), min(canvas.height - top + 1, rows)
    window = (slice(first[1], last[1]), slice(first[0], last[0]))
    cover = _between(mark.coverage[window], across, along)
    ramp = None if layer.along is None else _between(layer.along[window], across, along)
    place = Mark(cover, left + first[0], top + first[1])
    if layer.planes is None:
        return replace(layer, mark=place, along=ramp)
    weighed = [
        _between(plane[window] * mark.coverage[window], across, along) for plane in layer.planes
    ]
    thin = np.maximum(cover, np.float32(1e-6))
    planes = (np.stack(weighed) / thin).astype(np.float32)
    return replace(layer, mark=place, planes=planes)


def _between(plane: Coverage, across: float, along: float) -> Coverage:
    """Shift a plane by fractions of a pixel to the right and down; it grows by a pixel."""
    grown = np.pad(plane, 1)
    sideways, down = np.float32(across), np.float32(along)
    shifted = grown[:, 1:] + sideways * (grown[:, :-1] - grown[:, 1:])
    result: Coverage = shifted[1:] + down * (shifted[:-1] - shifted[1:])
    return result
