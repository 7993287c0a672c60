"""Layers of what stands on the near side of the lake, and the light on it."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from examples.drawing.light import Lamps, linear
from examples.drawing.moods import Mood
from examples.drawing.stage import Stage

Floats = NDArray[np.float32]
Points = NDArray[np.float64]


def day_lamps(mood: Mood) -> Lamps:
    """Light of the day on things nearby, with the sun ahead and low."""
    side = 1.0 if mood.sun[0] > 0 else -1.0
    sky, sun = linear(mood.ambient), linear(mood.lamp)
    return Lamps(
        key=(0.75 * side, -0.45, -0.05),
        key_colour=three(sun * 0.55),
        rim=(0.80 * side, -0.55, 0.05),
        rim_colour=three(sun * 2.6),
        above=three(sky * 0.85),
        below=three(sky * 0.22),
    )


def three(colour: Floats) -> tuple[float, float, float]:
    """Return a colour as three plain numbers."""
    return float(colour[0]), float(colour[1]), float(colour[2])


@dataclass(frozen=True, eq=False)
class Layer:
    """A drawn layer in linear light.

    Attributes
    ----------
    light : (H, W, 3) float32
        Premultiplied.
    keep : (H, W, 1) float32
        What it lets through.
    """

    light: Floats
    keep: Floats


def layer_of(stage: Stage, lens: float = 0.0) -> Layer:
    """Finish a stage and take its colours to linear light."""
    colour, alpha = stage.finish(lens)
    cover = alpha[..., None]
    bright = (colour / np.maximum(cover, np.float32(1e-3))) ** np.float32(2.2)
    return Layer(np.asarray(bright * cover, np.float32), np.asarray(1 - cover, np.float32))


def over(below: Floats, layer: Layer) -> Floats:
    """Lay a layer over linear light."""
    return np.asarray(below * layer.keep + layer.light, np.float32)
