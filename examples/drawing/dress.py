"""The presenter's clothes: a knitted jumper and scarf, a waxed jacket with a corded collar."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
from numpy.typing import NDArray

from examples.drawing import tiles
from examples.drawing.figure import (
    BRASS,
    CORD,
    CREAM,
    LEATHER,
    WAX,
    WAX_LIGHT,
    WOOL,
    Pose,
)
from examples.drawing.light import encode
from examples.drawing.parts import (
    cast_of,
    cushion,
    knit,
    mixed,
    step,
    strands,
    tube,
)
from examples.drawing.stage import Stage, spline, taper

Floats = NDArray[np.float32]
Points = NDArray[np.float64]


def jacket(stage: Stage, now: Pose, seed: int) -> None:
    """Lay the jumper and the open jacket over it."""
    torso = now.body(
        spline(
            [(-0.10, 0.392), (-0.160, 0.420), (-0.188, 0.50), (-0.190, 0.64), (-0.190, 0.80),
             (-0.215, 1.06), (0.215, 1.06), (0.190, 0.80), (0.190, 0.64), (0.188, 0.50),
             (0.160, 0.420), (0.10, 0.392), (0.0, 0.385)],
            closed=True,
        )
    )  # fmt: skip
    jumper = now.body(
        spline(
            [(-0.08, 0.38), (-0.10, 0.6), (-0.08, 1.06), (0.08, 1.06), (0.10, 0.6), (0.08, 0.38)],
            closed=True,
        )
    )

    def cable(x: Floats, y: Floats) -> Floats:
        return np.float32(0.0022) * knit(x - np.float32(now.sway), y, 0.0125)

    cushion(stage, [jumper], CREAM * np.float32(0.8), round_at=0.09, bump=cable, sheen=0.12)

    def wax(x: Floats, y: Floats) -> Floats:
        worn = tiles.sample(tiles.tile(85, 1.7, 2), x * 210 + seed, y * np.float32(210))
        grain = tiles.sample(tiles.tile(86, 0.8, 8), x * 1900, y * np.float32(1900))
        return mixed(WAX, WAX_LIGHT, np.clip(0.40 + 0.26 * worn + 0.06 * grain, 0, 1))

    for way in (-1, 1):
        side = [(way * x, y) for x, y in (
            (0.075, 0.387), (0.10, 0.391), (0.161, 0.419), (0.189, 0.50), (0.191, 0.64),
            (0.191, 0.80), (0.217, 1.06), (0.02, 1.06), (0.028, 0.86), (0.038, 0.66), (0.055, 0.5),
        )]  # fmt: skip
        half = now.body(spline(side, closed=True))

        def folds(x: Floats, y: Floats, way: int = way) -> Floats:
            u, v = x * np.float32(way), y
            drape = np.sin((u * 46 + v * 21) + 1.6 * np.sin(v * 13)) * np.exp(
                -(((v - 0.74) / 0.16) ** 2)
            )
            grain = tiles.sample(tiles.tile(86, 0.8, 8), x * 1900, y * np.float32(1900))
            pull = np.sin(u * 30 - v * 34) * np.exp(-(((v - 0.5) / 0.10) ** 2))
            return np.asarray(0.0040 * drape + 0.003 * pull + 0.00018 * grain, np.float32)

        cushion(
            stage, [half], wax, round_at=0.075, bump=folds, gloss=0.10, sharp=9, within=[torso],
            cast=cast_of(0.45, 0.014, 0.0, 0.008),
        )  # fmt: skip
        _front_edge(stage, now, way)
        _collar(stage, now, way)
        _pocket(stage, now, way, wax, folds)


def _front_edge(stage: Stage, now: Pose, way: int) -> None:
    edge = now.body(
        spline(
            [(way * x, y) for x, y in ((0.060, 0.48), (0.040, 0.66), (0.030, 0.86), (0.022, 1.06))]
        )
    )
    tube(stage, edge, taper([0.0035], len(edge)), WAX * np.float32(0.7), gloss=0.2, sharp=12)
    seam = edge + np.array([way * 0.016, 0.0])
    _stitches(stage, seam)
    if way > 0:
        for y in (0.60, 0.74, 0.88):
            spot = now.body(np.array([[0.043 - 0.05 * (y - 0.6), y]]))[0]
            ring = spot + np.array([[0.0179, 0.0], [0.0181, 0.0]])
            tube(
                stage,
                ring,
                taper([0.0085], 2),
                BRASS,
                gloss=0.8,
                sharp=18,
                cast=cast_of(0.6, 0.004),
            )
            tube(stage, ring, taper([0.0045], 2), BRASS * np.float32(0.6), gloss=0.8, sharp=30)


def _stitches(stage: Stage, line: Points) -> None:
    """Short light stitches along a seam."""
    lengths = np.concatenate([[0], np.cumsum(np.hypot(*np.diff(line, axis=0).T))])
    starts = np.arange(0.004, lengths[-1] - 0.006, 0.0085)
    pieces = [
        np.stack([np.interp([s, s + 0.005], lengths, line[:, axis]) for axis in (0, 1)], axis=1)
        for s in starts
    ]
    if pieces:
        widths = [np.array([0.0016, 0.0016])] * len(pieces)
        strands(stage, pieces, widths, encode(LEATHER * np.float32(0.8)), 0.8)


def _collar(stage: Stage, now: Pose, way: int) -> None:
    leaf = now.body(
        spline(
            [(way * x, y) for x, y in (
                (0.060, 0.375), (0.105, 0.388), (0.150, 0.425), (0.128, 0.500), (0.095, 0.535),
                (0.072, 0.470),
            )],
            closed=True,
        )
    )  # fmt: skip

    def cord(x: Floats, y: Floats) -> Floats:
        ridge = np.sin((x * np.float32(way) * np.float32(0.75) + y * np.float32(0.5)) * 900)
        return np.asarray(np.float32(0.0007) * ridge, np.float32)

    cushion(stage, [leaf], CORD, round_at=0.014, bump=cord, sheen=0.25, cast=cast_of(0.5, 0.01))


def _pocket(
    stage: Stage,
    now: Pose,
    way: int,
    wax: Callable[[Floats, Floats], Floats],
    folds: Callable[[Floats, Floats], Floats],
) -> None:
    corners = [
        (way * x, y) for x, y in ((0.066, 0.845), (0.176, 0.835), (0.184, 0.96), (0.06, 0.97))
    ]
    body = now.body(spline(corners, closed=True, steps=1))
    cushion(stage, [body], wax, round_at=0.012, bump=folds, gloss=0.10, sharp=9,
            cast=cast_of(0.35, 0.006, 0.002, 0.004))  # fmt: skip
    flap = now.body(
        spline([(way * x, y) for x, y in (
            (0.060, 0.832), (0.120, 0.824), (0.182, 0.820), (0.186, 0.862), (0.124, 0.885),
            (0.060, 0.874))], closed=True, steps=6)
    )  # fmt: skip
    cushion(stage, [flap], wax, round_at=0.008, bump=folds, gloss=0.10, sharp=9,
            cast=cast_of(0.5, 0.006, 0.002, 0.006))  # fmt: skip


def scarf_tails(stage: Stage, now: Pose) -> None:
    """Lay the ends of the scarf: one hangs in front, the other flies."""
    t = np.linspace(0, 1, 28)
    swing = 0.016 * t * np.sin(3.2 * t - 2 * now.phase + 0.9)
    hanging = now.body(np.stack([0.062 + 0.020 * t + swing, 0.425 + 0.215 * t], axis=1))
    radii = 0.027 + 0.006 * t + 0.003 * np.sin(7 * t - now.phase)
    _wool(stage, hanging, radii, stripe=0.140)
    _fringe(stage, hanging, radii, now, 0)
    t = np.linspace(0, 1, 44)
    flow = 0.030 * t**0.8 * np.sin(5.4 * t - 2 * now.phase)
    x = 0.045 + now.sway + 0.47 * t
    flying = np.stack([x, 0.405 + 0.075 * t - 0.085 * t**2 + flow], axis=1)
    radii = 0.029 + 0.006 * t + 0.005 * np.sin(9 * t - 2 * now.phase + 1)
    _wool(stage, flying, radii, stripe=0.385)
    _fringe(stage, flying, radii, now, 1)


def scarf_wrap(stage: Stage, now: Pose) -> None:
    """Lay the turns of the scarf about the neck, and its knot."""
    for y, bow, radius in ((0.408, 0.040, 0.030), (0.374, 0.034, 0.029)):
        loop = now.body(
            spline(
                [
                    (-0.086, y - 0.040),
                    (-0.072, y + bow * 0.3),
                    (0.0, y + bow),
                    (0.072, y + bow * 0.3),
                    (0.086, y - 0.040),
                ]
            )
        )
        _wool(
            stage,
            loop,
            taper([radius * 0.8, radius, radius * 1.05, radius, radius * 0.8], len(loop)),
        )
    knot = now.body(spline([(0.050, 0.372), (0.066, 0.408), (0.066, 0.446)]))
    _wool(stage, knot, taper([0.014, 0.028, 0.031, 0.026], len(knot)))


def _wool(stage: Stage, points: Points, radii: Points, stripe: float | None = None) -> None:
    """Lay a knitted scarf along a curve, with cream stripes from `stripe` on."""

    def stitches(along: Floats, across: Floats) -> Floats:
        return np.float32(0.0019) * knit(across, along, 0.0098)

    def dye(along: Floats, across: Floats) -> Floats:
        depth = knit(across, along, 0.0098)
        base = mixed(WOOL * np.float32(0.55), WOOL * np.float32(1.1), depth)
        if stripe is None:
            return base
        pale = mixed(CREAM * np.float32(0.45), CREAM * np.float32(0.95), depth)
        bands = step(stripe, 0.003, along) * (1 - step(stripe + 0.022, 0.003, along))
        bands = bands + step(stripe + 0.038, 0.003, along) * (
            1 - step(stripe + 0.048, 0.003, along)
        )
        return mixed(base, pale, bands)

    tube(stage, points, radii, dye, bump=stitches, sheen=0.30, flat=0.85, cast=cast_of(0.5, 0.012))


def _fringe(stage: Stage, points: Points, radii: Points, now: Pose, index: int) -> None:
    end, before = points[-1], points[-4]
    way = (end - before) / np.hypot(*(end - before))
    side = np.array([-way[1], way[0]])
    random = np.random.default_rng(77 + index)
    lines, widths = [], []
    for place in np.linspace(-0.95, 0.95, 15):
        t = np.linspace(0, 1, 8)[:, None]
        start = end + side * place * radii[-1] + way * np.sqrt(1 - place**2) * radii[-1] * 0.8
        length = random.uniform(0.035, 0.055)
        beat = 0.007 * np.sin(2.5 * t - 3 * now.phase + 5 * random.random())
        lines.append(start + way * length * t + side * beat * t)
        widths.append(0.0042 * (1 - 0.35 * t[:, 0]))
    half = len(lines) // 2
    strands(stage, lines[:half], widths[:half], encode(WOOL * np.float32(0.9)), 1.0)
    strands(stage, lines[half:], widths[half:], encode(WOOL * np.float32(0.6)), 1.0)
