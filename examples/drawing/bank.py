"""The near bank: reeds in the wind, and a rack of hired bicycles against the light."""

from __future__ import annotations

from dataclasses import replace
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray

from examples.drawing import bicycle, tiles
from examples.drawing.bicycle_base import Placed
from examples.drawing.light import Lamps, encode, linear
from examples.drawing.moods import Mood
from examples.drawing.parts import circle, cushion, strands, tube
from examples.drawing.shore import Layer, day_lamps, layer_of, three
from examples.drawing.stage import Stage, spline, taper

Floats = NDArray[np.float32]
Points = NDArray[np.float64]


def reeds(width: int, height: int, mood: Mood, time: float, *, side: float, seed: int) -> Layer:
    """Draw reeds in front, out of focus and moving in the wind.

    Parameters
    ----------
    width, height : int
    mood : Mood
    time : float
        Seconds.
    side : float
        1 on the right, -1 on the left.
    seed : int

    Returns
    -------
    Layer
    """
    stage = Stage(width, height, fine=1)
    random = np.random.default_rng(seed)
    sky, sun = linear(mood.ambient), linear(mood.lamp)
    half = width / height / 2
    for row, (count, tall, tone) in enumerate(
        ((70, 0.40, 0.9), (64, 0.36, 0.55), (44, 0.30, 0.28))
    ):
        leaves: list[Points] = []
        widths: list[Points] = []
        for _ in range(count):
            start = side * (half + 0.03 - abs(random.normal(0.0, 0.17)) * (1.1 - 0.15 * row))
            rise = tall * random.uniform(0.45, 1.1) * np.exp(-(((half - abs(start)) / 0.42) ** 2))
            beat = 0.35 * np.sin(1.1 * time + 3 * start + random.uniform(0, 0.8))
            lean = random.normal(-0.10 * side, 0.16) + 0.05 * beat
            t = np.linspace(0, 1, 16)
            curve = rise * (lean * t**2 + 0.03 * beat * t**3)
            leaves.append(
                np.stack([start + curve, 1.03 - rise * t * (1 - 0.10 * lean * t)], axis=1)
            )
            widths.append(random.uniform(0.0045, 0.0090) * (1 - t**2.2) * (0.35 + t) + 0.0006)
        ground = linear("#4B4A2C") * np.float32(tone)
        strands(stage, leaves, widths, encode(ground * (sky * 0.8 + 0.10)), 0.98)
        edges = [leaf + np.array([0.0014 * np.sign(mood.sun[0]), 0.0]) for leaf in leaves]
        strands(
            stage,
            edges,
            [w * 0.28 for w in widths],
            encode(linear("#C8A45A") * sun * tone * 0.8),
            0.7,
        )
        for _ in range((3, 5, 2)[row]):
            foot = side * (half + 0.02 - abs(random.normal(0.0, 0.15)))
            top = 1.0 - tall * random.uniform(0.75, 1.12) * np.exp(
                -(((half - abs(foot)) / 0.42) ** 2)
            )
            sway = 0.010 * np.sin(1.1 * time + 3 * foot)
            stem = spline(
                [(foot, 1.03), (foot - 0.004 * side, (1.03 + top) / 2), (foot + sway, top)]
            )
            strands(stage, [stem], [np.full(len(stem), 0.0030)], encode(ground * sky), 1.0)
            head = np.array(
                [
                    [foot + sway, top + 0.012],
                    [foot + 1.1 * sway, top + random.uniform(0.045, 0.062)],
                ]
            )
            tube(
                stage,
                head,
                np.full(2, random.uniform(0.0062, 0.0080)),
                linear("#5A3A22") * np.float32(tone),
                lamps=day_lamps(mood),
                sheen=0.12,
            )
    return layer_of(stage, 1.6 * height / 1080)


@lru_cache(maxsize=2)
def bank(width: int, height: int, mood: Mood) -> Layer:
    """Draw a dark bank with a rack of hired bicycles against the light."""
    stage = Stage(width, height, fine=2)
    half = width / height / 2
    lamps = replace(day_lamps(mood), above=three(linear(mood.ambient) * 0.30))
    lamps = replace(lamps, below=three(linear(mood.ambient) * 0.10))
    edge = spline([(-0.10, 1.06), (0.06, 0.995), (0.22, 0.952), (0.45, 0.925), (0.70, 0.912),
                   (half + 0.08, 0.905)])  # fmt: skip
    ground = np.concatenate([edge, [[half + 0.08, 1.08], [-0.10, 1.08]]])
    _grass(stage, edge, mood, 0.016, 91)
    for x, y, size, paint in (
        (0.800, 0.912, 0.062, "#8C3A30"),
        (0.640, 0.918, 0.068, "#C9B48C"),
        (0.455, 0.928, 0.074, "#A8402E"),
    ):
        bicycle.put(Placed(stage, (x, y - size), size, paint=paint, turn=x * 5, lamps=lamps))
    _rail(stage, mood, lamps)

    def turf(x: Floats, y: Floats) -> Floats:
        rough = tiles.sample(tiles.tile(83, 1.0, 4), x * 260, y * np.float32(700))
        share = np.clip(0.5 + 0.25 * rough, 0, 1)[..., None]
        bare = linear("#1C1A16")
        return np.asarray(bare + (linear("#4A3C28") - bare) * share, np.float32)

    cushion(stage, [ground], turf, round_at=0.02, lamps=lamps)
    _grass(stage, edge + np.array([0.0, 0.008]), mood, 0.020, 92)
    return layer_of(stage)


def _grass(stage: Stage, edge: Points, mood: Mood, tall: float, seed: int) -> None:
    random = np.random.default_rng(seed)
    blades, widths = [], []
    for _ in range(420):
        place = random.integers(0, len(edge) - 1)
        foot = edge[place] + (edge[place + 1] - edge[place]) * random.random() + [0.0, 0.004]
        t = np.linspace(0, 1, 6)[:, None]
        tip = np.array([random.normal(0.004, 0.008), -tall * random.uniform(0.25, 1.0)])
        blades.append(foot + tip * t + np.array([0.006, 0.0]) * t**2)
        widths.append(0.0022 * (1 - 0.85 * t[:, 0]))
    strands(stage, blades[::2], widths[::2], encode(linear("#1A1712")), 1.0)
    lit = encode(linear(mood.lamp) * linear("#8A6A3A"))
    strands(stage, blades[1::2], widths[1::2], lit, 0.8)


def _rail(stage: Stage, mood: Mood, lamps: Lamps) -> None:
    """Lay the hoops of the rack, and a post with the board of the hire."""
    steel = linear("#6A625E")
    for x, y in ((0.36, 0.934), (0.53, 0.922), (0.70, 0.914)):
        hoop = spline(
            [
                (x, y),
                (x + 0.001, y - 0.085),
                (x + 0.022, y - 0.105),
                (x + 0.043, y - 0.085),
                (x + 0.044, y),
            ]
        )
        tube(stage, hoop, taper([0.0036], len(hoop)), steel, gloss=0.3, lamps=lamps)
    post = np.array([[0.235, 0.96], [0.235, 0.60]])
    tube(stage, post, np.full(2, 0.0075), linear("#3A2D25"), lamps=lamps)
    arm = np.array([[0.228, 0.625], [0.352, 0.625]])
    tube(stage, arm, np.full(2, 0.0045), linear("#3A2D25"), lamps=lamps)
    for x in (0.268, 0.330):
        strands(
            stage,
            [np.array([[x, 0.625], [x, 0.648]])],
            [np.full(2, 0.002)],
            encode(steel * 0.3),
            1.0,
        )
    board = spline(
        [(0.250, 0.648), (0.348, 0.648), (0.348, 0.700), (0.250, 0.700)], closed=True, steps=1
    )
    cushion(stage, [board], linear("#5A2A20"), round_at=0.006, lamps=lamps)
    rim = np.concatenate([board, board[:1]])
    strands(stage, [rim], [np.full(5, 0.0022)], encode(linear(mood.lamp) * np.float32(0.7)), 0.9)
    for radius in (0.016,):
        for x in (0.276, 0.322):
            ring = circle((x, 0.677), radius)
            strands(stage, [np.concatenate([ring, ring[:1]])], [np.full(57, 0.0026)],
                    encode(linear(mood.lamp) * np.float32(0.8)), 0.9)  # fmt: skip
    light_line = np.array([[0.276, 0.677], [0.292, 0.660], [0.312, 0.660], [0.322, 0.677]])
    strands(
        stage, [light_line], [np.full(4, 0.0026)], encode(linear(mood.lamp) * np.float32(0.8)), 0.9
    )
