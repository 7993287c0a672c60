"""A drawn title where a sheet puts it: its layers scaled, moved, cropped, mirrored and fitted."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from fractions import Fraction

import numpy as np

from keyer.kinds.arrays import Plane, Planes
from keyer.kinds.picture import RgbPicture
from keyer.pixel.colour.load import load, load_alpha
from keyer.pixel.compose.fit import MIDDLE, How, fit, placement
from keyer.pixel.compose.over import premultiply, unpremultiply
from keyer.pixel.compose.place import UNMOVED, Placement, place
from keyer.titles.ink import Canvas, Mark
from keyer.titles.layers import Drawn, Layer

_Move = Callable[[Planes, Plane], tuple[Planes, Plane]]
"""Moves premultiplied colour and cover of a whole picture."""


def placed_title(drawn: Drawn, where: Placement, opacity: float = 1.0) -> Drawn:
    """Put the layers of a title where a sheet puts its picture, so that they can be measured.

    Parameters
    ----------
    drawn : Drawn
    where : Placement
    opacity : float
        Of the whole title, 0..1.

    Returns
    -------
    Drawn
        Layers of which nothing is in the picture are left out; the picture is that of `drawn`.
    """
    layers = drawn.layers
    if where != UNMOVED:

        def move(ramp: Planes, cover: Plane) -> tuple[Planes, Plane]:
            return place(ramp, cover, where, pixel_aspect=drawn.canvas.pixel_aspect)

        moved = (_moved(layer, drawn, move, where.scale / 100) for layer in layers)
        layers = tuple(layer for layer in moved if layer is not None)
    if opacity < 1:
        layers = tuple(replace(layer, opacity=opacity * layer.opacity) for layer in layers)
    return drawn if layers is drawn.layers else replace(drawn, layers=layers)


def fitted_title(
    drawn: Drawn, canvas: Canvas, aspect: Fraction, how: How, keep: tuple[float, float] = MIDDLE
) -> Drawn:
    """Bring the layers of a title to a picture of another size, as its picture is brought there.

    Parameters
    ----------
    drawn : Drawn
    canvas : Canvas
        Of the other picture.
    aspect : Fraction
        Width of a pixel of the title's picture over that of the other.
    how, keep
        As for `keyer.pixel.compose.fit.fit`.
    """
    own = drawn.canvas
    if (own.width, own.height) == (canvas.width, canvas.height) and (aspect == 1 or how == "fill"):
        return drawn
    shown = placement(own.width, own.height, canvas.width, canvas.height, aspect, how, keep)
    grown = shown.size[1] / shown.crop[3] * own.height / canvas.height

    def move(ramp: Planes, cover: Plane) -> tuple[Planes, Plane]:
        unpremultiply(ramp, cover)
        found = fit(
            RgbPicture(ramp, cover),
            canvas.width,
            canvas.height,
            pixel_aspect_in=aspect,
            how=how,
            keep=keep,
        )
        ramp, cover = load(found), load_alpha(found)
        premultiply(ramp, cover)
        return ramp, cover

    moved = (_moved(layer, drawn, move, grown) for layer in drawn.layers)
    return replace(drawn, canvas=canvas, layers=tuple(one for one in moved if one is not None))


def _moved(layer: Layer, drawn: Drawn, move: _Move, grown: float) -> Layer | None:
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
    ramp, cover = move(ramp, cover)
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
    size = layer.size * grown
    mark = Mark(part, left, top)
    return replace(layer, mark=mark, along=along, planes=planes, size=size)
