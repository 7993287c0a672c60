"""Things on the front of the hire: awning, sign, lights, prices, flowers."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from examples.drawing import lettering
from examples.drawing.light import STUDIO, Lamps, encode, linear
from examples.drawing.parts import circle, cushion, strands, tube, wash
from examples.drawing.setting import HIRE, TRADE
from examples.drawing.stage import Stage

Floats = NDArray[np.float32]
Points = NDArray[np.float64]

MORNING_SUN: Lamps = replace(
    STUDIO, key=(-0.60, -0.55, 0.55), key_colour=(1.75, 1.52, 1.20), rim=(0.7, -0.6, 0.1),
    rim_colour=(0.5, 0.5, 0.55), above=(0.40, 0.44, 0.50), below=(0.22, 0.19, 0.16),
)  # fmt: skip

LAMPLIGHT: Lamps = replace(
    STUDIO, key_colour=(0.55, 0.40, 0.25), rim_colour=(0.4, 0.28, 0.16), above=(0.16, 0.12, 0.08),
    below=(0.05, 0.04, 0.03),
)  # fmt: skip

CREAM, RUST, PETROL = linear("#EADFC8"), linear("#B5432C"), linear("#1F4750")
GROUND = 0.850
"""Where the wall meets the deck, picture heights from the top."""


def rectangle(left: float, right: float, top: float, bottom: float) -> Points:
    """Return the corners of a rectangle."""
    return np.array([(left, top), (right, top), (right, bottom), (left, bottom)])


def half_width(stage: Stage) -> float:
    """Return half the width of the picture and a little more, picture heights."""
    return stage.width / stage.height / 2 + 0.02


def awning(stage: Stage, left: float, right: float) -> None:
    """Lay striped cloth that slopes out from the wall, with a scalloped edge and its shadow."""
    top, low, drop = 0.262, 0.352, 0.030
    stage.darken([rectangle(left, right, low, low + 0.10)], 0.55, 0.012, (0.02, 0.0))
    count = 21
    edges_top = np.linspace(left + 0.03, right - 0.03, count + 1)
    edges_low = np.linspace(left, right, count + 1)
    for index in range(count):
        colour = CREAM if index % 2 else RUST
        cloth = np.array([(edges_top[index], top), (edges_top[index + 1], top),
                          (edges_low[index + 1], low), (edges_low[index], low)])  # fmt: skip
        cushion(
            stage, [cloth], colour * np.float32(1.05), round_at=0.003, lamps=MORNING_SUN, sheen=0.1
        )
        turn = np.linspace(0, np.pi, 16)
        half = (edges_low[index + 1] - edges_low[index]) / 2
        middle = edges_low[index] + half
        curve = np.stack([middle + half * np.cos(turn), low + drop * np.sin(turn) ** 0.7], axis=1)
        flap = np.concatenate([[(edges_low[index], low), (edges_low[index + 1], low)], curve])
        cushion(
            stage, [flap], colour * np.float32(0.72), round_at=0.003, lamps=MORNING_SUN, sheen=0.1
        )
    rod = np.array([(left, low), (right, low)])
    tube(stage, rod, np.full(2, 0.0035), CREAM * np.float32(0.8), lamps=MORNING_SUN)


def sign(stage: Stage) -> None:
    """Lay the board with the name of the hire."""
    board = rectangle(-0.640, 0.640, 0.068, 0.208)
    cushion(stage, [board], linear("#C99A4B"), round_at=0.008, gloss=0.3, lamps=MORNING_SUN,
            cast=(0.6, 0.016, 0.014, 0.020))  # fmt: skip
    inner = rectangle(-0.630, 0.630, 0.078, 0.198)
    cushion(
        stage,
        [inner],
        PETROL * np.float32(0.8),
        round_at=0.006,
        gloss=0.15,
        coat=0.4,
        lamps=MORNING_SUN,
    )
    gold = encode(linear("#F0D9A0") * np.float32(1.1))
    shade = encode(linear("#0B1A1E"))
    for colour, shift in ((shade, 0.0025), (gold, 0.0)):
        lettering.paint(stage, HIRE.upper(), (shift, 0.122 + shift), 0.066, colour, spaced=0.22)
        lettering.paint(
            stage, TRADE.upper(), (shift * 0.5, 0.175 + shift * 0.5), 0.024, colour, spaced=0.42
        )
    for x in (-0.560, 0.560):
        for way in (-1, 1):
            ring = circle((x + 0.026 * way, 0.145), 0.021)
            strands(stage, [np.concatenate([ring, ring[:1]])], [np.full(57, 0.0034)], gold, 1.0)
        bars = np.array(
            [(x - 0.026, 0.145), (x - 0.008, 0.118), (x + 0.018, 0.118), (x + 0.026, 0.145)]
        )
        strands(stage, [bars], [np.full(4, 0.0034)], gold, 1.0)


def bulbs(stage: Stage) -> None:
    """Lay a string of lights under the eave."""
    half = half_width(stage)
    line = []
    for index in range(8):
        start, end = -half + index * half / 4, -half + (index + 1) * half / 4
        t = np.linspace(0, 1, 12)
        sag = 0.034 * (1 - (2 * t - 1) ** 2)
        line.append(np.stack([start + (end - start) * t, 0.014 + sag], axis=1))
    strands(stage, line, [np.full(12, 0.0024)] * 8, encode(linear("#1A1614")), 1.0)
    for piece in line:
        for place in (2, 5, 8):
            x, y = piece[place]
            bulb = circle((float(x), float(y) + 0.012), 0.0085)
            wash(
                stage,
                [bulb],
                np.array([1.0, 0.93, 0.76], np.float32),
                1.0,
                0.0012,
                on_subject=False,
            )


def price_board(stage: Stage) -> None:
    """Lay a folding board on the landing with the prices in chalk."""
    legs = [
        np.array([(-0.195, 0.945), (-0.182, 0.700)]),
        np.array([(-0.025, 0.945), (-0.038, 0.700)]),
    ]
    wash(stage, [np.array([(-0.21, 0.93), (-0.01, 0.93), (0.09, 0.955), (-0.11, 0.955)])],
         np.zeros(3, np.float32), 0.5, 0.012)  # fmt: skip
    for leg in legs:
        tube(stage, leg, np.full(2, 0.0075), linear("#9A6A40"), lamps=MORNING_SUN)
    board = np.array([(-0.182, 0.705), (-0.038, 0.705), (-0.030, 0.905), (-0.190, 0.905)])
    cushion(stage, [board], linear("#2A2C2C"), round_at=0.004, lamps=MORNING_SUN)
    frame = np.concatenate([board, board[:1]])
    tube(stage, frame, np.full(5, 0.0055), linear("#A8764A"), lamps=MORNING_SUN)
    chalk = np.array([0.93, 0.91, 0.86], np.float32)
    lettering.paint(stage, "BY THE HOUR", (-0.110, 0.734), 0.0165, chalk, spaced=0.08)
    for row, (what, price) in enumerate(
        (("one hour", "4"), ("half a day", "11"), ("all day", "18"), ("tandem", "24"))
    ):
        y = 0.772 + 0.031 * row
        lettering.paint(stage, what, (-0.130, y), 0.021, chalk, opacity=0.9)
        lettering.paint(stage, price, (-0.060, y), 0.021, chalk, opacity=0.9)


def flowers(stage: Stage, left: float, right: float, y: float, seed: int) -> None:
    """Lay a box of flowers below a window."""
    random = np.random.default_rng(seed)
    box = rectangle(left - 0.02, right + 0.02, y, y + 0.050)
    leaves, widths = [], []
    for _ in range(240):
        foot = np.array([random.uniform(left - 0.015, right + 0.015), y + 0.006])
        t = np.linspace(0, 1, 6)[:, None]
        reach = np.array([random.normal(0, 0.016), -random.uniform(0.012, 0.055)])
        leaves.append(foot + reach * t + np.array([0.010 * random.normal(), 0.02]) * t**2)
        widths.append(0.0046 * np.sin(np.pi * (0.12 + 0.85 * t[:, 0])))
    for part, tone in enumerate(("#2F4A2A", "#4F7038", "#7C9A4A")):
        strands(stage, leaves[part::3], widths[part::3], encode(linear(tone)), 1.0)
    for _ in range(46):
        x, rise = random.uniform(left - 0.01, right + 0.01), random.uniform(-0.004, 0.030)
        colour = linear(("#D8503A", "#F0C860", "#F4E8D8", "#E07A5A")[int(random.integers(4))])
        petal = circle((x, y - rise), random.uniform(0.005, 0.0085), 10)
        cushion(
            stage,
            [petal],
            colour,
            round_at=0.006,
            lamps=MORNING_SUN,
            cast=(0.4, 0.003, 0.002, 0.004),
        )
    cushion(
        stage,
        [box],
        linear("#8A5A38"),
        round_at=0.006,
        lamps=MORNING_SUN,
        cast=(0.5, 0.01, 0.008, 0.016),
    )
