"""Where a pattern stands: repetition, position, rotation and stretch as a change of coordinates."""

from __future__ import annotations

import math

import numpy as np

from keyer.kinds.arrays import Reals
from keyer.kinds.field import Geometry, Modifiers


def tile_size(geometry: Geometry, modifiers: Modifiers) -> tuple[float, float]:
    """Half width and half height of one repetition, in picture heights."""
    across, down = modifiers.repeat
    return geometry.display_aspect / 2 / across, 0.5 / down


def _fold(way: Reals, size: float, count: int, *, mirror: bool) -> Reals:
    """Place within a repetition, from its middle; every other one turned over if mirrored.

    The outermost repetitions go on outside the picture, so that its sides are
    no seams.
    """
    number = np.clip(np.floor(way * np.float32(1 / size)), 0, count - 1)
    place: Reals = way - (number + np.float32(0.5)) * np.float32(size)
    if mirror:
        place = np.where(number % 2 == 1, -place, place)
    return place


def into_tile(x: Reals, y: Reals, geometry: Geometry, modifiers: Modifiers) -> tuple[Reals, Reals]:
    """Turn places from the picture's top left corner into places in a repetition.

    Parameters
    ----------
    x, y : float32 arrays that broadcast together
        Picture heights from the left and from the top of the picture.
    geometry : Geometry
    modifiers : Modifiers

    Returns
    -------
    x, y
        Picture heights from the middle of the repetition.
    """
    half_width, half_height = tile_size(geometry, modifiers)
    if modifiers.repeat[0] > 1:
        x = _fold(x, 2 * half_width, modifiers.repeat[0], mirror=modifiers.mirror)
    else:
        x = x - np.float32(half_width)
    if modifiers.repeat[1] > 1:
        y = _fold(y, 2 * half_height, modifiers.repeat[1], mirror=modifiers.mirror)
    else:
        y = y - np.float32(half_height)
    return x, y


def is_placed(modifiers: Modifiers) -> bool:
    """Whether position, aspect or rotation differ from the pattern's own."""
    centred = modifiers.position == (50.0, 50.0)
    return not (centred and modifiers.aspect == 1.0 and modifiers.rotation % 360 == 0)


def into_pattern(
    x: Reals, y: Reals, half_width: float, half_height: float, modifiers: Modifiers
) -> tuple[Reals, Reals]:
    """Turn places in a repetition into the pattern's own coordinates."""
    right, down = (2 * place / 100 - 1 for place in modifiers.position)
    x, y = x - np.float32(right * half_width), y - np.float32(down * half_height)
    angle = math.radians(modifiers.rotation % 360)
    if angle:
        cos, sin = np.float32(math.cos(angle)), np.float32(math.sin(angle))
        x, y = x * cos + y * sin, y * cos - x * sin
    if modifiers.aspect != 1.0:
        stretch = np.float32(math.sqrt(modifiers.aspect))
        x, y = x / stretch, y * stretch
    return x, y


def reach_of(half_width: float, half_height: float, modifiers: Modifiers) -> tuple[float, float]:
    """Half width and half height that a repetition takes up in the pattern's own coordinates."""
    x = np.asarray([[-half_width, half_width]], np.float32)
    y = np.asarray([[-half_height], [half_height]], np.float32)
    across, down = into_pattern(x, y, half_width, half_height, modifiers)
    return float(np.abs(across).max()), float(np.abs(down).max())
