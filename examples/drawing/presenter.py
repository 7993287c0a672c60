"""The presenter of the lakeside bicycle hire: helmet, visor, scarf, waxed jacket, wheel, bottle.

An invented figure. It holds what makes a key hard: strands of hair in the
wind, knitted wool, spokes that turn while the shutter is open, a tinted bottle
and a tinted visor through which the backing shows.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from examples.drawing import wheel
from examples.drawing.arms import bottle_arm, forearm, sleeve, wheel_arm
from examples.drawing.bottle import draw_bottle
from examples.drawing.dress import jacket, scarf_tails, scarf_wrap
from examples.drawing.figure import (
    LOOP,
    Pose,
    pose,
)
from examples.drawing.head import face_of, hair_behind, hair_front, helmet, neck_of
from examples.drawing.stage import Stage

Floats = NDArray[np.float32]
Points = NDArray[np.float64]


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
    raised, reaching = bottle_arm(now), wheel_arm(now)
    hair_behind(stage, now, seed)
    sleeve(stage, raised.upper, (0.064, 0.066, 0.062), seed + 11)
    sleeve(stage, reaching.upper, (0.064, 0.066, 0.060), seed + 12)
    jacket(stage, now, seed)
    forearm(stage, reaching, seed + 13)
    scarf_tails(stage, now)
    neck_of(stage, now)
    scarf_wrap(stage, now)
    face_of(stage, now)
    hair_front(stage, now, seed)
    helmet(stage, now)
    _wheel(stage, now, frame)
    forearm(stage, raised, seed + 14)
    draw_bottle(stage, raised.hold)


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
