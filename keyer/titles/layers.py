"""Lay coverage and colour on each other to a picture with straight alpha."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from keyer.kinds.arrays import Planes
from keyer.kinds.picture import RgbPicture
from keyer.kinds.settings import Rgb
from keyer.pixel.compose.stack import (
    colour_clear,
    lay_flat,
    lay_picture,
    lay_ramp,
    straighten_stack,
)
from keyer.titles.ink import Canvas, Coverage, Mark

Role = Literal["shadow", "panel", "border", "picture", "rule", "outline", "letters"]


@dataclass(frozen=True, eq=False)
class Layer:
    """One colour, a ramp of two, or a picture over the coverage of a mark.

    Attributes
    ----------
    role : {"shadow", "panel", "border", "picture", "rule", "outline", "letters"}
    mark : Mark
    colour : Rgb
    opacity : float
    box : str
        The box that it belongs to.
    far_colour : Rgb or None
        Colour at the far end of `along`.
    along : (h, w) float32 or None
        0 at `colour`, 1 at `far_colour`.
    size : float
        Of letters: from the top of a "d" to the foot of a "p", in percent of
        the picture height.
    text : str
        The id of the text that it belongs to, where a step of the build names it.
    planes : (3, h, w) float32 or None
        Colours of a picture, straight; they go before `colour`.
    """

    role: Role
    mark: Mark
    colour: Rgb
    opacity: float
    box: str = ""
    far_colour: Rgb | None = None
    along: Coverage | None = None
    size: float = 0.0
    text: str = ""
    planes: Planes | None = None


@dataclass(frozen=True, eq=False)
class Drawn:
    """A title drawn: the part of the picture that it touches, and where that lies.

    Attributes
    ----------
    picture : RgbPicture
        Straight alpha, float32, of the part alone that it covers; at least one pixel.
    left, top : int
        Its place in the picture; it lies wholly inside.
    canvas : Canvas
    layers : tuple of Layer
        What it is made of, from the back to the front.
    notes : tuple of str
        What the user should know: fonts that stepped in, texts that were shrunk.
    moving : bool
        It crawls or rolls, and so crosses the picture's edges.
    """

    picture: RgbPicture
    left: int
    top: int
    canvas: Canvas
    layers: tuple[Layer, ...]
    notes: tuple[str, ...] = ()
    moving: bool = False

    def full(self) -> RgbPicture:
        """Return the title as a picture of the canvas's size, clear all round."""
        canvas = self.canvas
        planes = np.zeros((3, canvas.height, canvas.width), dtype=np.float32)
        alpha = np.zeros((canvas.height, canvas.width), dtype=np.float32)
        rows = slice(self.top, self.top + self.picture.height)
        columns = slice(self.left, self.left + self.picture.width)
        planes[:, rows, columns] = self.picture.planes
        alpha[rows, columns] = self.picture.alpha
        return RgbPicture(planes, alpha, self.picture.matrix)


def bounds(marks: Iterable[Mark], canvas: Canvas) -> tuple[int, int, int, int]:
    """Left, top, right and bottom of what marks cover inside the picture."""
    boxes = [(m.left, m.top, m.coverage.shape[1], m.coverage.shape[0]) for m in marks]
    left = max(min((x for x, _, _, _ in boxes), default=0), 0)
    top = max(min((y for _, y, _, _ in boxes), default=0), 0)
    right = min(max((x + w for x, _, w, _ in boxes), default=0), canvas.width)
    bottom = min(max((y + h for _, y, _, h in boxes), default=0), canvas.height)
    if right <= left or bottom <= top:
        return 0, 0, 1, 1
    return left, top, right, bottom


def flatten(
    layers: Sequence[Layer], box: tuple[int, int, int, int]
) -> tuple[Planes, NDArray[np.float32]]:
    """Lay layers on each other, from the back to the front.

    Porter-Duff "over" on premultiplied colour, then divided by the alpha
    (W3C Compositing and Blending Level 1, 9.1.4). Where nothing covers, the
    colour is that of the rearmost layer near by, so that a soft edge holds no
    foreign colour even after a filter has run over it.

    Parameters
    ----------
    layers : sequence of Layer
    box : (left, top, right, bottom)
        The part of the picture to work out.

    Returns
    -------
    planes : (3, h, w) float32
        Straight colour.
    alpha : (h, w) float32
    """
    left, top, right, bottom = box
    planes = np.zeros((3, bottom - top, right - left), dtype=np.float32)
    alpha = np.zeros((bottom - top, right - left), dtype=np.float32)
    seen = [(layer, part) for layer in layers if (part := _part(layer, box))]
    for layer, (inside, x, y) in seen:
        cover = np.ascontiguousarray(layer.mark.coverage[inside])
        near, opacity = np.array(layer.colour, np.float32), np.float32(layer.opacity)
        if layer.planes is not None:
            own = np.ascontiguousarray(layer.planes[:, inside[0], inside[1]])
            lay_picture(planes, alpha, cover, own, opacity, x, y)
        elif layer.along is None or layer.far_colour is None:
            lay_flat(planes, alpha, cover, near, opacity, x, y)
        else:
            along = np.ascontiguousarray(layer.along[inside])
            far = np.array(layer.far_colour, np.float32)
            lay_ramp(planes, alpha, cover, along, near, far, opacity, x, y)
    straighten_stack(planes, alpha)
    for layer, (inside, x, y) in reversed(seen):
        rows, columns = (side.stop - side.start for side in inside)
        colour_clear(planes, alpha, np.array(layer.colour, np.float32), rows, columns, x, y)
    return planes, alpha


def _part(
    layer: Layer, box: tuple[int, int, int, int]
) -> tuple[tuple[slice, slice], int, int] | None:
    """Find the part of a layer's mark inside a box, and where it lies in it."""
    left, top, right, bottom = box
    mark = layer.mark
    rows, columns = mark.coverage.shape
    y0, y1 = max(mark.top, top), min(mark.top + rows, bottom)
    x0, x1 = max(mark.left, left), min(mark.left + columns, right)
    if y0 >= y1 or x0 >= x1 or layer.opacity == 0:
        return None
    inside = (slice(y0 - mark.top, y1 - mark.top), slice(x0 - mark.left, x1 - mark.left))
    return inside, x0 - left, y0 - top
