"""An effect: pictures laid over one another, in signal or in light; a node like any other."""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import dataclass, replace

import numpy as np

from keyer.kinds.arrays import Planes
from keyer.kinds.settings import Light, Rgb
from keyer.pixel.colour.transfer import to_light, to_signal
from keyer.pixel.compose.mix import mix_with, toward_colour
from keyer.pixel.compose.over import over_in_place, premultiply, unpremultiply
from keyer.pixel.kernels.scratch import give, take
from keyer.render.between import joined
from keyer.render.evaluate import Ready
from keyer.render.graph import Alpha, Box, Layer, Node, OfOne, Rows
from keyer.render.leaves import Clear, Colour

STEP = 64
"""Columns at a multiple of which a part begins and ends: a compiled loop takes so many at a time,
and rounds what is left over in another way. So a part has the very bits that the whole has."""


def into_light(found: Rows) -> None:
    """Turn rows from signal to light, in place."""
    if found.alpha is None:
        to_light(found.planes)
        return
    unpremultiply(found.planes, found.alpha)
    to_light(found.planes)
    premultiply(found.planes, found.alpha)


def into_signal(found: Rows) -> None:
    """Turn rows from light to signal, in place."""
    if found.alpha is None:
        to_signal(found.planes)
        return
    unpremultiply(found.planes, found.alpha)
    to_signal(found.planes)
    premultiply(found.planes, found.alpha)


@dataclass(frozen=True, eq=False)
class Lit(OfOne):
    """The light of a picture, instead of its signal (BT.709-6 item 1.2)."""

    of: Node

    @property
    def opaque(self) -> bool:  # type: ignore[override]
        """Whether the picture is."""
        return self.of.opaque

    def rows(self, box: Box, ready: Ready) -> Rows | None:
        """Return rows in light."""
        found = ready.rows(self.of, box)
        if found is not None:
            into_light(found)
        return found

    def seen(self, top: int, bottom: int, ready: Ready, faint: float) -> tuple[int, int]:
        """Columns of the picture."""
        return self.of.seen(top, bottom, ready, faint)


def in_light(node: Node, light: Light) -> Node:
    """Take a picture in the light in which pictures are mixed."""
    if light == "video":
        return node
    return node.lit() if isinstance(node, Colour) else Lit(node)


@dataclass(frozen=True, eq=False)
class Effect(Node):
    """Layers over a base.

    Attributes
    ----------
    base : Node
        In the light in which the layers are laid.
    layers : tuple of Layer
        Lowest first; each in signal.
    light : {"video", "linear"}
        In which they are laid; the result is signal.
    flat : bool
        Whether black lies below all of it.
    fade : tuple of colour and share, or None
        A colour, as signal, that has taken that share of all of it.
    """

    base: Node
    layers: tuple[Layer, ...] = ()
    light: Light = "video"
    flat: bool = False
    fade: tuple[Rgb, float] | None = None

    @property
    def width(self) -> int:  # type: ignore[override]
        """Columns."""
        return self.base.width

    @property
    def height(self) -> int:  # type: ignore[override]
        """Rows."""
        return self.base.height

    @property
    def opaque(self) -> bool:  # type: ignore[override]
        """Whether the base or one of the layers is opaque."""
        return self.flat or self.base.opaque or any(layer.node.opaque for layer in self.layers)

    def below(self, path: str) -> Effect:
        """Leave a layer out, and all that lie over it; nothing of it has faded."""
        paths = [layer.path for layer in self.layers]
        return replace(self, layers=self.layers[: paths.index(path)], fade=None)

    def only(self, paths: Collection[str]) -> Effect:
        """Take some layers alone, over nothing, as signal."""
        layers = tuple(layer for layer in self.layers if layer.path in paths)
        return Effect(Clear(self.width, self.height), layers)

    def without(self, paths: Collection[str]) -> Effect:
        """Return the effect without some of its layers."""
        return replace(self, layers=tuple(one for one in self.layers if one.path not in paths))

    @property
    def inputs(self) -> tuple[Node, ...]:
        """The base and the layers' nodes."""
        return (self.base, *(layer.node for layer in self.layers))

    def rows(self, box: Box, ready: Ready) -> Rows | None:
        """Return rows of the base with all layers laid over it."""
        found = ready.drawn(self.base, box)
        for layer in self.layers:
            part = part_of(box, layer.node.seen(box.top, box.bottom, ready, 0.0))
            over = ready.rows(layer.node, part) if part else None
            if part and over is not None:
                if self.light == "linear":
                    into_light(over)
                found = _laid(found, over, box, part)
        if self.flat:
            give(found.alpha)
            found = Rows(found.planes, None)
        if self.fade is not None:
            self._fade(found, *self.fade)
        if self.light == "linear":
            into_signal(found)
        return found

    def _fade(self, found: Rows, colour: Rgb, share: float) -> None:
        whole = in_light(Colour(colour, self.width, self.height), self.light)
        rgb = whole.rgb if isinstance(whole, Colour) else colour
        toward_colour(found.planes, rgb, share)
        if found.alpha is not None:
            mix_with(found.alpha, 1.0, share)

    def seen(self, top: int, bottom: int, ready: Ready, faint: float) -> tuple[int, int]:
        """Columns of any of its pictures."""
        if self.flat or self.fade is not None:
            return 0, self.width
        return joined(*(part.seen(top, bottom, ready, faint) for part in self.inputs))


def part_of(box: Box, columns: tuple[int, int]) -> Box | None:
    """Find the part of a box that some columns reach; it begins on a multiple of `STEP`."""
    left = max(box.left, columns[0] // STEP * STEP)
    right = min(box.right, -(-columns[1] // STEP) * STEP)
    if columns[0] >= columns[1] or left >= right:
        return None
    return Box(left, box.top, right, box.bottom)


def _laid(under: Rows, over: Rows, box: Box, part: Box) -> Rows:
    """Lay a part over a box, in place of what lies below."""
    columns = slice(part.left - box.left, part.right - box.left)
    every = part.width == box.width
    if over.alpha is None:
        if every:
            give(under.planes)
            give(under.alpha)
            return over
        under.planes[:, :, columns] = over.planes
        if under.alpha is not None:
            under.alpha[:, columns] = 1
    elif every:
        _lay(over.planes, over.alpha, under.planes, under.alpha)
    else:
        planes = take(3, part.rows, part.width)
        np.copyto(planes, under.planes[:, :, columns])
        alpha = None
        if under.alpha is not None:
            alpha = take(1, part.rows, part.width)[0]
            np.copyto(alpha, under.alpha[:, columns])
        _lay(over.planes, over.alpha, planes, alpha)
        under.planes[:, :, columns] = planes
        give(planes)
        if under.alpha is not None and alpha is not None:
            under.alpha[:, columns] = alpha
            give(alpha)
    give(over.planes)
    give(over.alpha)
    return under


def _lay(fill: Planes, matte: Alpha, planes: Planes, alpha: Alpha | None) -> None:
    over_in_place(fill, matte, planes)
    if alpha is not None:
        over_in_place(matte[np.newaxis], matte, alpha[np.newaxis])


def flat(node: Node) -> Node:
    """Lay a picture on black, if something of it may be clear."""
    if node.opaque:
        return node
    if isinstance(node, Effect):
        return replace(node, flat=True)
    return Effect(node, flat=True)
