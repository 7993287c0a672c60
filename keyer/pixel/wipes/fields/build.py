"""Return a pattern's field for a raster."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

import numpy as np

from keyer.errors import SettingError
from keyer.kinds.arrays import Reals
from keyer.kinds.field import Field, Geometry, Modifiers, Pattern
from keyer.pixel.kernels.bands import run_bands
from keyer.pixel.wipes.blocks import TILE, block_extremes
from keyer.pixel.wipes.displace import block_most
from keyer.pixel.wipes.fields.functions import FUNCTIONS, check_function
from keyer.pixel.wipes.fields.jumps import find_jumps
from keyer.pixel.wipes.fields.place import into_pattern, into_tile, is_placed, reach_of, tile_size
from keyer.pixel.wipes.fields.swing import swing_of

Evaluate = Callable[[Reals, Reals], Reals]

MARGIN_PERCENT = 10.0
"""Margin about the picture, in percent of its height."""

BAND = 32
"""Rows evaluated at a time."""


@dataclass(frozen=True)
class _Laid:
    """A pattern with its place in the picture settled.

    `level` and `along` take places in picture heights from the picture's top
    left corner.
    """

    level: Evaluate
    along: Evaluate


def _span(evaluate: Evaluate, half_width: float, half_height: float) -> tuple[float, float]:
    """Least and greatest level inside a repetition of a pattern that was moved."""
    x = np.linspace(-half_width, half_width, 513, dtype=np.float32)
    y = np.linspace(-half_height, half_height, 513, dtype=np.float32)
    found = [
        evaluate(x[np.newaxis, ::8], y[::8, np.newaxis]),
        evaluate(x[np.newaxis], y[[0, -1], np.newaxis]),
        evaluate(x[np.newaxis, [0, -1]], y[:, np.newaxis]),
    ]
    return min(float(part.min()) for part in found), max(float(part.max()) for part in found)


def _stretch(
    evaluate: Evaluate, half_width: float, half_height: float, *, whole: bool
) -> tuple[float, float]:
    """Scale and offset that let a pattern that was moved run from 0 to 1 in its frame."""
    low, high = _span(evaluate, half_width, half_height)
    if whole and low > -0.01 and high < 1.01 and high - low > 0.98:
        return 1.0, 0.0  # hands stay on the hours and cells on their count
    high = max(high, low + 1e-6)
    return 1 / (high - low), -low / (high - low)


def _lay(pattern: Pattern, geometry: Geometry, modifiers: Modifiers) -> _Laid:
    entry = FUNCTIONS[pattern.function]
    sizes = tile_size(geometry, modifiers)
    placed = is_placed(modifiers)
    frame = reach_of(*sizes, modifiers) if placed and entry.fills else sizes
    params: dict[str, Any] = dict(pattern.params)
    if pattern.picture is not None:
        params["grey"] = pattern.picture
    wave = modifiers.modulation
    wavelength = wave.wavelength / 100 if wave else 1.0

    def in_tile(x: Reals, y: Reals) -> Reals:
        return entry.level(*into_pattern(x, y, *sizes, modifiers), *frame, **params)

    scale, offset = (
        _stretch(in_tile, *sizes, whole=entry.turns or entry.fills) if placed else (1.0, 0.0)
    )
    if modifiers.reverse:
        scale, offset = -scale, 1 - offset

    def level(x: Reals, y: Reals) -> Reals:
        found = in_tile(*into_tile(x, y, geometry, modifiers))
        if (scale, offset) == (1.0, 0.0):
            return found
        return found * np.float32(scale) + np.float32(offset)

    def along(x: Reals, y: Reals) -> Reals:
        x, y = into_pattern(*into_tile(x, y, geometry, modifiers), *sizes, modifiers)
        return entry.along(x, y, *frame, wavelength=wavelength, **params)

    return _Laid(level, along)


def _sample(evaluate: Evaluate, x: Reals, y: Reals) -> Reals:
    """Evaluate at every place of a raster, in bands."""
    values = np.empty((y.size, x.size), np.float32)

    def work(top: int, bottom: int) -> None:
        values[top:bottom] = evaluate(x[np.newaxis], y[top:bottom, np.newaxis])

    run_bands(y.size, x.size, work, rows=BAND)
    return values


def _places(count: int, margin: int, step: float) -> Reals:
    return ((np.arange(count + 2 * margin) - margin + 0.5) * step).astype(np.float32)


def _margin(least: float) -> int:
    """Round a margin up, so that the picture's tiles begin where blocks of the field do."""
    return math.ceil(least / TILE) * TILE


def build(pattern: Pattern, geometry: Geometry, modifiers: Modifiers | None = None) -> Field:
    """Return a pattern's field for a raster.

    Parameters
    ----------
    pattern : Pattern
        One that wipes.
    geometry : Geometry
    modifiers : Modifiers, optional

    Raises
    ------
    SettingError
        If the pattern has no field (push, slide, fade), or its function or
        parameters are wrong.
    """
    modifiers = modifiers or Modifiers()
    if pattern.effect != "wipe":
        msg = (
            f"pattern must have a field to wipe with, got {pattern.name}, which is a "
            f"{pattern.effect}. Take one of another family."
        )
        raise SettingError(msg)
    if pattern.picture is None:
        for wrong in check_function(pattern.function, pattern.params).values():
            raise SettingError(wrong)
    entry = FUNCTIONS[pattern.function]
    laid = _lay(pattern, geometry, modifiers)
    height, width = geometry.height, geometry.width
    least = math.ceil(height * MARGIN_PERCENT / 100) + 1
    margin_y, margin_x = _margin(least), _margin(least / geometry.pixel_aspect)
    x = _places(width, margin_x, geometry.pixel_aspect / height)
    y = _places(height, margin_y, 1 / height)
    values = _sample(laid.level, x, y)
    inside = values[margin_y : margin_y + height, margin_x : margin_x + width]
    np.clip(inside, 0.0, 1.0, out=inside)
    low, high = block_extremes(values)
    jumps = along = swing = None
    if entry.jumps or modifiers.repeat != (1, 1):
        jumps = find_jumps(values, x, y, laid.level)
    if modifiers.modulation:
        along = _sample(laid.along, x, y)
        amplitude = modifiers.modulation.amplitude / 100 * height
        swing = swing_of(values, jumps, amplitude, geometry.pixel_aspect, turns=entry.turns)
    return Field(
        values,
        margin_x,
        margin_y,
        geometry,
        modifiers,
        low,
        high,
        jumps,
        entry.turns,
        along,
        swing,
        None if swing is None else block_most(swing),
    )
