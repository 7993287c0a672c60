"""The tinted bottle in the presenter's hand, and the fingers about it."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
from numpy.typing import NDArray

from examples.drawing.arms import soft_leather
from examples.drawing.figure import (
    CREAM,
)
from examples.drawing.light import encode, linear
from examples.drawing.parts import (
    cast_of,
    cushion,
    strands,
    tube,
    wash,
)
from examples.drawing.stage import Stage, spline, taper

Floats = NDArray[np.float32]
Points = NDArray[np.float64]


def draw_bottle(stage: Stage, hold: Callable[[Points], Points]) -> None:
    """Tinted plastic: thin in the middle, denser along its walls and where the drink stands."""
    middle, half = -0.396, 0.051
    side = [
        (half * 0.97, 0.538),
        (half, 0.50),
        (half * 0.95, 0.445),
        (half, 0.395),
        (half * 0.96, 0.352),
        (half * 0.70, 0.326),
        (half * 0.55, 0.316),
    ]
    right = spline([(middle + x, y) for x, y in side])
    left = spline([(middle - x, y) for x, y in side])
    base = spline([(middle - half * 0.97, 0.538), (middle, 0.547), (middle + half * 0.97, 0.538)])
    body = hold(np.concatenate([left[::-1], base[1:-1], right]))
    amber = linear("#B2421C")
    cushion(stage, [body], amber, round_at=0.045, opacity=0.36, gloss=0.7, sharp=26)
    full = right[:, 1] > 0.398
    drink = hold(np.concatenate([left[full][::-1], base[1:-1], right[full]]))
    cushion(
        stage, [drink], amber * np.float32(0.8), round_at=0.05, opacity=0.42, gloss=0.3, sharp=20
    )
    for wall in (left, right):
        for width, opacity in ((0.009, 0.30), (0.0035, 0.45)):
            line = hold(wall + np.array([width * 0.5 * np.sign(middle - wall[0, 0]), 0.0]))
            strands(
                stage,
                [line],
                [np.full(len(line), width)],
                encode(amber * np.float32(0.55)),
                opacity,
            )
    for y in (0.392, 0.399, 0.445):
        ring = hold(
            spline(
                [
                    (middle - half * 0.96, y - 0.002),
                    (middle, y + 0.004),
                    (middle + half * 0.96, y - 0.002),
                ]
            )
        )
        strands(stage, [ring], [np.full(len(ring), 0.0022)], encode(amber * np.float32(1.6)), 0.30)
    _cap(stage, hold, middle)
    glint = hold(spline([(middle - 0.035, 0.362), (middle - 0.029, 0.352), (middle - 0.031, 0.432),
                         (middle - 0.037, 0.432)], closed=True))  # fmt: skip
    wash(stage, [glint], np.array([1.0, 0.95, 0.88], np.float32), 0.75, 0.0015, on_subject=False)
    for index, y in enumerate((0.432, 0.455, 0.478, 0.500)):
        reach = 0.046 - 0.003 * index
        finger = hold(
            spline([(-0.352, y + 0.008), (-0.375, y - 0.002), (-0.388 - reach * 0.5, y),
                    (-0.388 - reach * 0.75, y + 0.006)])
        )  # fmt: skip
        tube(
            stage,
            finger,
            taper([0.0125, 0.0130, 0.0125, 0.0105], len(finger)),
            soft_leather,
            gloss=0.14,
            sharp=10,
            cast=cast_of(0.5, 0.005, 0.002, 0.006),
        )
    thumb = hold(spline([(-0.350, 0.512), (-0.345, 0.472), (-0.354, 0.440)]))
    tube(
        stage,
        thumb,
        taper([0.017, 0.0148, 0.0115], len(thumb)),
        soft_leather,
        gloss=0.14,
        sharp=10,
        cast=cast_of(0.5, 0.005),
    )


def _cap(stage: Stage, hold: Callable[[Points], Points], middle: float) -> None:
    cap = hold(np.array([(middle, 0.328), (middle, 0.300)]))

    def ribs(along: Floats, across: Floats) -> Floats:
        del along
        return np.asarray(np.float32(0.0008) * np.sin(across * 1100), np.float32)

    tube(
        stage, cap, np.full(2, 0.032), linear("#2F2723"), bump=ribs, gloss=0.3, sharp=18, cut="both"
    )
    neck = hold(np.array([(middle, 0.302), (middle, 0.286)]))
    tube(
        stage, neck, np.array([0.024, 0.017]), linear("#3A302A"), gloss=0.35, sharp=20, cut="start"
    )
    spout = hold(np.array([(middle, 0.288), (middle, 0.266)]))
    tube(
        stage,
        spout,
        np.array([0.0115, 0.0125]),
        CREAM,
        gloss=0.4,
        sharp=24,
        cast=cast_of(0.4, 0.004),
    )
