"""The level functions by the name that the library's files use."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from keyer.pixel.fields import along, cells, edges, hands, picture, polygons, shapes

Plane = NDArray[np.floating[Any]]


@dataclass(frozen=True)
class Function:
    """A level function and what has to be known of it.

    Attributes
    ----------
    level : callable
        (x, y, half_width, half_height, **params) -> level; see `edges`.
    along : callable
        The way along its edge; see `along`.
    jumps : bool
        The level jumps somewhere.
    turns : bool
        The edge turns about a point.
    fills : bool
        The pattern fills its frame, which therefore follows position, aspect
        and rotation.
    """

    level: Callable[..., Plane]
    along: along.Along
    jumps: bool = False
    turns: bool = False
    fills: bool = False


FUNCTIONS: dict[str, Function] = {
    "bar": Function(edges.bar, along.bar),
    "split": Function(edges.split, along.bar),
    "box": Function(edges.box, along.box),
    "corner boxes": Function(edges.corner_boxes, along.folded),
    "quarter boxes": Function(edges.quarter_boxes, along.quarters),
    "wedges": Function(edges.wedges, along.slopes),
    "cross": Function(edges.cross, along.slopes),
    "two diamonds": Function(edges.two_diamonds, along.diamonds),
    "vee": Function(edges.vee, along.arms),
    "split vee": Function(edges.split_vee, along.arms),
    "zig-zag": Function(edges.zigzag, along.upright),
    "split zig-zag": Function(edges.split_zigzag, along.upright),
    "diamond": Function(shapes.diamond, along.around),
    "polygon": Function(polygons.polygon, along.around),
    "star": Function(polygons.star, along.around),
    "arrow head": Function(polygons.arrow_head, along.around),
    "ellipse": Function(shapes.ellipse, along.around),
    "eye": Function(shapes.eye, along.around),
    "round box": Function(shapes.round_box, along.around),
    "heart": Function(shapes.heart, along.around),
    "keyhole": Function(shapes.keyhole, along.around),
    "clock": Function(hands.clock, along.radius, jumps=True, turns=True),
    "fan": Function(hands.fan, along.radius, turns=True),
    "sweep": Function(hands.sweep, along.radius, jumps=True, turns=True),
    "parallel sweep": Function(hands.parallel_sweep, along.pair_radius, jumps=True, turns=True),
    "corner pair": Function(hands.corner_pair, along.pair_radius, jumps=True, turns=True),
    "half clocks": Function(hands.half_clocks, along.half_radius, jumps=True, turns=True),
    "route": Function(cells.route, along.sloping, jumps=True, fills=True),
    "parts": Function(cells.parts, along.sloping, jumps=True, fills=True),
    "diagonal snakes": Function(cells.diagonal_snakes, along.sloping, jumps=True, fills=True),
    "waterfall": Function(cells.waterfall, along.sloping, jumps=True, fills=True),
    "picture": Function(picture.sampled, along.sloping, fills=True),
}
"""Level functions by name."""
