"""A step-through hire bicycle from the side: thin tubes, spokes, wicker, a glass bell.

Drawn in its own measure, the radius of a wheel being 1, the middle between the
hubs the origin; `Placed` takes it to the stage.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from keyer.demo import wheel
from keyer.demo.light import STUDIO, Lamps, encode, linear
from keyer.demo.parts import Cast, cushion, strands, tube, wash
from keyer.demo.stage import Stage, spline, taper

Floats = NDArray[np.float32]
Points = NDArray[np.float64]

REAR, FRONT = (-1.55, 0.0), (1.55, 0.0)
BRACKET = (-0.30, 0.20)
"""Where the cranks turn."""

CREAM = linear("#EADFC8")
CHROME = linear("#C9C6C0")
LEATHER = linear("#8A5230")
WICKER = linear("#B98A4E")
DARK = linear("#2A2624")
BRASS = linear("#C9A24E")


@dataclass(frozen=True)
class Placed:
    """A bicycle on a stage.

    Attributes
    ----------
    stage : Stage
    origin : x, y in picture heights of the middle between the hubs
    size : float
        Radius of a wheel, picture heights.
    paint : coded colour of the frame
    turn, blur : float
        Angle of the wheels, and the angle turned while the shutter is open, radians.
    crank : float
        Angle of the cranks, radians.
    lamps : Lamps
    """

    stage: Stage
    origin: tuple[float, float]
    size: float
    paint: str = "#C23A2C"
    turn: float = 0.0
    blur: float = 0.0
    crank: float = 0.5
    lamps: Lamps = STUDIO

    def at(self, knots: Sequence[tuple[float, float]] | Points) -> Points:
        """Take places of the bicycle to the stage."""
        return np.asarray(knots, np.float64) * self.size + np.array(self.origin)

    def bar(
        self,
        knots: Sequence[tuple[float, float]],
        radii: Sequence[float],
        albedo: Floats,
        *,
        gloss: float | None = None,
        sharp: float = 46.0,
        bump: Callable[[Floats, Floats], Floats] | None = None,
        shadow: float = 0.0,
        sheen: float = 0.0,
    ) -> None:
        """Lay a tube along a smooth curve: chrome where it is grey, varnished elsewhere."""
        metal = 0.85 if np.ptp(albedo) < 0.12 and albedo.max() > 0.05 else 0.0
        curve = self.at(spline(knots, steps=8) if len(knots) > 2 else knots)
        size = self.size
        cast: Cast | None = (shadow, 0.03 * size, 0.02 * size, 0.04 * size) if shadow else None
        tube(
            self.stage, curve, taper(radii, len(curve)) * size, albedo,
            gloss=0.6 if gloss is None else gloss, sharp=sharp, bump=bump, cast=cast, sheen=sheen,
            metal=metal, coat=1.0 if gloss is None else 0.0, lamps=self.lamps,
        )  # fmt: skip

    def daylight(self) -> Floats:
        """Return the lamps' light on things without a surface of their own; 1 in the studio."""
        here, usual = (
            np.array(lamps.above, np.float32) + np.float32(0.5) * np.array(lamps.key_colour, np.float32)
            for lamps in (self.lamps, STUDIO)
        )
        return np.asarray(here / usual, np.float32)

    def wires(
        self, lines: Sequence[Points], width: float, colour: Floats, opacity: float = 1.0
    ) -> None:
        """Lay thin wires of one linear colour."""
        placed = [self.at(line) for line in lines]
        widths = [np.full(len(line), width * self.size) for line in placed]
        strands(self.stage, placed, widths, encode(colour * self.daylight()), opacity)


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
    _saddle(bike)
    _steering(bike)
    _basket(bike)


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
    cushion(bike.stage, [bike.at(ring), bike.at(circle(REAR, 0.07))], CHROME * np.float32(0.45),
            round_at=0.03 * bike.size, gloss=0.5, sharp=30, metal=0.85, lamps=bike.lamps)  # fmt: skip


def circle(centre: tuple[float, float], radius: float, count: int = 56) -> Points:
    """Points of a circle."""
    angle = np.linspace(0, 2 * np.pi, count, endpoint=False)
    return np.stack([centre[0] + radius * np.cos(angle), centre[1] + radius * np.sin(angle)], axis=1)


def _arc(
    centre: tuple[float, float], radius: float, start: float, end: float, count: int = 40
) -> list[tuple[float, float]]:
    """Points of an arc, degrees counted clockwise on screen from the right."""
    angle = np.radians(np.linspace(start, end, count))
    return [(centre[0] + radius * float(np.cos(a)), centre[1] + radius * float(np.sin(a))) for a in angle]


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
        bike.bar([(BRACKET[0], BRACKET[1] - shift), (REAR[0], REAR[1] - shift)], [0.05, 0.038], tone,
                 shadow=0.2)  # fmt: skip
    for shift, tone in ((0.0, 0.92), (0.20, 1.0)):
        curve = [(head_low[0] - 0.02 - 0.05 * shift, head_low[1] - 0.24 + shift * 0.9),
                 (0.76, -1.03 + shift), (0.38, -0.62 + shift), (0.02, -0.27 + 0.9 * shift),
                 (BRACKET[0] - 0.05, BRACKET[1] - 0.20 + shift * 0.7)]  # fmt: skip
        bike.bar(curve, [0.066, 0.07, 0.072, 0.07, 0.066], paint * np.float32(tone), shadow=0.25)
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
    badge = bike.at(spline([(1.03, -1.53), (1.10, -1.55), (1.13, -1.47), (1.10, -1.40), (1.05, -1.43)],
                           closed=True))  # fmt: skip
    cushion(bike.stage, [badge], BRASS, round_at=0.02 * bike.size, gloss=0.8, sharp=30,
            lamps=bike.lamps)  # fmt: skip


def _drive(bike: Placed) -> None:
    guard = bike.at(
        spline([(-1.74, -0.10), (-1.55, -0.20), (-0.90, -0.12), (-0.30, -0.16), (0.04, -0.02), (0.12, 0.20),
                (0.02, 0.42), (-0.30, 0.55), (-0.62, 0.44), (-1.10, 0.20), (-1.60, 0.13), (-1.74, 0.04)],
               closed=True)
    )  # fmt: skip
    cushion(bike.stage, [guard], CREAM, round_at=0.07 * bike.size, gloss=0.6, sharp=40,
            lamps=bike.lamps, cast=(0.35, 0.03 * bike.size, 0.01, 0.02))  # fmt: skip
    line = bike.at(spline([(-1.60, -0.06), (-0.90, -0.02), (-0.34, -0.05), (-0.06, 0.06), (0.0, 0.2)]))
    side = np.concatenate([line, (line + np.array([0.0, 0.018 * bike.size]))[::-1]])
    wash(bike.stage, [side], encode(linear(bike.paint) * np.float32(0.8)), 0.9, 0.0006)
    for radius, tone in ((0.20, 0.75), (0.10, 1.0)):
        cushion(bike.stage, [bike.at(circle(BRACKET, radius))], CHROME * np.float32(tone),
                round_at=0.04 * bike.size, gloss=0.7, sharp=30, metal=0.85, lamps=bike.lamps)  # fmt: skip
    angle = bike.crank
    end = (BRACKET[0] + 0.52 * float(np.cos(angle)), BRACKET[1] + 0.52 * float(np.sin(angle)))
    bike.bar([BRACKET, end], [0.052, 0.036], CHROME, shadow=0.35)
    _pedal(bike, end, 1.0)
    bike.bar([end, (end[0] + 0.001, end[1])], [0.034, 0.034], CHROME)


def _saddle(bike: Placed) -> None:
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


def _steering(bike: Placed) -> None:
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
        return scale * np.sin(along / np.float32(bike.size) * 150)

    bike.bar(grip, [0.056, 0.060, 0.062], LEATHER, gloss=0.2, sharp=12, bump=ribs, shadow=0.2)
    lever = [(0.90, -2.27), (0.76, -2.18), (0.60, -2.10)]
    bike.bar(lever, [0.02, 0.02, 0.014], CHROME)
    cable = spline([(0.90, -2.28), (1.08, -2.42), (1.20, -2.24), (1.20, -1.80), (1.17, -1.30)], steps=12)
    bike.wires([cable], 0.020, DARK)
    _headlamp(bike)
    _bell(bike)


def _headlamp(bike: Placed) -> None:
    shell = bike.at(spline([(1.20, -1.40), (1.28, -1.49), (1.44, -1.52), (1.47, -1.40), (1.44, -1.28),
                            (1.28, -1.31)], closed=True))  # fmt: skip
    cushion(bike.stage, [shell], CHROME, round_at=0.1 * bike.size, gloss=1.0, sharp=30, metal=0.85,
            lamps=bike.lamps)  # fmt: skip
    lens = bike.at(spline([(1.44, -1.53), (1.505, -1.47), (1.515, -1.40), (1.505, -1.33), (1.44, -1.27)],
                          closed=True))  # fmt: skip
    cushion(bike.stage, [lens], linear("#E8E2D4"), round_at=0.05 * bike.size, gloss=0.8, sharp=50,
            opacity=0.45, lamps=bike.lamps)  # fmt: skip


def _bell(bike: Placed) -> None:
    """A bell of clear glass on a brass foot: thin in the middle, denser towards its rim."""
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
    wash(stage, [shine], np.minimum(glass * np.float32(1.07), 1), 0.85, 0.006 * size, on_subject=False)
    bike.bar([(0.855, -2.605), (0.855, -2.625)], [0.026, 0.02], BRASS)


def _basket(bike: Placed) -> None:
    """Wicker: uprights and rows of weave with holes between them."""
    top, low = -2.02, -1.56
    uprights = []
    for index in range(15):
        share = index / 14
        x_top, x_low = 1.24 + share * 0.92, 1.34 + share * 0.66
        uprights.append(np.array([(x_top, top), (0.5 * (x_top + x_low), (top + low) / 2), (x_low, low)]))
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

    bike.bar([(1.22, top - 0.01), (1.70, top + 0.015), (2.18, top - 0.01)], [0.045, 0.045, 0.045], WICKER,
             gloss=0.15, sharp=10, bump=twist, shadow=0.4)  # fmt: skip
    bike.bar([(1.33, low + 0.01), (1.67, low + 0.035), (2.01, low + 0.01)], [0.042, 0.042, 0.042], WICKER,
             gloss=0.15, sharp=10, bump=twist, shadow=0.3)  # fmt: skip
    for x in (1.40, 1.90):
        strap = [(x, top - 0.03), (x + 0.005, top + 0.10), (x + 0.01, top + 0.20)]
        bike.bar(strap, [0.028, 0.028, 0.028], LEATHER, gloss=0.2, sharp=12, shadow=0.3)
    bike.bar([(1.16, -1.80), (1.28, -1.76)], [0.03, 0.03], CHROME)
