"""The level functions by the name that the library's files use."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from typing import Any

import numpy as np

from keyer.errors import SettingError
from keyer.kinds.arrays import Reals
from keyer.kinds.ranges import one_of
from keyer.pixel.wipes.fields import along, cells, edges, hands, picture, polygons, shapes
from keyer.pixel.wipes.fields.params import (
    ANGLE,
    CORNER,
    GRID,
    HALVES,
    PLACE,
    SIDES,
    TOWARD,
    Choice,
    Flag,
    Number,
    Param,
    Whole,
    check_params,
)
from keyer.pixel.wipes.fields.routes import ROUTES


@dataclass(frozen=True)
class Function:
    """A level function and what has to be known of it.

    Attributes
    ----------
    level : callable
        (x, y, half_width, half_height, **params) -> level; see `edges`.
    along : callable
        The way along its edge; see `along`.
    params : mapping of str to Param
        What it takes.
    jumps : bool
        The level jumps somewhere.
    turns : bool
        The edge turns about a point.
    fills : bool
        The pattern fills its frame, which therefore follows position, aspect
        and rotation.
    """

    level: Callable[..., Reals]
    along: along.Along
    params: Mapping[str, Param] = field(default_factory=dict)
    jumps: bool = False
    turns: bool = False
    fills: bool = False


_WAY: dict[str, Param] = {"across": PLACE, "down": PLACE}
_TEETH: dict[str, Param] = {"upright": Flag(), "teeth": Whole(1, 64)}
_PIVOT: dict[str, Param] = {"pivot_x": PLACE, "pivot_y": PLACE}
_SWEEP: dict[str, Param] = {**_PIVOT, "start_deg": ANGLE, "sweep_deg": ANGLE}
_ROUTE: dict[str, Param] = {
    **GRID,
    "route": Choice(tuple(ROUTES)),
    "corner": CORNER,
    "first": Choice(("across", "down")),
}
_PARTS: dict[str, Param] = {
    "parts": Choice(("left and right", "top and bottom", "quarters")),
    "others": Choice(("same", "mirror", "opposite")),
}

FUNCTIONS: dict[str, Function] = {
    "bar": Function(edges.bar, along.bar, _WAY),
    "split": Function(edges.split, along.bar, _WAY),
    "box": Function(edges.box, along.box, {"anchor_x": PLACE, "anchor_y": PLACE}),
    "corner boxes": Function(edges.corner_boxes, along.folded),
    "quarter boxes": Function(edges.quarter_boxes, along.quarters),
    "wedges": Function(edges.wedges, along.slopes, {"upright": Flag()}),
    "cross": Function(edges.cross, along.slopes),
    "two diamonds": Function(edges.two_diamonds, along.diamonds),
    "vee": Function(edges.vee, along.arms, {"toward": TOWARD}),
    "split vee": Function(edges.split_vee, along.arms, {"toward": TOWARD}),
    "zig-zag": Function(edges.zigzag, along.upright, _TEETH),
    "split zig-zag": Function(edges.split_zigzag, along.upright, _TEETH),
    "diamond": Function(shapes.diamond, along.around),
    "polygon": Function(
        polygons.polygon, along.around, {"corners": Whole(3, 64), "first_deg": ANGLE}
    ),
    "star": Function(
        polygons.star,
        along.around,
        {"points": Whole(2, 32), "inner": Number(0.05, 1), "first_deg": ANGLE},
    ),
    "arrow head": Function(polygons.arrow_head, along.around, {"first_deg": ANGLE}),
    "ellipse": Function(shapes.ellipse, along.around, {"width": Number(0.1, 10)}),
    "eye": Function(shapes.eye, along.around, {"upright": Flag(), "width": Number(1.01, 10)}),
    "round box": Function(
        shapes.round_box,
        along.around,
        {"upright": Flag(), "width": Number(1, 10), "radius": Number(0.01, 0.99)},
    ),
    "heart": Function(shapes.heart, along.around),
    "keyhole": Function(shapes.keyhole, along.around),
    "clock": Function(
        hands.clock,
        along.radius,
        {"start_deg": ANGLE, "hands": Whole(1, 64)},
        jumps=True,
        turns=True,
    ),
    "fan": Function(
        hands.fan,
        along.radius,
        {**_PIVOT, "start_deg": ANGLE, "open_deg": Number(1, 180), "halves": HALVES},
        turns=True,
    ),
    "sweep": Function(
        hands.sweep, along.radius, {**_SWEEP, "halves": HALVES}, jumps=True, turns=True
    ),
    "parallel sweep": Function(
        hands.parallel_sweep, along.pair_radius, _SWEEP, jumps=True, turns=True
    ),
    "corner pair": Function(
        hands.corner_pair, along.pair_radius, {"falling": Flag()}, jumps=True, turns=True
    ),
    "half clocks": Function(
        hands.half_clocks,
        along.half_radius,
        {"start_deg": ANGLE, "halves": SIDES},
        jumps=True,
        turns=True,
    ),
    "route": Function(cells.route, along.sloping, _ROUTE, jumps=True, fills=True),
    "parts": Function(cells.parts, along.sloping, {**_ROUTE, **_PARTS}, jumps=True, fills=True),
    "diagonal snakes": Function(
        cells.diagonal_snakes, along.sloping, {**GRID, "corner": CORNER}, jumps=True, fills=True
    ),
    "waterfall": Function(
        cells.waterfall,
        along.sloping,
        {**GRID, "upright": Flag(), "far": Flag()},
        jumps=True,
        fills=True,
    ),
    "picture": Function(picture.sampled, along.sloping, fills=True),
}
"""Level functions by name."""


def check_function(name: str, params: Mapping[str, Any]) -> dict[str, str]:
    """Find what is wrong with a function's parameters.

    Parameters
    ----------
    name : str
        Key of `FUNCTIONS`.
    params : mapping

    Returns
    -------
    dict of str to str
        Parameter to what is wrong with it; the key is empty where they do not
        go together.

    Raises
    ------
    SettingError
        If there is no such function.
    """
    one_of("function", name, [known for known in FUNCTIONS if known != "picture"])
    entry = FUNCTIONS[name]
    wrong = check_params(entry.params, params)
    if not wrong:
        place = np.zeros((1, 1), np.float32)
        try:
            level = entry.level(place, place, 0.8, 0.5, **params)
        except SettingError as error:
            return {"": str(error)}
        except ZeroDivisionError:
            level = np.full((1, 1), np.nan)
        if not np.isfinite(level).all():
            return {"": "the parameters leave no shape. Is one of them 0?"}
    return wrong
