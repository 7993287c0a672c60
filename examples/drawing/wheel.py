"""A bicycle wheel: tyre, rim, spokes and hub, at rest or turning."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from examples.drawing import light, raster
from examples.drawing.stage import Stage, Window

Floats = NDArray[np.float32]
Points = NDArray[np.float64]

TYRE, RIM_OUT, RIM_IN = 1.0, 0.905, 0.845
"""Radii as parts of the wheel's: outside of the tyre, and both edges of the rim."""


@dataclass(frozen=True)
class Wheel:
    """Where a wheel is and how it turns.

    Attributes
    ----------
    centre : x, y in picture heights
    radius : float
        Picture heights.
    squeeze : float
        Width over height: 1 seen square on, less when it is turned away.
    lean : float
        Angle of the squeezed axis against the horizontal, radians.
    turn, blur : float
        Angle, and the angle turned while the shutter is open, radians.
    spokes : int
        Spokes that lean each way.
    wall : coded colour of the tyre's side
    """

    centre: tuple[float, float]
    radius: float
    squeeze: float = 1.0
    lean: float = 0.0
    turn: float = 0.0
    blur: float = 0.0
    spokes: int = 16
    wall: str = "#B98A5A"
    thick: float = 0.0

    def inverse(self, scale: float, middle: float, left: float, top: float) -> Points:
        """Return the map from pixels to the wheel's plane, of radius 1."""
        c, s = np.cos(self.lean), np.sin(self.lean)
        size = self.radius * scale
        turn = np.array([[c, s], [-s, c]])
        squeeze = np.diag([1 / (size * self.squeeze), 1 / size])
        matrix = turn.T @ squeeze @ turn
        centre = np.array([self.centre[0] * scale + middle - left, self.centre[1] * scale - top])
        return np.concatenate([matrix, (-matrix @ centre)[:, None]], axis=1)


def draw(
    stage: Stage, wheel: Wheel, *, shadow: float = 0.0, lamps: light.Lamps = light.STUDIO
) -> None:
    """Lay a wheel on the stage.

    Parameters
    ----------
    stage : Stage
    wheel : Wheel
    shadow : float
        Strength of the shadow it casts on what lies below.
    lamps : Lamps
    """
    centre = np.array([wheel.centre])
    window = stage.window(centre, wheel.radius * 1.02)
    if window is None:
        return
    radius = _radius(*_plane(wheel, window, window.fine))
    x, y = _plane(wheel, window, 1)
    coarse = _radius(x, y)
    if shadow > 0:
        ring = _ring(coarse, RIM_IN, TYRE, wheel.radius * window.scale)
        stage.darken_mask(window, np.roll(ring, (4, 3), (0, 1)), shadow, 0.012)
    _lay_spokes(stage, window, wheel, x / coarse, y / coarse)
    for inner, outer, paint_of in ((RIM_IN, RIM_OUT + 0.01, _rim), (RIM_OUT, TYRE, _tyre)):
        soft = 2 / (wheel.radius * window.scale)
        where = (coarse > inner - soft) & (coarse < outer + soft)
        paint = np.zeros((*window.shape, 3), np.float32)
        around = coarse[where]
        paint[where] = paint_of(wheel, around, x[where] / around, y[where] / around, lamps, soft)
        mask = _ring(radius, inner, outer, wheel.radius * window.scale * window.fine)
        stage.lay(window, paint, mask)
    _lay_hub(stage, wheel, lamps)


def _plane(wheel: Wheel, window: Window, step: int) -> tuple[Floats, Floats]:
    """Places in the wheel's plane, of radius 1, for each pixel."""
    inverse = wheel.inverse(
        window.scale * step, window.middle * step, window.left * step, window.top * step
    ).astype(np.float32)
    columns = np.arange(window.width * step, dtype=np.float32)[None, :] + np.float32(0.5)
    rows = np.arange(window.height * step, dtype=np.float32)[:, None] + np.float32(0.5)
    x = inverse[0, 0] * columns + (inverse[0, 1] * rows + inverse[0, 2])
    y = inverse[1, 0] * columns + (inverse[1, 1] * rows + inverse[1, 2])
    return x, y


def _radius(x: Floats, y: Floats) -> Floats:
    return np.asarray(np.maximum(np.sqrt(x * x + y * y), np.float32(1e-5)), np.float32)


def _ring(radius: Floats, inner: float, outer: float, size: float) -> Floats:
    """Coverage of a ring; `size` is the wheel's radius in pixels."""
    out = np.clip((np.float32(outer) - radius) * np.float32(size) + np.float32(0.5), 0, 1)
    if inner > 0:
        out = out * np.clip((radius - np.float32(inner)) * np.float32(size) + np.float32(0.5), 0, 1)
    return np.asarray(out, np.float32)


def _lay_spokes(stage: Stage, window: Window, wheel: Wheel, cosine: Floats, sine: Floats) -> None:
    step = window.fine
    inverse = wheel.inverse(
        window.scale * step, window.middle * step, window.left * step, window.top * step
    )
    half = 0.0048
    for flange, offset, bright in ((0.085, 0.10, 0.74), (0.085, 0.0, 1.0)):
        cover, side = raster.spokes(
            window.mask_shape,
            inverse,
            count=wheel.spokes // 2,
            turn=wheel.turn + offset,
            blur=wheel.blur,
            flange=flange,
            inner=flange,
            outer=RIM_IN + 0.01,
            half=half,
        )
        # Polished wire shows the lamp where it lies across the light.
        glint = np.abs(cosine * np.float32(0.55) + sine * np.float32(0.83))
        tone = np.float32(bright) * (np.float32(0.45) + np.float32(0.55) * glint**2)
        # Round wire: dark at its sides where it is wide enough to tell.
        tone = tone * (1 - np.float32(0.35) * np.clip(window.coarse(np.abs(side)), 0, 1) ** 2)
        paint = tone[..., None] * np.array([1.0, 0.975, 0.94], np.float32)
        stage.lay(window, paint, cover)


def _rim(
    wheel: Wheel, around: Floats, cosine: Floats, sine: Floats, lamps: light.Lamps, soft: float
) -> Floats:
    """Brushed metal: bright where the brushing runs across the lamp."""
    del wheel, soft
    place = (around - np.float32(RIM_IN)) / np.float32(RIM_OUT - RIM_IN)
    roll = np.float32(1.25) * (place * 2 - 1)
    normal = (np.sin(roll) * cosine, np.sin(roll) * sine, np.cos(roll))
    brushed = (cosine * np.float32(0.66) + sine * np.float32(0.75)) ** 2
    brushed = np.float32(0.30) + np.float32(0.5) * brushed + np.float32(0.12) * brushed**4
    groove = 1 - np.float32(0.35) * np.exp(-(((place - np.float32(0.72)) / 0.06) ** 2))
    albedo = (brushed * groove)[..., None] * np.array([1.0, 0.985, 0.96], np.float32)
    return light.lit(normal, albedo, gloss=0.5, sharp=24, metal=0.45, lamps=lamps)


def _tyre(
    wheel: Wheel, around: Floats, cosine: Floats, sine: Floats, lamps: light.Lamps, soft: float
) -> Floats:
    """Pale wall, dark tread; the knobs of the tread turn with the wheel and blur with it."""
    place = (around - np.float32(RIM_OUT)) / np.float32(TYRE - RIM_OUT)
    roll = np.float32(1.45) * (place * 2 - 1)
    normal = (np.sin(roll) * cosine, np.sin(roll) * sine, np.cos(roll))
    angle = np.arctan2(sine, cosine) - np.float32(wheel.turn)
    knobs = np.float32(0.5) + np.float32(0.5) * np.sin(angle * 96 + place * 9)
    steady = np.float32(max(0.0, 1 - wheel.blur / 0.05))
    knobs = np.float32(0.75) + np.float32(0.25) * knobs * steady
    share = np.clip((place - np.float32(0.52)) * np.float32(0.1 / soft) + np.float32(0.5), 0, 1)
    wall, tread = light.linear(wheel.wall), light.linear("#2A2522")
    albedo = wall + (tread * knobs[..., None] - wall) * share[..., None]
    seam = 1 - np.float32(0.5) * np.exp(-(((place - np.float32(0.05)) / 0.09) ** 2))
    return light.lit(
        normal, albedo * seam[..., None], gloss=0.10, sharp=14, sheen=0.06, lamps=lamps
    )


def _lay_hub(stage: Stage, wheel: Wheel, lamps: light.Lamps) -> None:
    window = stage.window(np.array([wheel.centre]), wheel.radius * 0.11)
    if window is None:
        return
    radius = _radius(*_plane(wheel, window, window.fine))
    x, y = _plane(wheel, window, 1)
    around = _radius(x, y)
    cosine, sine = x / around, y / around
    size = wheel.radius * window.scale
    for outer, tone, roundness in ((0.105, 0.42, 0.7), (0.062, 0.62, 1.1), (0.03, 0.34, 1.3)):
        roll = np.float32(roundness) * np.clip(around / np.float32(outer), 0, 1) ** 2
        normal = (np.sin(roll) * cosine, np.sin(roll) * sine, np.cos(roll))
        rings = np.float32(tone) * (1 - np.float32(0.12) * np.cos(around * np.float32(420)))
        albedo = rings[..., None] * np.array([1.0, 0.98, 0.95], np.float32)
        paint = light.lit(normal, albedo, gloss=0.6, sharp=36, metal=0.7, lamps=lamps)
        stage.lay(window, paint, _ring(radius, 0.0, outer, size * window.fine))
