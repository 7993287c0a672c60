"""The presenter's head: hair in the wind, face, helmet and a tinted visor."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from examples.drawing.figure import (
    HAIR,
    SHELL,
    SKIN,
    WOOL,
    Pose,
)
from examples.drawing.light import encode, linear
from examples.drawing.parts import (
    cast_of,
    circle,
    cushion,
    mixed,
    step,
    strands,
    tube,
    wash,
    wash_line,
)
from examples.drawing.stage import Stage, spline, taper

Floats = NDArray[np.float32]
Points = NDArray[np.float64]


def _hair_tone(x: Floats, y: Floats) -> Floats:
    waves = np.sin(x * 520 + np.sin(y * 31) * 2.2) * np.sin(x * 173 + y * 12)
    return mixed(HAIR * np.float32(0.45), HAIR * np.float32(1.5), 0.5 + 0.5 * waves)


def hair_behind(stage: Stage, now: Pose, seed: int) -> None:
    """Lay the hair behind the head, with wisps and strands in the wind."""
    outline = now.head(
        spline(
            [(-0.088, 0.17), (-0.094, 0.25), (-0.092, 0.32), (-0.07, 0.385), (0.0, 0.40),
             (0.075, 0.385), (0.098, 0.32), (0.096, 0.25), (0.088, 0.17), (0.0, 0.13)],
            closed=True,
        )
    )  # fmt: skip
    cushion(stage, [outline], _hair_tone, round_at=0.03, gloss=0.10, sharp=20)
    _flyaway(stage, now, seed, wisps=8, loose=26, front=False)


def hair_front(stage: Stage, now: Pose, seed: int) -> None:
    """Lay the locks on both sides of the face."""
    for way in (-1, 1):
        lock = now.head(
            spline([(way * x, y) for x, y in (
                (0.070, 0.15), (0.088, 0.20), (0.095, 0.26), (0.092, 0.315), (0.084, 0.352),
                (0.077, 0.345), (0.077, 0.31), (0.078, 0.26), (0.073, 0.20))], closed=True)
        )  # fmt: skip
        cushion(stage, [lock], _hair_tone, round_at=0.014, gloss=0.22, sharp=18,
                cast=cast_of(0.4, 0.008))  # fmt: skip
    _flyaway(stage, now, seed + 1, wisps=1, loose=6, front=True)


def _flyaway(stage: Stage, now: Pose, seed: int, *, wisps: int, loose: int, front: bool) -> None:
    """Wisps of hair, each thinning out to its tip, and single strands, blown to the right."""
    random = np.random.default_rng(seed)
    drawn: list[list[tuple[Points, Points]]] = [[], [], [], []]
    t = np.linspace(0, 1, 18)
    for index in range(wisps + loose):
        single = index >= wisps
        # In front they come out from under the lock beside the face, behind from anywhere.
        low = 0.325 if front else 0.395
        foot = np.array([random.uniform(0.070, 0.088), random.uniform(0.235, low)])
        foot[0] += 0.024 if front else 0.0
        length = random.uniform(0.10, 0.27) * (0.75 if single else 1.0)
        rise, wave = random.uniform(-0.22, 0.20), random.uniform(0.007, 0.020)
        beat, pitch = now.phase * 2 + random.uniform(0, 6.28), random.uniform(3.4, 5.2)
        for _ in range(1 if single else int(random.integers(12, 22))):
            apart = random.normal(0, 1)
            own = length * random.uniform(0.72, 1.05)
            x = foot[0] - 0.02 + own * (0.15 * t + 0.85 * t**1.2)
            middle = rise * own * t + wave * t * np.sin(pitch * t - beat) + 0.16 * own * t * t
            fan = apart * (0.0085 * (1 - t) + 0.006 * t + 0.010 * t * t * random.uniform(-0.4, 1))
            line = now.head(np.stack([x, foot[1] + middle + fan], axis=1))
            width = random.uniform(0.0012, 0.0024) * (1 - 0.75 * t**2)
            drawn[int(random.integers(4))].append((line, width))
    for group, members in enumerate(drawn):
        colour = encode(HAIR * np.float32(0.6 + 0.75 * group))
        strands(stage, [line for line, _ in members], [width for _, width in members], colour, 0.94)


def neck_of(stage: Stage, now: Pose) -> None:
    """Lay the neck."""
    neck = now.body(spline([(0.0, 0.31), (0.0, 0.42)]))
    tube(stage, neck, taper([0.05, 0.055], len(neck)), SKIN * np.float32(0.6))


def face_of(stage: Stage, now: Pose) -> None:
    """Lay the face."""
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
            return np.asarray(np.exp(-(((u - cx) / rx) ** 2) - ((v - cy) / ry) ** 2), np.float32)

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
            [(way * 0.016, 0.2045), (way * 0.037, 0.1970), (way * 0.057, 0.2050)], closed=False
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
    for way in (-1, 1):
        corner = put([(way * 0.0315, 0.2960), (way * 0.0265, 0.3000)], closed=False)
        wash_line(stage, corner, taper([0.0006, 0.0014], len(corner)), encode(SKIN * 0.25), 0.5)


def helmet(stage: Stage, now: Pose) -> None:
    """Lay the helmet with its straps and the visor, see-through beside the face."""
    for way in (-1, 1):
        strap = now.head(
            spline([(way * 0.092, 0.20), (way * 0.080, 0.28), (way * 0.05, 0.335), (0.0, 0.362)])
        )
        tube(stage, strap, taper([0.0038], len(strap)), linear("#2B2420"), gloss=0.1, sharp=10,
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
    for x, top, bottom, lean in (
        (-0.070, 0.108, 0.160, -0.012),
        (-0.038, 0.085, 0.158, -0.006),
        (0.038, 0.085, 0.158, 0.006),
        (0.070, 0.108, 0.160, 0.012),
    ):
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
    rim = np.concatenate([glass, glass[:1]])
    strands(stage, [rim], [np.full(len(rim), 0.0030)], encode(linear("#8A3A12")), 0.55)
    sweep = now.head(
        spline([(-0.085, 0.203), (-0.052, 0.197), (-0.066, 0.246), (-0.086, 0.246)], closed=True)
    )
    wash(stage, [sweep], np.array([1.0, 0.93, 0.84], np.float32), 0.30, 0.003)
    second = now.head(
        spline([(-0.044, 0.197), (-0.036, 0.196), (-0.050, 0.250), (-0.057, 0.249)], closed=True)
    )
    wash(stage, [second], np.array([1.0, 0.93, 0.84], np.float32), 0.22, 0.002)
