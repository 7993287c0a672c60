"""The presenter of the lakeside bicycle hire: helmet, visor, scarf, waxed jacket, wheel, bottle.

An invented figure. It holds what makes a key hard: strands of hair in the
wind, knitted wool, spokes that turn while the shutter is open, a tinted bottle
and a tinted visor through which the backing shows.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from keyer.demo import wheel
from keyer.demo.light import encode, linear
from keyer.demo.noise import fractal
from keyer.demo.parts import (
    cast_of,
    cushion,
    knit,
    mixed,
    step,
    strands,
    tube,
    turned,
    wash,
)
from keyer.demo.stage import Stage, spline, taper

Floats = NDArray[np.float32]
Points = NDArray[np.float64]

LOOP = 100
"""Frames after which the movement repeats."""

SKIN = linear("#C68863")
WAX = linear("#5B3A26")
WAX_LIGHT = linear("#7A5236")
CORD = linear("#8A4A22")
WOOL = linear("#B5402A")
CREAM = linear("#E9DDC6")
HAIR = linear("#5E2C16")
LEATHER = linear("#A9713D")
SHELL = linear("#EFE6D6")
BRASS = linear("#C99A4B")


@dataclass(frozen=True)
class Pose:
    """The figure at one moment.

    Attributes
    ----------
    phase : float
        Where in the loop, radians.
    sway, nod : float
        Shift of the body and turn of the head.
    """

    phase: float
    sway: float
    nod: float

    def head(self, points: Points) -> Points:
        """Place points of the head."""
        return turned(points, self.nod, (0.0, 0.36)) + np.array([self.sway * 1.3, 0.0])

    def body(self, points: Points) -> Points:
        """Place points of the body; the hips stay where they are."""
        lift = np.clip((1.05 - points[:, 1]) / 0.65, 0, 1)
        shift = np.stack([self.sway * lift, np.zeros(len(points))], axis=1)
        return points + shift


def pose(frame: float) -> Pose:
    """Return the pose at a frame, repeating after `LOOP` frames."""
    phase = 2 * np.pi * frame / LOOP
    return Pose(phase, 0.006 * np.sin(phase), 0.055 + 0.03 * np.sin(phase + 0.7))


def draw(stage: Stage, frame: float, seed: int) -> None:
    """Lay the presenter on the stage, back to front.

    Parameters
    ----------
    stage : Stage
    frame : float
        Moment in the loop, in frames.
    seed : int
        Of the strands and the grain of the cloth.
    """
    now = pose(frame)
    _hair_behind(stage, now, seed)
    _jacket(stage, now, seed)
    _wheel_arm(stage, now, seed)
    _scarf_tail(stage, now)
    _neck_and_face(stage, now)
    _hair_front(stage, now, seed)
    _scarf_wrap(stage, now)
    _helmet(stage, now)
    _wheel(stage, now, frame)
    _bottle_arm(stage, now, seed)


def _hair_behind(stage: Stage, now: Pose, seed: int) -> None:
    outline = now.head(
        spline(
            [(-0.088, 0.17), (-0.094, 0.25), (-0.092, 0.32), (-0.07, 0.385), (0.0, 0.40),
             (0.075, 0.385), (0.098, 0.32), (0.096, 0.25), (0.088, 0.17), (0.0, 0.13)],
            closed=True,
        )
    )  # fmt: skip
    cushion(stage, [outline], _hair_tone, round_at=0.03, gloss=0.10, sharp=20)
    _flyaway(stage, now, seed, count=110, spread=1.0)


def _hair_tone(x: Floats, y: Floats) -> Floats:
    waves = np.sin(x * 520 + np.sin(y * 31) * 2.2) * np.sin(x * 173 + y * 12)
    return mixed(HAIR * np.float32(0.45), HAIR * np.float32(1.5), 0.5 + 0.5 * waves)


def _flyaway(stage: Stage, now: Pose, seed: int, *, count: int, spread: float) -> None:
    """Single strands blown to the right."""
    random = np.random.default_rng(seed)
    lines: list[Points] = []
    widths: list[Points] = []
    tone = random.random(count)
    for index in range(count):
        start = np.array([random.uniform(0.02, 0.095), random.uniform(0.24, 0.385)])
        length = random.uniform(0.07, 0.24) * spread
        rise = random.uniform(-0.30, 0.28)
        wave = random.uniform(0.004, 0.016)
        beat = now.phase * 2 + random.uniform(0, 6.28)
        t = np.linspace(0, 1, 14)
        x = start[0] + length * (0.10 * t + 0.90 * t**1.3)
        bend = wave * t * np.sin(4.6 * t - beat) + rise * length * t + 0.10 * length * t * t
        lines.append(now.head(np.stack([x, start[1] + bend], axis=1)))
        widths.append(random.uniform(0.0011, 0.0023) * (1 - 0.75 * t**2))
    for group in range(4):
        chosen = [i for i in range(count) if int(tone[i] * 4) == group]
        colour = encode(HAIR * np.float32(0.75 + 0.8 * group))
        strands(stage, [lines[i] for i in chosen], [widths[i] for i in chosen], colour, 0.92)


def _grain(seed: int, cells: float) -> Callable[[Floats, Floats], Floats]:
    """Cloth grain over the places of a window, tied to the picture."""

    def texture(x: Floats, y: Floats) -> Floats:
        shape = (y.shape[0], x.shape[1])
        span = (float(y[-1, 0] - y[0, 0]), float(x[0, -1] - x[0, 0]))
        return fractal(shape, (max(span[0] * cells, 1), max(span[1] * cells, 1)), seed, octaves=4)

    return texture


def _jacket(stage: Stage, now: Pose, seed: int) -> None:
    torso = now.body(
        spline(
            [(-0.10, 0.395), (-0.185, 0.435), (-0.225, 0.52), (-0.205, 0.66), (-0.195, 0.80),
             (-0.215, 1.06), (0.215, 1.06), (0.195, 0.80), (0.205, 0.66), (0.225, 0.52),
             (0.185, 0.435), (0.10, 0.395), (0.0, 0.385)],
            closed=True,
        )
    )  # fmt: skip
    jumper = now.body(
        spline([(-0.08, 0.38), (-0.10, 0.6), (-0.08, 1.06), (0.08, 1.06), (0.10, 0.6), (0.08, 0.38)],
               closed=True)
    )  # fmt: skip

    def cable(x: Floats, y: Floats) -> Floats:
        return np.float32(0.0022) * knit(x - np.float32(now.sway), y, 0.0125)

    cushion(stage, [jumper], CREAM * np.float32(0.8), round_at=0.09, bump=cable, sheen=0.12)
    worn, grain = _grain(seed + 5, 26), _grain(seed + 6, 180)

    def wax(x: Floats, y: Floats) -> Floats:
        share = 0.45 + 0.55 * worn(x, y) + 0.18 * grain(x, y)
        return mixed(WAX, WAX_LIGHT, np.clip(share, 0, 1))

    for way in (-1, 1):
        side = [(way * x, y) for x, y in (
            (0.075, 0.39), (0.10, 0.395), (0.185, 0.432), (0.226, 0.52), (0.207, 0.66),
            (0.197, 0.80), (0.217, 1.06), (0.02, 1.06), (0.028, 0.86), (0.038, 0.66), (0.055, 0.5),
        )]  # fmt: skip
        half = now.body(spline(side, closed=True))

        def folds(x: Floats, y: Floats, way: int = way) -> Floats:
            u, v = x * np.float32(way), y
            drape = np.sin((u * 46 + v * 21) + 1.6 * np.sin(v * 13)) * np.exp(
                -(((v - 0.74) / 0.16) ** 2)
            )
            pull = np.sin((u * 30 - v * 34)) * np.exp(-(((v - 0.5) / 0.10) ** 2))
            return np.asarray(0.0035 * drape + 0.003 * pull + 0.0007 * grain(x, y), np.float32)

        cushion(
            stage, [half], wax, round_at=0.075, bump=folds, gloss=0.16, sharp=9, within=[torso],
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
            ring = np.array([[spot[0] - 1e-4, spot[1]], [spot[0] + 1e-4, spot[1]]]) + [0.018, 0]
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
    cushion(stage, [body], wax, round_at=0.012, bump=folds, gloss=0.16, sharp=9,
            cast=cast_of(0.35, 0.006, 0.002, 0.004))  # fmt: skip
    flap = now.body(
        spline([(way * x, y) for x, y in (
            (0.060, 0.832), (0.120, 0.824), (0.182, 0.820), (0.186, 0.862), (0.124, 0.885),
            (0.060, 0.874))], closed=True, steps=6)
    )  # fmt: skip
    cushion(stage, [flap], wax, round_at=0.008, bump=folds, gloss=0.16, sharp=9,
            cast=cast_of(0.5, 0.006, 0.002, 0.006))  # fmt: skip


def _sleeve(stage: Stage, points: Points, radii: Points, seed: int, bend: float) -> None:
    """A waxed sleeve with creases about the elbow, at `bend` picture heights along it."""
    random = np.random.default_rng(seed)
    phases = random.uniform(0, 6.28, 4)

    def creases(along: Floats, across: Floats) -> Floats:
        near = np.exp(-(((along - np.float32(bend)) / 0.085) ** 2))
        wave = np.sin(along * 150 + across * 38 + phases[0]) + 0.7 * np.sin(
            along * 93 - across * 55 + phases[1]
        )
        slow = np.sin(along * 37 + across * 22 + phases[2])
        return np.asarray(0.0026 * near * wave + 0.0016 * slow, np.float32)

    def wax(along: Floats, across: Floats) -> Floats:
        spots = np.sin(along * 61 + phases[3]) * np.sin(across * 83 + along * 29)
        fine = np.sin(along * 1210 + across * 700) * np.sin(across * 1420 - along * 610)
        share = np.clip(0.42 + 0.32 * spots + 0.10 * fine, 0, 1)
        return mixed(WAX, WAX_LIGHT, share)

    tube(stage, points, radii, wax, bump=creases, gloss=0.16, sharp=9, cast=cast_of(0.5, 0.016))


def _wheel_arm(stage: Stage, now: Pose, seed: int) -> None:
    shoulder = now.body(np.array([[0.168, 0.475]]))[0]
    points = spline(
        [tuple(shoulder), (0.225, 0.60), (0.262, 0.735), (0.318, 0.765), (0.385, 0.705)]
    )
    _sleeve(stage, points, taper([0.064, 0.062, 0.056, 0.049, 0.044], len(points)), seed + 11, 0.27)
    cuff = spline([(0.372, 0.717), (0.392, 0.698)])
    tube(stage, cuff, taper([0.047, 0.046], len(cuff)), CORD, sheen=0.2, cast=cast_of(0.4, 0.006))
    hand = spline([(0.396, 0.697), (0.418, 0.680), (0.432, 0.676)])
    tube(stage, hand, taper([0.034, 0.036, 0.030], len(hand)), LEATHER, gloss=0.12, sharp=10,
         cast=cast_of(0.4, 0.006))  # fmt: skip


def _scarf_tail(stage: Stage, now: Pose) -> None:
    for index, (drop, length, late) in enumerate(((0.02, 0.40, 0.9), (0.0, 0.46, 0.0))):
        t = np.linspace(0, 1, 40)
        flow = 0.030 * t**0.8 * np.sin(5.4 * t - 2 * now.phase + late)
        x = 0.045 + now.sway + length * t
        y = 0.405 + drop + 0.075 * t - 0.085 * t**2 + flow
        radii = 0.030 + 0.006 * t + 0.006 * np.sin(9 * t - 2 * now.phase + index)
        points = np.stack([x, y], axis=1)
        _wool(stage, points, radii, stripe=length - 0.09)
        _fringe(stage, points, radii, now, index)


def _wool(stage: Stage, points: Points, radii: Points, stripe: float | None = None) -> None:
    """A knitted scarf along a curve, with cream stripes from `stripe` on."""

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


def _neck_and_face(stage: Stage, now: Pose) -> None:
    neck = now.body(spline([(0.0, 0.31), (0.0, 0.42)]))
    tube(stage, neck, taper([0.05, 0.055], len(neck)), SKIN * np.float32(0.6))
    face = now.head(
        spline(
            [(-0.077, 0.19), (-0.079, 0.235), (-0.072, 0.283), (-0.052, 0.322), (-0.024, 0.345),
             (0.0, 0.349), (0.024, 0.345), (0.052, 0.322), (0.072, 0.283), (0.079, 0.235),
             (0.077, 0.19), (0.05, 0.14), (-0.05, 0.14)],
            closed=True,
        )
    )  # fmt: skip
    middle = now.head(np.array([[0.0, 0.25]]))[0].astype(np.float32)
    tilt = np.float32(now.nod)

    def relief(x: Floats, y: Floats) -> Floats:
        u = (x - middle[0]) * np.cos(tilt) + (y - middle[1]) * np.sin(tilt)
        v = (y - middle[1]) * np.cos(tilt) - (x - middle[0]) * np.sin(tilt)

        def bulge(cx: float, cy: float, rx: float, ry: float) -> Floats:
            return np.exp(-(((u - cx) / rx) ** 2) - ((v - cy) / ry) ** 2)

        ridge = np.exp(-((u / 0.011) ** 2)) * (1 - step(0.030, 0.022, v)) * step(-0.045, 0.05, v)
        nose = 0.013 * ridge + 0.013 * bulge(0, 0.020, 0.016, 0.014)
        wings = 0.006 * (bulge(-0.015, 0.026, 0.009, 0.009) + bulge(0.015, 0.026, 0.009, 0.009))
        cheeks = 0.011 * (bulge(-0.044, 0.028, 0.026, 0.024) + bulge(0.044, 0.028, 0.026, 0.024))
        chin = 0.010 * bulge(0, 0.082, 0.020, 0.016) - 0.006 * bulge(0, 0.066, 0.03, 0.007)
        sockets = -0.012 * (
            bulge(-0.034, -0.028, 0.024, 0.015) + bulge(0.034, -0.028, 0.024, 0.015)
        )
        lips = 0.005 * bulge(0, 0.053, 0.026, 0.007)
        return np.asarray(nose + wings + cheeks + chin + sockets + lips, np.float32)

    def skin(x: Floats, y: Floats) -> Floats:
        u, v = x - middle[0], y - middle[1]
        warm = np.exp(-(((np.abs(u) - 0.046) / 0.024) ** 2) - ((v - 0.03) / 0.024) ** 2)
        warm = warm + 0.6 * np.exp(-((u / 0.016) ** 2) - ((v - 0.02) / 0.018) ** 2)
        return mixed(SKIN, linear("#C4644A"), np.clip(0.55 * warm, 0, 1))

    cushion(stage, [face], skin, round_at=0.062, soften=0.25, bump=relief, gloss=0.10, sharp=14,
            cast=cast_of(0.55, 0.02, 0.004, 0.02))  # fmt: skip
    _features(stage, now)


def _features(stage: Stage, now: Pose) -> None:
    def put(points: list[tuple[float, float]], *, closed: bool = True) -> Points:
        return now.head(spline(points, closed=closed))

    for way in (-1, 1):
        brow = put(
            [(way * 0.017, 0.2035), (way * 0.036, 0.196), (way * 0.056, 0.205)], closed=False
        )
        wash_line(stage, brow, taper([0.003, 0.0042, 0.0015], len(brow)), encode(HAIR * 0.8), 0.9)
        eye = put([(way * 0.020, 0.227), (way * 0.034, 0.217), (way * 0.050, 0.226),
                   (way * 0.035, 0.233)])  # fmt: skip
        wash(stage, [eye], encode(linear("#E8DDD0") * 0.8), 1.0, 0.0008)
        iris = now.head(circle((way * 0.0345, 0.2252), 0.0075))
        wash(stage, [iris], encode(linear("#3A2114")), 1.0, 0.0008)
        spark = now.head(circle((way * 0.0345 - 0.0025, 0.2225), 0.0017))
        wash(stage, [spark], np.array([1, 0.97, 0.92], np.float32), 0.9, 0.0004)
        lid = put(
            [(way * 0.019, 0.2275), (way * 0.034, 0.2155), (way * 0.052, 0.226)], closed=False
        )
        wash_line(stage, lid, taper([0.0012, 0.003, 0.0016], len(lid)), encode(HAIR * 0.25), 0.95)
        hole = put([(way * 0.006, 0.2795), (way * 0.011, 0.277), (way * 0.014, 0.2795),
                    (way * 0.010, 0.2815)])  # fmt: skip
        wash(stage, [hole], encode(SKIN * 0.12), 0.75, 0.0012)
    upper = put([(-0.028, 0.2985), (-0.010, 0.2985), (0.0, 0.3), (0.010, 0.2985), (0.028, 0.2985),
                 (0.012, 0.3065), (0.0, 0.308), (-0.012, 0.3065)])  # fmt: skip
    lower = put([(-0.027, 0.2995), (-0.012, 0.3075), (0.0, 0.3085), (0.012, 0.3075),
                 (0.027, 0.2995), (0.013, 0.3165), (0.0, 0.319), (-0.013, 0.3165)])  # fmt: skip
    teeth = put([(-0.022, 0.3015), (0.0, 0.3045), (0.022, 0.3015), (0.012, 0.309), (0.0, 0.3105),
                 (-0.012, 0.309)])  # fmt: skip
    wash(stage, [upper], encode(linear("#9C4636")), 0.85, 0.0012)
    wash(stage, [lower], encode(linear("#B85A48")), 0.85, 0.0014)
    wash(stage, [teeth], encode(linear("#F0E6DA") * 0.9), 0.95, 0.0008)
    corner = put([(-0.031, 0.2965), (-0.026, 0.3005)], closed=False)
    wash_line(stage, corner, taper([0.0014], len(corner)), encode(SKIN * 0.2), 0.6)


def wash_line(stage: Stage, line: Points, widths: Points, colour: Floats, opacity: float) -> None:
    """Tint along a line of changing half-width."""
    way = np.gradient(line, axis=0)
    side = np.stack([-way[:, 1], way[:, 0]], axis=1) / np.hypot(way[:, 0], way[:, 1])[:, None]
    outline = np.concatenate([line + side * widths[:, None], (line - side * widths[:, None])[::-1]])
    wash(stage, [outline], np.asarray(colour, np.float32), opacity, 0.0006)


def circle(centre: tuple[float, float], radius: float, squeeze: float = 1.0) -> Points:
    """Outline of an ellipse."""
    angle = np.linspace(0, 2 * np.pi, 48, endpoint=False)
    return np.stack(
        [centre[0] + radius * squeeze * np.cos(angle), centre[1] + radius * np.sin(angle)], axis=1
    )


def _hair_front(stage: Stage, now: Pose, seed: int) -> None:
    for way in (-1, 1):
        lock = now.head(
            spline([(way * x, y) for x, y in (
                (0.070, 0.15), (0.088, 0.20), (0.096, 0.27), (0.094, 0.34), (0.080, 0.385),
                (0.066, 0.375), (0.074, 0.32), (0.078, 0.26), (0.074, 0.20))], closed=True)
        )  # fmt: skip
        cushion(stage, [lock], _hair_tone, round_at=0.014, gloss=0.22, sharp=18,
                cast=cast_of(0.4, 0.008))  # fmt: skip
    _flyaway(stage, now, seed + 1, count=36, spread=0.7)


def _scarf_wrap(stage: Stage, now: Pose) -> None:
    for y, bow, radius in ((0.412, 0.035, 0.030), (0.378, 0.030, 0.028)):
        loop = now.body(
            spline([(-0.088, y - 0.012), (-0.06, y + bow * 0.5), (0.0, y + bow), (0.06, y + bow * 0.5),
                    (0.088, y - 0.012)])
        )  # fmt: skip
        _wool(
            stage,
            loop,
            taper([radius * 0.8, radius, radius * 1.05, radius, radius * 0.8], len(loop)),
        )
    knot = now.body(spline([(0.052, 0.395), (0.07, 0.415), (0.075, 0.44)]))
    _wool(stage, knot, taper([0.026, 0.034, 0.028], len(knot)))


def _helmet(stage: Stage, now: Pose) -> None:
    for way in (-1, 1):
        strap = now.head(
            spline([(way * 0.092, 0.20), (way * 0.080, 0.28), (way * 0.05, 0.335), (0.0, 0.362)])
        )
        tube(stage, strap, taper([0.0048], len(strap)), linear("#2B2420"), gloss=0.1, sharp=10,
             flat=0.5, cast=cast_of(0.4, 0.005))  # fmt: skip
    dome = now.head(
        spline(
            [(-0.106, 0.196), (-0.110, 0.150), (-0.090, 0.098), (-0.048, 0.064), (0.0, 0.054),
             (0.048, 0.064), (0.090, 0.098), (0.110, 0.150), (0.106, 0.196), (0.055, 0.187),
             (0.0, 0.184), (-0.055, 0.187)],
            closed=True,
        )
    )  # fmt: skip
    cushion(stage, [dome], SHELL, round_at=0.085, soften=0.2, gloss=0.55, sharp=40,
            cast=cast_of(0.6, 0.012, 0.0, 0.014))  # fmt: skip
    stripe = now.head(
        spline([(-0.016, 0.185), (-0.017, 0.12), (-0.013, 0.07), (0.0, 0.0545), (0.013, 0.07),
                (0.017, 0.12), (0.016, 0.185)], closed=True)
    )  # fmt: skip
    wash(stage, [stripe], encode(WOOL * np.float32(1.3)), 0.92, 0.0006)
    for x, top, bottom, lean in ((-0.070, 0.108, 0.160, -0.012), (-0.038, 0.085, 0.158, -0.006),
                                 (0.038, 0.085, 0.158, 0.006), (0.070, 0.108, 0.160, 0.012)):  # fmt: skip
        slot = now.head(spline([(x, top), (x + lean, bottom)], steps=4))
        tube(stage, slot, taper([0.0075, 0.0095], len(slot)), linear("#1E1814"), gloss=0.0)
        edge = slot + np.array([0.0075, 0.0])
        wash_line(stage, edge, taper([0.0012, 0.0014], len(edge)), np.array([1, 0.98, 0.95]), 0.5)
    brim = now.head(
        spline([(-0.106, 0.195), (-0.055, 0.187), (0.0, 0.184), (0.055, 0.187), (0.106, 0.195)])
    )
    tube(stage, brim, taper([0.0055], len(brim)), linear("#3A2A20"), gloss=0.3, sharp=16)
    _visor(stage, now)


def _visor(stage: Stage, now: Pose) -> None:
    glass = now.head(
        spline(
            [(-0.104, 0.197), (-0.05, 0.189), (0.0, 0.186), (0.05, 0.189), (0.104, 0.197),
             (0.108, 0.228), (0.088, 0.254), (0.045, 0.258), (0.014, 0.247), (0.0, 0.243),
             (-0.014, 0.247), (-0.045, 0.258), (-0.088, 0.254), (-0.108, 0.228)],
            closed=True,
        )
    )  # fmt: skip
    cushion(stage, [glass], linear("#B3541A"), round_at=0.03, opacity=0.50, gloss=0.5, sharp=40)
    sweep = now.head(
        spline([(-0.085, 0.203), (-0.052, 0.197), (-0.066, 0.246), (-0.086, 0.246)], closed=True)
    )
    wash(stage, [sweep], np.array([1.0, 0.93, 0.84], np.float32), 0.30, 0.003)
    second = now.head(
        spline([(-0.044, 0.197), (-0.036, 0.196), (-0.050, 0.250), (-0.057, 0.249)], closed=True)
    )
    wash(stage, [second], np.array([1.0, 0.93, 0.84], np.float32), 0.22, 0.002)


def _wheel(stage: Stage, now: Pose, frame: float) -> None:
    turn = 2 * np.pi * frame / LOOP
    shown = wheel.Wheel(
        centre=(0.452, 0.672 + 0.004 * float(np.sin(now.phase))),
        radius=0.275,
        squeeze=0.86,
        lean=-0.14,
        turn=turn,
        blur=0.035,
        spokes=16,
    )
    wheel.draw(stage, shown, shadow=0.35)


def _bottle_arm(stage: Stage, now: Pose, seed: int) -> None:
    wave = 0.10 * np.sin(now.phase * 2)
    shoulder = now.body(np.array([[-0.168, 0.478]]))[0]
    elbow = np.array([-0.300, 0.735])
    wrist = turned(np.array([[-0.372, 0.545]]), wave, (elbow[0], elbow[1]))[0]
    upper = elbow * 0.5 + shoulder * 0.5 + np.array([-0.014, -0.004])
    lower = elbow * 0.45 + wrist * 0.55 + np.array([-0.012, 0.004])
    knots = [tuple(shoulder), tuple(upper), tuple(elbow), tuple(lower), tuple(wrist)]
    points = spline(knots)
    _sleeve(
        stage, points, taper([0.064, 0.063, 0.060, 0.052, 0.045], len(points)), seed + 12, 0.285
    )

    def hold(points: Points) -> Points:
        return turned(points, wave * 1.4, (-0.372, 0.545)) + (wrist - np.array([-0.372, 0.545]))

    cuff = hold(spline([(-0.366, 0.560), (-0.374, 0.536)]))
    tube(stage, cuff, taper([0.048, 0.047], len(cuff)), CORD, sheen=0.2, cast=cast_of(0.4, 0.006))
    palm = hold(spline([(-0.376, 0.528), (-0.383, 0.490), (-0.388, 0.462)]))
    tube(stage, palm, taper([0.036, 0.041, 0.034], len(palm)), LEATHER, gloss=0.12, sharp=10,
         cast=cast_of(0.3, 0.006))  # fmt: skip
    _bottle(stage, hold)
    for index, y in enumerate((0.432, 0.455, 0.478, 0.500)):
        reach = 0.046 - 0.003 * index
        finger = hold(
            spline([(-0.352, y + 0.008), (-0.375, y - 0.002), (-0.388 - reach * 0.5, y),
                    (-0.388 - reach * 0.75, y + 0.006)])
        )  # fmt: skip
        tube(stage, finger, taper([0.0125, 0.0130, 0.0125, 0.0105], len(finger)), LEATHER,
             gloss=0.14, sharp=10, cast=cast_of(0.5, 0.005, 0.002, 0.006))  # fmt: skip
    thumb = hold(spline([(-0.352, 0.505), (-0.345, 0.470), (-0.352, 0.440)]))
    tube(stage, thumb, taper([0.016, 0.0145, 0.0115], len(thumb)), LEATHER, gloss=0.14, sharp=10,
         cast=cast_of(0.5, 0.005))  # fmt: skip


def _bottle(stage: Stage, hold: Callable[[Points], Points]) -> None:
    """Tinted plastic: thin in the middle, denser where the wall is seen edge on."""
    body = hold(
        spline(
            [(-0.436, 0.548), (-0.441, 0.50), (-0.438, 0.44), (-0.441, 0.39), (-0.436, 0.345),
             (-0.416, 0.318), (-0.360, 0.318), (-0.340, 0.345), (-0.335, 0.39), (-0.338, 0.44),
             (-0.335, 0.50), (-0.340, 0.548), (-0.388, 0.556)],
            closed=True,
        )
    )  # fmt: skip
    amber = linear("#B2421C")
    cushion(stage, [body], amber, round_at=0.04, opacity=0.42, gloss=0.6, sharp=26)
    wall = hold(
        spline([(-0.437, 0.54), (-0.439, 0.44), (-0.439, 0.39), (-0.434, 0.345), (-0.414, 0.320)])
    )
    for line in (wall, wall * np.array([1.0, 1.0])):
        strands(stage, [line], [np.full(len(line), 0.004)], encode(amber * np.float32(0.6)), 0.5)
    cap = hold(
        spline(
            [(-0.420, 0.322), (-0.422, 0.296), (-0.354, 0.296), (-0.356, 0.322)],
            closed=True,
            steps=3,
        )
    )
    cushion(stage, [cap], linear("#2A221E"), round_at=0.02, gloss=0.35, sharp=20)
    spout = hold(spline([(-0.388, 0.296), (-0.388, 0.268)]))
    tube(stage, spout, taper([0.016, 0.013], len(spout)), CREAM, gloss=0.4, sharp=24)
    glint = hold(
        spline([(-0.424, 0.36), (-0.418, 0.352), (-0.420, 0.43), (-0.426, 0.43)], closed=True)
    )
    wash(stage, [glint], np.array([1.0, 0.95, 0.88], np.float32), 0.75, 0.0015, on_subject=False)
