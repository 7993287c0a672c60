"""Fittings of the hire bicycle: saddle, steering, lamp, glass bell, wicker basket."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from examples.drawing.bicycle_base import (
    BRASS,
    CHROME,
    DARK,
    LEATHER,
    WICKER,
    Placed,
)
from examples.drawing.light import encode, linear
from examples.drawing.parts import circle, cushion, strands, wash
from examples.drawing.stage import spline

Floats = NDArray[np.float32]
Points = NDArray[np.float64]


def saddle(bike: Placed) -> None:
    """Lay the saddle on its springs."""
    for x in (-1.06, -0.84):
        bike.bar([(x, -1.99), (x - 0.05, -1.86)], [0.022, 0.022], CHROME * np.float32(0.7))
    for x in (-1.20, -1.12):
        coil = [(x + 0.035 * (1 if step % 2 else -1), -2.02 + 0.026 * step) for step in range(8)]
        bike.wires([np.array(coil)], 0.022, CHROME * np.float32(0.8))
    seat = bike.at(
        spline([(-1.42, -2.10), (-1.36, -2.22), (-1.18, -2.26), (-0.95, -2.19), (-0.66, -2.15),
                (-0.52, -2.10), (-0.56, -2.03), (-0.80, -2.02), (-1.02, -1.97), (-1.26, -1.95),
                (-1.40, -2.00)], closed=True)
    )  # fmt: skip
    cushion(bike.stage, [seat], LEATHER, round_at=0.12 * bike.size, gloss=0.30, sharp=12,
            lamps=bike.lamps, cast=(0.4, 0.03 * bike.size, 0.0, 0.02))  # fmt: skip
    seam = bike.at(spline([(-1.38, -2.07), (-1.1, -2.06), (-0.8, -2.07), (-0.56, -2.075)]))
    strands(bike.stage, [seam], [np.full(len(seam), 0.010 * bike.size)],
            encode(LEATHER * np.float32(0.35)), 0.7)  # fmt: skip


def steering(bike: Placed) -> None:
    """Lay stem, handlebar, brake cable, lamp and bell."""
    bike.bar([(0.985, -1.78), (0.93, -2.10)], [0.046, 0.046], CHROME)
    bike.bar([(0.925, -2.08), (1.05, -2.16), (1.12, -2.22)], [0.042, 0.042, 0.042], CHROME)
    far = [(1.10, -2.24), (0.92, -2.34), (0.68, -2.33), (0.48, -2.27)]
    bike.bar(far, [0.032, 0.032, 0.032, 0.032], CHROME * np.float32(0.55))
    near = [(1.12, -2.22), (1.00, -2.30), (0.76, -2.27), (0.50, -2.17)]
    bike.bar(near, [0.038, 0.038, 0.038, 0.038], CHROME, shadow=0.2)
    grip = [(0.70, -2.248), (0.60, -2.212), (0.42, -2.135)]

    def ribs(along: Floats, across: Floats) -> Floats:
        del across
        scale = np.float32(0.008 * bike.size)
        return np.asarray(scale * np.sin(along / np.float32(bike.size) * 150), np.float32)

    bike.bar(grip, [0.056, 0.060, 0.062], LEATHER, gloss=0.2, sharp=12, bump=ribs, shadow=0.2)
    lever = [(0.90, -2.27), (0.76, -2.18), (0.60, -2.10)]
    bike.bar(lever, [0.02, 0.02, 0.014], CHROME)
    cable = spline(
        [(0.90, -2.28), (1.08, -2.42), (1.20, -2.24), (1.20, -1.80), (1.17, -1.30)], steps=12
    )
    bike.wires([cable], 0.020, DARK)
    _headlamp(bike)
    _bell(bike)


def _headlamp(bike: Placed) -> None:
    shell = bike.at(
        spline(
            [
                (1.20, -1.40),
                (1.28, -1.49),
                (1.44, -1.52),
                (1.47, -1.40),
                (1.44, -1.28),
                (1.28, -1.31),
            ],
            closed=True,
        )
    )
    cushion(bike.stage, [shell], CHROME, round_at=0.1 * bike.size, gloss=1.0, sharp=30, metal=0.85,
            lamps=bike.lamps)  # fmt: skip
    lens = bike.at(
        spline(
            [(1.44, -1.53), (1.505, -1.47), (1.515, -1.40), (1.505, -1.33), (1.44, -1.27)],
            closed=True,
        )
    )
    cushion(bike.stage, [lens], linear("#E8E2D4"), round_at=0.05 * bike.size, gloss=0.8, sharp=50,
            opacity=0.45, lamps=bike.lamps)  # fmt: skip


def _bell(bike: Placed) -> None:
    """Lay a bell of clear glass on a brass foot, denser towards its rim."""
    stage, size = bike.stage, bike.size
    bike.bar([(0.86, -2.28), (0.855, -2.37)], [0.026, 0.026], BRASS)
    dome = bike.at(spline([(0.715, -2.40), (0.722, -2.50), (0.775, -2.575), (0.855, -2.605),
                           (0.935, -2.575), (0.988, -2.50), (0.995, -2.40), (0.855, -2.375)],
                          closed=True))  # fmt: skip
    # The glass has no colour of its own: it is as bright as what is about it.
    bright = np.minimum(bike.daylight(), 1) ** np.float32(1 / 2.2)
    glass = np.array([0.93, 0.92, 0.90], np.float32) * bright
    clapper = bike.at(circle((0.855, -2.44), 0.028))
    cushion(stage, [clapper], BRASS, round_at=0.03 * size, gloss=0.9, lamps=bike.lamps)
    wash(stage, [dome], glass, 0.20, 0.0, on_subject=False)
    outline = np.concatenate([dome, dome[:1]])
    strands(stage, [outline], [np.full(len(outline), 0.040 * size)], glass * np.float32(0.86), 0.34)
    strands(stage, [outline], [np.full(len(outline), 0.014 * size)], glass * np.float32(0.70), 0.55)
    shine = bike.at(spline([(0.752, -2.47), (0.775, -2.535), (0.81, -2.56), (0.786, -2.50),
                            (0.772, -2.44)], closed=True))  # fmt: skip
    wash(
        stage,
        [shine],
        np.minimum(glass * np.float32(1.07), 1),
        0.85,
        0.006 * size,
        on_subject=False,
    )
    bike.bar([(0.855, -2.605), (0.855, -2.625)], [0.026, 0.02], BRASS)


def basket(bike: Placed) -> None:
    """Lay wicker: uprights and rows of weave with holes between them."""
    top, low = -2.02, -1.56
    uprights = []
    for index in range(15):
        share = index / 14
        x_top, x_low = 1.24 + share * 0.92, 1.34 + share * 0.66
        uprights.append(
            np.array([(x_top, top), (0.5 * (x_top + x_low), (top + low) / 2), (x_low, low)])
        )
    bike.wires(uprights, 0.036, WICKER * np.float32(0.55))
    for row in range(9):
        share = (row + 0.5) / 9
        left, right = 1.24 + 0.10 * share, 2.16 - 0.16 * share
        y = top + (low - top) * share
        x = np.linspace(left, right, 90)
        weave = 0.014 * np.sin((x - left) / (right - left) * np.pi * 14 + np.pi * row)
        bow = 0.025 * np.sin((x - left) / (right - left) * np.pi)
        line = np.stack([x, y + weave + bow], axis=1)
        bike.wires([line], 0.036, WICKER * np.float32(0.75 + 0.25 * (row % 2)), 0.97)
        bike.wires([line - np.array([0.0, 0.008])], 0.012, WICKER * np.float32(1.5), 0.6)

    def twist(along: Floats, across: Floats) -> Floats:
        size = np.float32(bike.size)
        return np.float32(0.012) * size * np.sin(along / size * 60 + across / size * 40)

    bike.bar(
        [(1.22, top - 0.01), (1.70, top + 0.015), (2.18, top - 0.01)],
        [0.045, 0.045, 0.045],
        WICKER,
        gloss=0.15,
        sharp=10,
        bump=twist,
        shadow=0.4,
    )
    bike.bar(
        [(1.33, low + 0.01), (1.67, low + 0.035), (2.01, low + 0.01)],
        [0.042, 0.042, 0.042],
        WICKER,
        gloss=0.15,
        sharp=10,
        bump=twist,
        shadow=0.3,
    )
    for left in (1.40, 1.90):
        strap = [(left, top - 0.03), (left + 0.005, top + 0.10), (left + 0.01, top + 0.20)]
        bike.bar(strap, [0.028, 0.028, 0.028], LEATHER, gloss=0.2, sharp=12, shadow=0.3)
    bike.bar([(1.16, -1.80), (1.28, -1.76)], [0.03, 0.03], CHROME)
