"""A wheel seen from close by against the evening, with points of light out of focus."""

from __future__ import annotations

import cv2
import numpy as np
from numpy.typing import NDArray

from examples.drawing import lake, raster, wheel
from examples.drawing.light import Lamps, blurred, linear
from examples.drawing.moods import EVENING
from examples.drawing.parts import cushion, tube
from examples.drawing.shore import layer_of, over
from examples.drawing.stage import Stage, spline, taper

Floats = NDArray[np.float32]

GOLDEN = Lamps(
    key=(-0.70, -0.50, 0.45), key_colour=(1.9, 1.35, 0.85), rim=(-0.6, -0.75, 0.1),
    rim_colour=(2.6, 1.7, 0.9), above=(0.30, 0.27, 0.33), below=(0.13, 0.10, 0.10),
)  # fmt: skip


def light_of(width: int, height: int, time: float) -> Floats:
    """Draw the close-up in linear light.

    Parameters
    ----------
    width, height : int
        Pixels.
    time : float
        Seconds; the wheel turns and the lights glitter.

    Returns
    -------
    (H, W, 3) float32
    """
    bright = _backdrop(width, height, time)
    stage = Stage(width, height, fine=2)
    turn = 0.25 * time
    shown = wheel.Wheel(
        (0.36, 0.80), 0.86, squeeze=0.93, lean=-0.2, turn=turn, blur=0.004, spokes=18
    )
    _fork(stage)
    wheel.draw(stage, shown, lamps=GOLDEN)
    _axle(stage, shown)
    return over(bright, layer_of(stage))


def _backdrop(width: int, height: int, time: float) -> Floats:
    small = max(width // 4, 2), max(height // 4, 2)
    sky = lake.above(small[0], small[1], EVENING)[round(lake.HEADROOM * small[1]) :]
    mirrored = sky[::-1] * np.array([0.62, 0.60, 0.66], np.float32)
    whole = np.concatenate([sky, mirrored])[: small[1]]
    soft = blurred(np.ascontiguousarray(np.minimum(whole, 6)), 0.055 * small[1])
    view = cv2.resize(soft, (width, height), interpolation=cv2.INTER_LINEAR)
    bright = np.asarray(cv2.GaussianBlur(view, (0, 0), 4 * height / 1080 + 0.3), np.float32)
    bright *= np.float32(0.78)
    random = np.random.default_rng(41)
    shape = (max(height // 2, 1), max(width // 2, 1))
    scale, middle = shape[0], shape[1] / 2
    glow = np.zeros((*shape, 3), np.float32)
    colours = [linear(name) for name in ("#FFD08A", "#FFB060", "#FFE6C0", "#F08A5A", "#FFC070")]
    for _ in range(95):
        x, y = random.normal(-0.36, 0.45), random.normal(0.66, 0.13)
        radius = random.uniform(0.010, 0.036)
        level = random.uniform(0.05, 0.55) ** 1.5 * (
            0.75 + 0.25 * np.sin(2.2 * time + random.uniform(0, 6.3))
        )
        angle = np.linspace(0, 2 * np.pi, 7 if radius > 0.03 else 24, endpoint=False)
        disc = np.stack([x * scale + middle + radius * scale * np.cos(angle + 0.3),
                         y * scale + radius * scale * np.sin(angle + 0.3)], axis=1)  # fmt: skip
        left, top = int(disc[:, 0].min()) - 2, int(disc[:, 1].min()) - 2
        size = int(2 * radius * scale) + 6
        x0, y0 = max(left, 0), max(top, 0)
        x1, y1 = min(left + size, shape[1]), min(top + size, shape[0])
        if x1 <= x0 or y1 <= y0:
            continue
        cover = raster.polygon([disc - np.array([x0, y0])], (y1 - y0, x1 - x0))
        inner = cover - np.float32(0.35) * blurred(cover, max(radius * scale * 0.35, 0.4)) * cover
        glow[y0:y1, x0:x1] += (np.float32(level) * inner)[..., None] * colours[
            int(random.integers(5))
        ]
    glow = np.asarray(cv2.GaussianBlur(glow, (0, 0), max(0.0022 * scale, 0.3)), np.float32)
    bright += np.asarray(cv2.resize(glow, (width, height)), np.float32) * np.float32(1.5)
    return bright


def _fork(stage: Stage) -> None:
    """Lay the far blade of the fork."""
    blade = spline([(0.02, -0.08), (0.13, 0.30), (0.24, 0.60), (0.36, 0.80)])
    tube(stage, blade, taper([0.052, 0.046, 0.036, 0.028], len(blade)), linear("#6E2018"),
         gloss=0.5, sharp=40, coat=1.0, lamps=GOLDEN)  # fmt: skip


def _axle(stage: Stage, shown: wheel.Wheel) -> None:
    x, y = shown.centre
    blade = spline([(-0.06, -0.08), (0.08, 0.30), (0.21, 0.58), (x - 0.008, y - 0.03)])
    tube(stage, blade, taper([0.060, 0.052, 0.040, 0.030], len(blade)), linear("#C23A2C"),
         gloss=0.6, sharp=46, coat=1.0, lamps=GOLDEN, cast=(0.35, 0.02, 0.02, 0.03))  # fmt: skip
    for radius, tone in ((0.040, 0.75), (0.026, 1.0)):
        turn = np.linspace(0, 2 * np.pi, 48, endpoint=False)
        nut = np.stack([x + radius * np.cos(turn), y + radius * np.sin(turn)], axis=1)
        cushion(
            stage,
            [nut],
            linear("#C9C6C0") * np.float32(tone),
            round_at=0.014,
            gloss=0.6,
            metal=0.85,
            lamps=GOLDEN,
            cast=(0.5, 0.01, 0.006, 0.01),
        )
