"""What is done to a key's matte by hand: masks, finishing, shadows; worked out as a whole.

The steps of `docs/keying.md` in their order: key, masks, finishing, colour where
the matte was raised, shadows.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from keyer.kinds.arrays import Plane, Planes
from keyer.kinds.picture import Matrix
from keyer.kinds.settings import Finish, KeySettings, Light, Rgb, Shade
from keyer.measure.plate import backing_without_shadows
from keyer.pixel.colour.transfer import to_light
from keyer.pixel.keys.backing import clean_plate
from keyer.pixel.keys.fast import take_subject
from keyer.pixel.keys.level_key import luma_band
from keyer.pixel.mattes.finish import drop_specks, feather, fill_holes, grow
from keyer.pixel.mattes.masks import Shape, apply_masks, draw_mask, join_masks
from keyer.pixel.mattes.refill import carry_fill, refill
from keyer.pixel.mattes.shadow import shade_of, shadow_of
from keyer.render.evaluate import Ready, Whole
from keyer.render.fine import WholeNode, colour_of
from keyer.render.graph import Node


@dataclass(frozen=True, eq=False)
class Masks(Node):
    """Parts of a picture that are decided by hand, joined to a plane; not a picture itself.

    Attributes
    ----------
    width, height : int
    shapes : tuple of Shape
        In pixels.
    pictures : tuple of (Node, matrix)
        White is masked.
    """

    width: int
    height: int
    shapes: tuple[Shape, ...] = ()
    pictures: tuple[tuple[Node, Matrix], ...] = ()

    whole = True

    @property
    def inputs(self) -> tuple[Node, ...]:
        """The pictures among them."""
        return tuple(node for node, _ in self.pictures)

    def prepare(self, ready: Ready) -> Plane:
        """Draw and join them: 1 is masked."""
        found = [draw_mask(shape, self.height, self.width) for shape in self.shapes]
        for node, matrix in self.pictures:
            brightness = np.empty((self.height, self.width), np.float32)
            luma_band(ready.whole(node).planes, matrix, brightness)
            found.append(brightness.clip(0, 1))
        return join_masks(found)


@dataclass(frozen=True, eq=False)
class Finished(WholeNode):
    """A keyed subject whose matte is masked, filled, moved and softened.

    Attributes
    ----------
    of : Node
        The subject as it is keyed.
    recorded : Node
        The picture that it was keyed out of.
    garbage, hold : Masks or None
        Where the matte is clear, and where it is solid.
    finish : Finish
    settings : KeySettings or None
        Of a chroma key: its spill is no colour of the subject.
    matrix : {"bt601", "bt709"}
    """

    of: Node
    recorded: Node
    garbage: Masks | None
    hold: Masks | None
    finish: Finish
    settings: KeySettings | None
    matrix: Matrix = "bt709"

    def prepare(self, ready: Ready) -> Whole:
        """Work the steps out."""
        layer = ready.whole(self.of)
        fill, matte = layer.planes, opacity(layer)
        garbage, hold = (
            None if masks is None else ready.of(masks) for masks in (self.garbage, self.hold)
        )
        changed = _filled(apply_masks(matte, garbage, hold), self.finish)
        if changed is not matte:
            planes = colour_of(self.recorded, ready)
            fill = refill(fill, matte, changed, self._without_spill(planes), planes, hold)
        edge = _moved(changed, self.finish)
        if edge is not changed:
            fill = carry_fill(fill, changed, edge)
        return Whole(fill, edge)

    def _without_spill(self, planes: Planes) -> Planes:
        """Take the key hue off the picture as off a solid subject."""
        if self.settings is None:
            return planes
        bare = planes.copy()
        solid = np.ones(planes.shape[1:], np.float32)
        take_subject(bare, solid, self.settings, self.matrix)
        return bare


@dataclass(frozen=True, eq=False)
class Shadow(WholeNode):
    """The subject's shadows on its backing, as dark as they lie on what is new below: black.

    Attributes
    ----------
    of : Node
        The subject as it is keyed, before anything is done to its matte.
    recorded : Node
    clean : Node or None
        The empty backing.
    garbage : Masks or None
        Where there is none.
    shade : Shade
    backing : tuple of three floats
        Its colour, as surveyed.
    noise : float
        Of the backing, standard deviation.
    light : {"video", "linear"}
        In which it is laid.
    matrix : {"bt601", "bt709"}
    """

    of: Node
    recorded: Node
    clean: Node | None
    garbage: Masks | None
    shade: Shade
    backing: Rgb
    noise: float
    light: Light = "video"
    matrix: Matrix = "bt709"

    def prepare(self, ready: Ready) -> Whole:
        """Find the shadows."""
        planes, layer = colour_of(self.recorded, ready), ready.whole(self.of)
        if self.clean is None:
            lit = backing_without_shadows(planes, self.backing, self.matrix)
        else:
            lit = clean_plate(colour_of(self.clean, ready), self.height, self.width)
        shadow = shadow_of(planes, lit, opacity(layer), layer.planes, self.noise)
        soft = self.shade.soft_percent / 100 * self.height
        found = shade_of(shadow, self.shade.strength_percent, soft)
        if self.light == "linear":
            left = 1 - found[np.newaxis]
            to_light(left)
            found = 1 - left[0]
        if self.garbage is not None:
            found = found * (1 - ready.of(self.garbage))
        return Whole(np.zeros_like(planes), found)


def opacity(layer: Whole) -> Plane:
    """Alpha of a picture as a whole."""
    return np.ones(layer.planes.shape[1:], np.float32) if layer.alpha is None else layer.alpha


def _filled(matte: Plane, finish: Finish) -> Plane:
    """Fill holes and drop specks."""
    if finish.fill_holes > 0:
        matte = fill_holes(matte, finish.fill_holes)
    return drop_specks(matte, finish.drop_specks) if finish.drop_specks > 0 else matte


def _moved(matte: Plane, finish: Finish) -> Plane:
    """Grow and feather an edge."""
    if finish.grow != 0:
        matte = grow(matte, finish.grow)
    return feather(matte, finish.feather)
