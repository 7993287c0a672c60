"""A picture set in its place: scaled, moved, cropped, turned over."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from keyer.pixel.place import UNMOVED, Placement, place
from keyer.render.evaluate import Ready, Whole
from keyer.render.fine import WholeNode
from keyer.render.finishing import opacity
from keyer.render.graph import Node
from keyer.sheet.sheet import Overlay


@dataclass(frozen=True, eq=False)
class Placed(WholeNode):
    """A picture in its place.

    Attributes
    ----------
    of : Node
    placement : Placement
    """

    of: Node
    placement: Placement

    def prepare(self, ready: Ready) -> Whole:
        """Resample it."""
        layer = ready.whole(self.of)
        fill, matte = place(layer.planes, opacity(layer), self.placement)
        return Whole(np.ascontiguousarray(fill), matte)


def placed(node: Node, placement: Placement) -> Node:
    """Set a picture in its place, unless that is where it lies."""
    return node if placement == UNMOVED else Placed(node, placement)


def placement_of(overlay: Overlay, frame: int) -> Placement:
    """Where an overlay stands at a frame of the sheet.

    Parameters
    ----------
    overlay : Overlay
    frame : int

    Returns
    -------
    Placement
    """
    pose = overlay.pose(frame)
    return Placement(
        pose.x,
        pose.y,
        pose.scale,
        overlay.crop,
        left_right=overlay.flip in {"left-right", "both"},
        up_down=overlay.flip in {"up-down", "both"},
    )
