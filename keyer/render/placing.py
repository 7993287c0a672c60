"""A picture set in its place: scaled, moved, cropped, turned over."""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction

import numpy as np

from keyer.kinds.picture import RgbPicture
from keyer.kinds.settings import BoxLook
from keyer.pixel.colour.load import load, load_alpha
from keyer.pixel.compose.fit import MIDDLE, How, fit
from keyer.pixel.compose.over import premultiply, unpremultiply
from keyer.pixel.compose.place import PLAIN, UNMOVED, Placement, place
from keyer.render.evaluate import Ready, Whole
from keyer.render.fine import WholeNode
from keyer.render.finishing import opacity
from keyer.render.graph import Box, Node, Rows
from keyer.sheet.sheet import Overlay
from keyer.sheet.stack import Standing


@dataclass(frozen=True, eq=False)
class Placed(WholeNode):
    """A picture scaled, moved, cropped or turned, perhaps in a box.

    Attributes
    ----------
    of : Node
    placement : Placement
    look : BoxLook
        Border, corners and drop shadow.
    pixel_aspect : float
    """

    of: Node
    placement: Placement
    look: BoxLook = PLAIN
    pixel_aspect: float = 1.0

    def prepare(self, ready: Ready) -> Whole:
        """Resample the picture to its place."""
        layer, aspect = ready.whole(self.of), self.pixel_aspect
        fill, matte = place(layer.planes, opacity(layer), self.placement, self.look, aspect)
        return Whole(np.ascontiguousarray(fill), matte)


@dataclass(frozen=True, eq=False)
class Fitted(Node):
    """A picture of another size or shape of pixels, brought to a raster.

    Attributes
    ----------
    of : Node
    width, height : int
    aspect : Fraction
        Width of its pixels over that of the raster's.
    how : {"cover", "contain", "fill", "none"}
        As in `keyer.pixel.compose.fit.fit`; what it leaves free is clear.
    keep : tuple of two floats
        Place that stays in view where something is cropped.
    """

    of: Node
    width: int
    height: int
    aspect: Fraction
    how: How = "cover"
    keep: tuple[float, float] = MIDDLE

    whole = True

    def prepare(self, ready: Ready) -> Whole:
        """Resample the picture to its place."""
        layer = ready.whole(self.of)
        planes, alpha = layer.planes.copy(), opacity(layer)
        unpremultiply(planes, alpha)
        found = fit(
            RgbPicture(planes, alpha.copy()),
            self.width,
            self.height,
            pixel_aspect_in=self.aspect,
            how=self.how,
            keep=self.keep,
        )
        planes, alpha = load(found), load_alpha(found)
        premultiply(planes, alpha)
        return Whole(planes, alpha)

    def rows(self, box: Box, ready: Ready) -> Rows:
        """Copy a part out."""
        found: Whole = ready.of(self)
        return found.part(box)

    def seen(self, top: int, bottom: int, ready: Ready, faint: float) -> tuple[int, int]:  # noqa: ARG002
        """Columns that are not clear."""
        found: Whole = ready.of(self)
        return found.seen(top, bottom)


def fitted(
    node: Node,
    width: int,
    height: int,
    aspect: Fraction,
    how: How,
    keep: tuple[float, float] = MIDDLE,
) -> Node:
    """Bring a picture to a raster, unless it has that size and shape."""
    if (node.width, node.height) == (width, height) and (aspect == 1 or how == "fill"):
        return node
    return Fitted(node, width, height, aspect, how, keep)


def placed(
    node: Node, placement: Placement, look: BoxLook = PLAIN, pixel_aspect: float = 1.0
) -> Node:
    """Set a picture in its place, unless that is where it lies and nothing is about it."""
    if placement == UNMOVED and look == PLAIN:
        return node
    return Placed(node, placement, look, pixel_aspect)


def placement_of(overlay: Overlay, frame: int) -> Placement:
    """Where an overlay stands at a frame of the sheet."""
    return placement_at(overlay.standing, frame - overlay.start)


def placement_at(standing: Standing, local: int) -> Placement:
    """Where a picture stands at a frame, counted from where it comes on air."""
    pose = standing.pose(local)
    return Placement(
        pose.x,
        pose.y,
        pose.scale,
        standing.crop,
        left_right=standing.flip in {"left-right", "both"},
        up_down=standing.flip in {"up-down", "both"},
        turn=pose.turn,
    )
