"""The presenter's arms: waxed sleeves, corded cuffs, leather gloves."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from examples.drawing import tiles
from examples.drawing.figure import (
    CORD,
    LEATHER,
    WAX,
    WAX_LIGHT,
    Pose,
)
from examples.drawing.parts import (
    cast_of,
    mixed,
    tube,
    turned,
)
from examples.drawing.stage import Stage, spline, taper

Floats = NDArray[np.float32]
Points = NDArray[np.float64]


@dataclass(frozen=True)
class Arm:
    """An arm in its sleeve.

    Attributes
    ----------
    upper, lower : (N, 2) float64
        Shoulder to elbow, elbow to cuff.
    hold : function
        Places what the hand holds, drawn for the hand at rest.
    fist : bool
        Whether the hand closes about something in front of it.
    """

    upper: Points
    lower: Points
    hold: Callable[[Points], Points]
    fist: bool


def _waxed(seed: int, tall: float) -> tuple[Callable[[Floats, Floats], Floats], ...]:
    """Colour and relief of waxed cloth along a sleeve, creased towards the elbow at `tall`."""

    def wax(along: Floats, across: Floats) -> Floats:
        worn = tiles.sample(tiles.tile(85, 1.7, 2), along * 210 + seed * 37, across * 210)
        grain = tiles.sample(tiles.tile(86, 0.8, 8), along * 1900, across * 1900)
        return mixed(WAX, WAX_LIGHT, np.clip(0.42 + 0.24 * worn + 0.06 * grain, 0, 1))

    def relief(along: Floats, across: Floats) -> Floats:
        near = np.float32(0.35) + np.exp(-(((along - np.float32(tall)) / 0.075) ** 2))
        source = tiles.tile(87, 1.7, 4, 40)
        crease = tiles.sample(source, along * 520 + across * 150 + seed * 53, across * 190)
        grain = tiles.sample(tiles.tile(86, 0.8, 8), along * 1900, across * 1900)
        return np.asarray(0.0019 * near * crease + 0.00018 * grain, np.float32)

    return wax, relief


def sleeve(
    stage: Stage, points: Points, radii: tuple[float, ...], seed: int, *, lower: bool = False
) -> None:
    """Lay a waxed sleeve from the shoulder to the elbow, or from there to the cuff."""
    length = float(np.hypot(*np.diff(points, axis=0).T).sum())
    wax, relief = _waxed(seed, 0.0 if lower else length)
    tube(stage, points, taper(radii, len(points)), wax, bump=relief, gloss=0.09, sharp=10,
         cut="end" if lower else "", cast=cast_of(0.5, 0.016))  # fmt: skip


def forearm(stage: Stage, arm: Arm, seed: int) -> None:
    """Lay the lower half of an arm: hand, sleeve and cuff."""
    end, before = arm.lower[-1], arm.lower[-3]
    way = (end - before) / np.hypot(*(end - before))
    if arm.fist:
        palm_of(stage, arm.hold)
    else:
        hand = np.array([end - way * 0.01, end + way * 0.028, end + way * 0.052])
        tube(stage, hand, taper([0.034, 0.038, 0.030], 3), LEATHER, gloss=0.12, sharp=10)
    cuff = np.array([end - way * 0.020, end + way * 0.016])
    sleeve(stage, arm.lower, (0.062, 0.057, 0.051, 0.047), seed, lower=True)

    def cord(along: Floats, across: Floats) -> Floats:
        del along
        return np.asarray(np.float32(0.0006) * np.sin(across * 900), np.float32)

    tube(stage, cuff, np.array([0.0485, 0.0475]), CORD, bump=cord, sheen=0.2, cut="both",
         cast=cast_of(0.25, 0.006))  # fmt: skip


def palm_of(stage: Stage, hold: Callable[[Points], Points]) -> None:
    """Lay the palm behind what the hand holds."""
    palm = hold(spline([(-0.366, 0.540), (-0.380, 0.490), (-0.388, 0.462)]))
    tube(stage, palm, taper([0.034, 0.040, 0.034], len(palm)), LEATHER, gloss=0.12, sharp=10,
         cast=cast_of(0.3, 0.006))  # fmt: skip


def soft_leather(along: Floats, across: Floats) -> Floats:
    """Colour the gloves, along and across a finger: soft leather, worn in patches."""
    worn = tiles.sample(tiles.tile(88, 1.3, 3), along * 900, across * 900)
    return mixed(
        LEATHER * np.float32(0.75), LEATHER * np.float32(1.2), np.clip(0.5 + 0.25 * worn, 0, 1)
    )


def wheel_arm(now: Pose) -> Arm:
    """Return the arm that holds the wheel by its axle."""
    shoulder = now.body(np.array([[0.168, 0.492]]))[0]
    elbow = np.array([0.258, 0.748])
    upper = spline([tuple(shoulder), (0.222, 0.62), tuple(elbow)])
    lower = spline([tuple(elbow), (0.318, 0.740), (0.385, 0.705)])
    return Arm(upper, lower, lambda points: points, fist=False)


def bottle_arm(now: Pose) -> Arm:
    """Return the arm that holds up the bottle and waves it."""
    wave = 0.10 * np.sin(now.phase * 2)
    shoulder = now.body(np.array([[-0.168, 0.492]]))[0]
    elbow, rest = np.array([-0.292, 0.742]), np.array([-0.360, 0.552])
    wrist = turned(rest[None], wave, (elbow[0], elbow[1]))[0]
    upper = spline(
        [tuple(shoulder), tuple(0.5 * (shoulder + elbow) - [0.008, 0.004]), tuple(elbow)]
    )
    lower = spline([tuple(elbow), tuple(0.5 * (elbow + wrist) - [0.010, 0.0]), tuple(wrist)])

    def hold(points: Points) -> Points:
        placed: Points = turned(points, wave * 1.4, (rest[0], rest[1])) + (wrist - rest)
        return placed

    return Arm(upper, lower, hold, fist=True)
