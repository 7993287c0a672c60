"""A step-through hire bicycle from the side: thin tubes, spokes, wicker, a glass bell."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from examples.drawing import wheel
from examples.drawing.bicycle_base import (
    BRACKET,
    BRASS,
    CHROME,
    CREAM,
    DARK,
    FRONT,
    REAR,
    Placed,
)
from examples.drawing.fittings import basket, saddle, steering
from examples.drawing.light import encode, linear
from examples.drawing.parts import circle, cushion, tube, wash
from examples.drawing.stage import Stage, spline, taper

Floats = NDArray[np.float32]
Points = NDArray[np.float64]


def draw(stage: Stage, frame: float, seed: int) -> None:
    """Lay the bicycle on the stage as a product shot; wheels and cranks turn with the frame."""
    del seed  # nothing on it is left to chance
    turn = 2 * np.pi * frame / 100
    put(Placed(stage, (-0.015, 0.690), 0.240, turn=turn, blur=0.02, crank=0.5 + turn))


def put(bike: Placed) -> None:
    """Lay a bicycle on its stage, back to front."""
    _far_side(bike)
    for hub, teeth in ((REAR, True), (FRONT, False)):
        _wheel(bike, hub)
        if teeth:
            _sprocket(bike)
    _mudguards(bike)
    _carrier(bike)
    _frame(bike)
    _drive(bike)
    saddle(bike)
    steering(bike)
    basket(bike)


def _far_side(bike: Placed) -> None:
    angle = bike.crank + np.pi
    end = (BRACKET[0] + 0.50 * np.cos(angle), BRACKET[1] + 0.50 * np.sin(angle))
    bike.bar([BRACKET, end], [0.035, 0.028], CHROME * np.float32(0.5))
    _pedal(bike, end, 0.55)


def _pedal(bike: Placed, end: tuple[float, float], light: float) -> None:
    block = [(end[0] - 0.14, end[1]), (end[0] + 0.14, end[1])]
    bike.bar(block, [0.045, 0.045], DARK * np.float32(1.6 * light), gloss=0.25, sharp=16)


def _wheel(bike: Placed, hub: tuple[float, float]) -> None:
    centre = bike.at([hub])[0]
    wheel.draw(
        bike.stage,
        wheel.Wheel(
            (float(centre[0]), float(centre[1])), bike.size, turn=bike.turn, blur=bike.blur,
            spokes=18, wall="#E3D3B4",
        ),
        lamps=bike.lamps,
    )  # fmt: skip


def _sprocket(bike: Placed) -> None:
    ring = circle(REAR, 0.15)
    cushion(
        bike.stage,
        [bike.at(ring), bike.at(circle(REAR, 0.07))],
        CHROME * np.float32(0.45),
        round_at=0.03 * bike.size,
        gloss=0.5,
        sharp=30,
        metal=0.85,
        lamps=bike.lamps,
    )


def _arc(
    centre: tuple[float, float], radius: float, start: float, end: float, count: int = 40
) -> list[tuple[float, float]]:
    """Points of an arc, degrees counted clockwise on screen from the right."""
    angle = np.radians(np.linspace(start, end, count))
    return [
        (centre[0] + radius * float(np.cos(a)), centre[1] + radius * float(np.sin(a)))
        for a in angle
    ]


def _mudguards(bike: Placed) -> None:
    for hub, start, end in ((REAR, -205, -12), (FRONT, -175, -28)):
        guard = _arc(hub, 1.06, start, end)
        curve = bike.at(guard)
        tube(bike.stage, curve, taper([0.030, 0.045, 0.045, 0.030], len(curve)) * bike.size, CREAM,
             gloss=0.5, sharp=40, coat=1.0, lamps=bike.lamps,
             cast=(0.35, 0.02 * bike.size, 0.0, 0.04 * bike.size))  # fmt: skip
    for hub, angles in ((REAR, (-170, -100)), (FRONT, (-150,))):
        stays = [
            np.array([hub, _arc(hub, 1.08, angle, angle, 1)[0]], np.float64) for angle in angles
        ]
        bike.wires(stays, 0.022, CHROME * np.float32(0.55))


def _carrier(bike: Placed) -> None:
    deck = [(-2.30, -1.21), (-1.55, -1.235), (-0.90, -1.26)]
    bike.bar([(-2.20, -1.20), (-1.60, -0.02)], [0.02, 0.02], CHROME * np.float32(0.7))
    bike.bar([(-1.42, -1.23), (-1.55, -0.02)], [0.02, 0.02], CHROME * np.float32(0.7))
    bike.bar(deck, [0.032, 0.032, 0.032], CHROME, shadow=0.3)
    bike.bar([(-2.30, -1.21), (-2.36, -1.13), (-2.33, -1.05)], [0.028, 0.028, 0.028], CHROME)
    lamp = bike.at(spline([(-2.36, -1.16), (-2.30, -1.19), (-2.27, -1.10), (-2.30, -1.02),
                           (-2.37, -1.04)], closed=True))  # fmt: skip
    cushion(bike.stage, [lamp], linear("#B31C16"), round_at=0.05 * bike.size, gloss=0.8, sharp=40,
            lamps=bike.lamps)  # fmt: skip


def _frame(bike: Placed) -> None:
    paint = linear(bike.paint)
    seat, head_top, head_low = (-0.80, -1.42), (1.00, -1.72), (1.14, -1.22)
    # The pair of stays goes to the hub, on both sides of the wheel.
    for far, shift in ((0.6, 0.03), (1.0, 0.0)):
        tone = paint * np.float32(far)
        bike.bar([(seat[0] + 0.02, seat[1] + 0.08 - shift), (REAR[0], REAR[1] - shift)],
                 [0.042, 0.034], tone, shadow=0.2)  # fmt: skip
        bike.bar(
            [(BRACKET[0], BRACKET[1] - shift), (REAR[0], REAR[1] - shift)],
            [0.05, 0.038],
            tone,
            shadow=0.2,
        )
    for shift, share in ((0.0, 0.92), (0.20, 1.0)):
        curve = [(head_low[0] - 0.02 - 0.05 * shift, head_low[1] - 0.24 + shift * 0.9),
                 (0.76, -1.03 + shift), (0.38, -0.62 + shift), (0.02, -0.27 + 0.9 * shift),
                 (BRACKET[0] - 0.05, BRACKET[1] - 0.20 + shift * 0.7)]  # fmt: skip
        bike.bar(curve, [0.066, 0.07, 0.072, 0.07, 0.066], paint * np.float32(share), shadow=0.25)
    bike.bar([BRACKET, seat], [0.072, 0.066], paint, shadow=0.25)
    bike.bar([(-0.83, -1.52), (-0.95, -1.90)], [0.046, 0.046], CHROME)
    bike.bar([(-0.785, -1.36), (-0.825, -1.50)], [0.078, 0.078], CHROME * np.float32(0.8))
    bike.bar([head_top, head_low], [0.085, 0.088], paint, shadow=0.2)
    for end in ((0.99, -1.75), (1.145, -1.20)):
        bike.bar([end, (end[0] + 0.012, end[1] + 0.045)], [0.098, 0.098], CHROME)
    fork = [(1.16, -1.16), (1.30, -0.70), (1.40, -0.36), (1.55, 0.0)]
    bike.bar([(x + 0.03, y - 0.02) for x, y in fork], [0.06, 0.056, 0.045, 0.034],
             paint * np.float32(0.55))  # fmt: skip
    bike.bar(fork, [0.066, 0.060, 0.048, 0.036], paint, shadow=0.25)
    for hub in (REAR, FRONT):
        bike.bar([hub, (hub[0] + 0.001, hub[1])], [0.055, 0.055], CHROME, gloss=0.9)
    badge = bike.at(
        spline(
            [(1.03, -1.53), (1.10, -1.55), (1.13, -1.47), (1.10, -1.40), (1.05, -1.43)], closed=True
        )
    )
    cushion(bike.stage, [badge], BRASS, round_at=0.02 * bike.size, gloss=0.8, sharp=30,
            lamps=bike.lamps)  # fmt: skip


def _drive(bike: Placed) -> None:
    guard = bike.at(
        spline(
            [
                (-1.74, -0.10),
                (-1.55, -0.20),
                (-0.90, -0.12),
                (-0.30, -0.16),
                (0.04, -0.02),
                (0.12, 0.20),
                (0.02, 0.42),
                (-0.30, 0.55),
                (-0.62, 0.44),
                (-1.10, 0.20),
                (-1.60, 0.13),
                (-1.74, 0.04),
            ],
            closed=True,
        )
    )
    cushion(
        bike.stage,
        [guard],
        CREAM,
        round_at=0.07 * bike.size,
        gloss=0.6,
        sharp=40,
        lamps=bike.lamps,
        cast=(0.35, 0.03 * bike.size, 0.01, 0.02),
    )
    line = bike.at(
        spline([(-1.60, -0.06), (-0.90, -0.02), (-0.34, -0.05), (-0.06, 0.06), (0.0, 0.2)])
    )
    side = np.concatenate([line, (line + np.array([0.0, 0.018 * bike.size]))[::-1]])
    wash(bike.stage, [side], encode(linear(bike.paint) * np.float32(0.8)), 0.9, 0.0006)
    for radius, tone in ((0.20, 0.75), (0.10, 1.0)):
        cushion(
            bike.stage,
            [bike.at(circle(BRACKET, radius))],
            CHROME * np.float32(tone),
            round_at=0.04 * bike.size,
            gloss=0.7,
            sharp=30,
            metal=0.85,
            lamps=bike.lamps,
        )
    angle = bike.crank
    end = (BRACKET[0] + 0.52 * float(np.cos(angle)), BRACKET[1] + 0.52 * float(np.sin(angle)))
    bike.bar([BRACKET, end], [0.052, 0.036], CHROME, shadow=0.35)
    _pedal(bike, end, 1.0)
    bike.bar([end, (end[0] + 0.001, end[1])], [0.034, 0.034], CHROME)
