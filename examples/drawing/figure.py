"""The presenter's build: how it moves, and what it is made of."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from examples.drawing.light import linear
from examples.drawing.parts import turned

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
        placed: Points = turned(points, self.nod, (0.0, 0.36)) + np.array([self.sway * 1.3, 0.0])
        return placed

    def body(self, points: Points) -> Points:
        """Place points of the body; the hips stay where they are."""
        lift = np.clip((1.05 - points[:, 1]) / 0.65, 0, 1)
        shift = np.stack([self.sway * lift, np.zeros(len(points))], axis=1)
        return points + shift


def pose(frame: float) -> Pose:
    """Return the pose at a frame, repeating after `LOOP` frames."""
    phase = 2 * np.pi * frame / LOOP
    return Pose(phase, 0.006 * np.sin(phase), 0.055 + 0.03 * np.sin(phase + 0.7))
