"""Lay a pattern out for a raster."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from keyer.errors import SettingError
from keyer.kinds.field import Field, Geometry, Modifiers, Pattern
from keyer.pixel.bands import run_bands
from keyer.pixel.contour import block_extremes
from keyer.pixel.fields import edges, hands, shapes
from keyer.pixel.fields.jumps import find_jumps
from keyer.pixel.fields.place import into_pattern, into_tile, is_placed, tile_size

Plane = NDArray[np.float32]

MARGIN_PERCENT = 10.0
"""Margin about the picture, in percent of its height."""


@dataclass(frozen=True)
class Function:
    """A level function and what has to be known of it.

    Attributes
    ----------
    level : callable
        (x, y, half_width, half_height, **params) -> level; see `edges`.
    jumps : bool
        The level jumps somewhere.
    turns : bool
        The edge turns about a point.
    """

    level: Callable[..., Plane]
    jumps: bool = False
    turns: bool = False


FUNCTIONS: dict[str, Function] = {
    "bar": Function(edges.bar),
    "split": Function(edges.split),
    "box": Function(edges.box),
    "four boxes": Function(edges.four_boxes),
    "diamond": Function(shapes.diamond),
    "ellipse": Function(shapes.ellipse),
    "clock": Function(hands.clock, jumps=True, turns=True),
}
"""Level functions by the name that the library's files use."""


def _span(
    evaluate: Callable[[Plane, Plane], Plane], half_width: float, half_height: float
) -> tuple[float, float]:
    """Least and greatest level inside a repetition of a pattern that was moved."""
    x = np.linspace(-half_width, half_width, 513, dtype=np.float32)
    y = np.linspace(-half_height, half_height, 513, dtype=np.float32)
    found = [
        evaluate(x[np.newaxis, ::8], y[::8, np.newaxis]),
        evaluate(x[np.newaxis], y[[0, -1], np.newaxis]),
        evaluate(x[np.newaxis, [0, -1]], y[:, np.newaxis]),
    ]
    return min(float(part.min()) for part in found), max(float(part.max()) for part in found)


def _evaluator(
    pattern: Pattern, geometry: Geometry, modifiers: Modifiers
) -> Callable[[Plane, Plane], Plane]:
    """Return a function from places in the picture (in heights from its top left) to the field."""
    entry = FUNCTIONS[pattern.function]
    half_width, half_height = tile_size(geometry, modifiers)
    params: dict[str, Any] = dict(pattern.params)

    def in_tile(x: Plane, y: Plane) -> Plane:
        x, y = into_pattern(x, y, half_width, half_height, modifiers)
        return entry.level(x, y, half_width, half_height, **params)

    low, high = 0.0, 1.0
    if is_placed(modifiers) and not entry.turns:
        low, high = _span(in_tile, half_width, half_height)
    scale, offset = 1 / (high - low), -low / (high - low)
    if modifiers.reverse:
        scale, offset = -scale, 1 - offset

    def evaluate(x: Plane, y: Plane) -> Plane:
        level = in_tile(*into_tile(x, y, geometry, modifiers))
        if (scale, offset) == (1.0, 0.0):
            return level
        return level * np.float32(scale) + np.float32(offset)

    return evaluate


def build(pattern: Pattern, geometry: Geometry, modifiers: Modifiers | None = None) -> Field:
    """Lay a pattern out for a raster.

    Parameters
    ----------
    pattern : Pattern
        One that wipes.
    geometry : Geometry
    modifiers : Modifiers, optional

    Returns
    -------
    Field

    Raises
    ------
    SettingError
        If the pattern has no field (push, slide, fade) or an unknown function.
    """
    modifiers = modifiers or Modifiers()
    if pattern.effect != "wipe":
        msg = f"pattern must have a field to wipe with, got {pattern.name}, which is a {pattern.effect}."
        raise SettingError(msg)
    margin_y = math.ceil(geometry.height * MARGIN_PERCENT / 100) + 1
    margin_x = math.ceil(margin_y / geometry.pixel_aspect)
    evaluate = _evaluator(pattern, geometry, modifiers)
    rows, columns = geometry.height + 2 * margin_y, geometry.width + 2 * margin_x
    unit = 1 / geometry.height
    x = ((np.arange(columns) - margin_x + 0.5) * geometry.pixel_aspect * unit).astype(np.float32)
    y = ((np.arange(rows) - margin_y + 0.5) * unit).astype(np.float32)
    values = np.empty((rows, columns), np.float32)

    def work(top: int, bottom: int) -> None:
        values[top:bottom] = evaluate(x[np.newaxis], y[top:bottom, np.newaxis])

    run_bands(rows, columns, work, rows=32)
    inside = values[margin_y : margin_y + geometry.height, margin_x : margin_x + geometry.width]
    np.clip(inside, 0.0, 1.0, out=inside)
    low, high = block_extremes(values)
    entry = FUNCTIONS[pattern.function]
    across = down = None
    if entry.jumps or modifiers.repeat != (1, 1):
        across, down = find_jumps(values, x, y, evaluate)
    return Field(
        values, margin_x, margin_y, geometry, modifiers, low, high, across, down, entry.turns
    )
