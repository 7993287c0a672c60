"""A bicycle wheel: tyre, rim, spokes and hub, at rest or turning."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from keyer.demo import light, raster
from keyer.demo.stage import Stage, Window

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
    fine = _plane(wheel, window, window.fine)
    coarse = _plane(wheel, window, 1)
    turned = _plane(wheel, window, 1, turn=wheel.turn)
    if shadow > 0:
        ring = _ring(coarse[0], RIM_IN, TYRE, wheel.radius * window.scale)
        stage.darken_mask(window, np.roll(ring, (4, 3), (0, 1)), shadow, 0.012)
    _lay_spokes(stage, window, wheel)
    _lay_rim(stage, window, wheel, fine[0], coarse, lamps)
    _lay_tyre(stage, window, wheel, fine[0], coarse, turned, lamps)
    _lay_hub(stage, wheel, lamps)


def _plane(
    wheel: Wheel, window: Window, step: int, turn: float = 0.0
) -> tuple[Floats, Floats, Floats]:
    """Radius, and the cosine and sine of the angle, for each pixel."""
    inverse = wheel.inverse(
        window.scale * step, window.middle * step, window.left * step, window.top * step
    ).astype(np.float32)
    columns = np.arange(window.width * step, dtype=np.float32)[None, :] + np.float32(0.5)
    rows = np.arange(window.height * step, dtype=np.float32)[:, None] + np.float32(0.5)
    x = inverse[0, 0] * columns + inverse[0, 1] * rows + inverse[0, 2]
    y = inverse[1, 0] * columns + inverse[1, 1] * rows + inverse[1, 2]
    radius = np.sqrt(x * x + y * y)
    safe = np.maximum(radius, 1e-5)
    cosine, sine = x / safe, y / safe
    if turn:
        c, s = np.float32(np.cos(turn)), np.float32(np.sin(turn))
        cosine, sine = cosine * c + sine * s, sine * c - cosine * s
    return radius, cosine, sine


def _ring(radius: Floats, inner: float, outer: float, size: float) -> Floats:
    """Coverage of a ring; `size` is the wheel's radius in pixels."""
    out = np.clip((np.float32(outer) - radius) * np.float32(size) + np.float32(0.5), 0, 1)
    if inner > 0:
        out = out * np.clip((radius - np.float32(inner)) * np.float32(size) + np.float32(0.5), 0, 1)
    return np.asarray(out, np.float32)


def _lay_spokes(stage: Stage, window: Window, wheel: Wheel) -> None:
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
        _, cosine, sine = _plane(wheel, window, 1)
        # Polished wire shows the lamp where it lies across the light.
        glint = np.abs(cosine * np.float32(0.55) + sine * np.float32(0.83))
        tone = np.float32(bright) * (np.float32(0.45) + np.float32(0.55) * glint**2)
        # Round wire: dark at its sides where it is wide enough to tell.
        tone = tone * (1 - np.float32(0.35) * np.clip(window.coarse(np.abs(side)), 0, 1) ** 2)
        paint = tone[..., None] * np.array([1.0, 0.975, 0.94], np.float32)
        stage.lay(window, paint, cover)


def _lay_rim(
    stage: Stage,
    window: Window,
    wheel: Wheel,
    radius: Floats,
    coarse: tuple[Floats, Floats, Floats],
    lamps: light.Lamps,
) -> None:
    size = wheel.radius * window.scale
    around, cosine, sine = coarse
    where = (around > RIM_IN - 2 / size) & (around < RIM_OUT + 0.01 + 2 / size)
    place = (around - np.float32(RIM_IN)) / np.float32(RIM_OUT - RIM_IN)
    roll = np.float32(1.25) * (place * 2 - 1)
    normal = (np.sin(roll) * cosine, np.sin(roll) * sine, np.cos(roll))
    # Brushed metal: bright where the brushing runs across the lamp.
    brushed = (cosine * np.float32(0.66) + sine * np.float32(0.75)) ** 2
    brushed = np.float32(0.30) + np.float32(0.5) * brushed + np.float32(0.12) * brushed**4
    groove = 1 - np.float32(0.35) * np.exp(-(((place - np.float32(0.72)) / 0.06) ** 2))
    albedo = (brushed * groove)[..., None] * np.array([1.0, 0.985, 0.96], np.float32)
    paint = light.lit(normal, albedo, gloss=0.5, sharp=24, metal=0.45, where=where, lamps=lamps)
    mask = _ring(radius, RIM_IN, RIM_OUT + 0.01, size * window.fine)
    stage.lay(window, paint, mask)


def _lay_tyre(
    stage: Stage,
    window: Window,
    wheel: Wheel,
    radius: Floats,
    coarse: tuple[Floats, Floats, Floats],
    turned: tuple[Floats, Floats, Floats],
    lamps: light.Lamps,
) -> None:
    size = wheel.radius * window.scale
    around, cosine, sine = coarse
    where = (around > RIM_OUT - 2 / size) & (around < TYRE + 2 / size)
    place = (around - np.float32(RIM_OUT)) / np.float32(TYRE - RIM_OUT)
    roll = np.float32(1.45) * (place * 2 - 1)
    normal = (np.sin(roll) * cosine, np.sin(roll) * sine, np.cos(roll))
    wall, tread = light.linear(wheel.wall), light.linear("#2A2522")
    angle = np.arctan2(turned[2], turned[1])
    knobs = np.float32(0.5) + np.float32(0.5) * np.sin(angle * 96 + place * 9)
    steady = np.float32(max(0.0, 1 - wheel.blur / 0.05))
    knobs = np.float32(0.75) + np.float32(0.25) * knobs * steady
    share = np.clip((place - np.float32(0.52)) * np.float32(size * 0.05) + np.float32(0.5), 0, 1)
    albedo = wall + (tread * knobs[..., None] - wall) * share[..., None]
    seam = 1 - np.float32(0.5) * np.exp(-(((place - np.float32(0.05)) / 0.09) ** 2))
    paint = light.lit(
        normal, albedo * seam[..., None], gloss=0.10, sharp=14, sheen=0.06, where=where, lamps=lamps
    )
    mask = _ring(radius, RIM_OUT, TYRE, size * window.fine)
    stage.lay(window, paint, mask)


def _lay_hub(stage: Stage, wheel: Wheel, lamps: light.Lamps) -> None:
    window = stage.window(np.array([wheel.centre]), wheel.radius * 0.11)
    if window is None:
        return
    radius, _, _ = _plane(wheel, window, window.fine)
    coarse = _plane(wheel, window, 1)
    size = wheel.radius * window.scale
    around, cosine, sine = coarse
    for outer, tone, roundness in ((0.105, 0.42, 0.7), (0.062, 0.62, 1.1), (0.03, 0.34, 1.3)):
        roll = np.float32(roundness) * np.clip(around / np.float32(outer), 0, 1) ** 2
        normal = (np.sin(roll) * cosine, np.sin(roll) * sine, np.cos(roll))
        rings = np.float32(tone) * (1 - np.float32(0.12) * np.cos(around * np.float32(420)))
        albedo = rings[..., None] * np.array([1.0, 0.98, 0.95], np.float32)
        paint = light.lit(normal, albedo, gloss=0.6, sharp=36, metal=0.7, lamps=lamps)
        stage.lay(window, paint, _ring(radius, 0.0, outer, size * window.fine))
