"""Stripes over time: how long they last, and whether they flash, reverse or turn back."""

from __future__ import annotations

import math
from collections import deque
from dataclasses import dataclass
from fractions import Fraction

import numpy as np
from numpy.typing import NDArray

from keyer.kinds.arrays import Plane
from keyer.kinds.verdicts import Judgement
from keyer.measure.cells import WHOLE, Place
from keyer.measure.stripe_lines import Marks
from keyer.measure.stripes import (
    AREA_CHANGING,
    AREA_STEADY,
    NO_PATTERN,
    SECONDS,
    Pattern,
    find_stripes,
)
from keyer.pixel.kernels.jit import kernel

REVERSED = 0.4
"""Cycles between two frames from which light and dark have changed places; ours."""

TURNED = 0.15
"""Cycles by which a drift has to go back to have changed direction; ours."""

_STILL, _OTHER, _TURN = 1, 2, 3
"""What a cell of a pattern did since the frame before; 0 where that cannot be told."""

_MEMORY = Fraction(1, 5)
"""Seconds within which the cells of a pattern turn back together."""


@dataclass(frozen=True)
class Stripes:
    """Stripes of one frame: pairs, area, whether they change, how long they have been there.

    Attributes
    ----------
    pairs : float
        Of light and dark, across the pattern that has most; 0 where there is none.
    area : float
        Share of the picture that stripes of more than five pairs cover.
    changing : bool
        Whether they flashed, reversed, oscillated or changed direction within
        the last second.
    lasting : int
        Frames for which they have been there.
    angle_deg : float
        Direction across the stripes, 0..180; 0 upright stripes, 90 lying ones.
    place : Place
    """

    pairs: float = 0.0
    area: float = 0.0
    changing: bool = False
    lasting: int = 0
    angle_deg: float = 0.0
    place: Place = WHOLE


@kernel
def _move(
    phase: Plane, source: Marks, before: Plane, source_before: Marks,
    moved: Plane, least: Plane, most: Plane, way: NDArray[np.int8], done: Marks,
) -> None:  # fmt: skip
    """Follow the phase of each cell, and say what it did."""
    for i in range(phase.size):
        done[i] = 0
        if phase[i] < 0 or before[i] < 0 or source[i] != source_before[i]:
            continue
        step = phase[i] - before[i]
        step -= math.floor(step + 0.5)
        done[i] = _STILL
        if abs(step) > REVERSED:
            done[i] = _OTHER
            continue
        moved[i] += step
        least[i], most[i] = min(least[i], moved[i]), max(most[i], moved[i])
        back = way[i] >= 0 and most[i] - moved[i] > TURNED
        forth = way[i] <= 0 and moved[i] - least[i] > TURNED
        if back or forth:
            if way[i] != 0:
                done[i] = _TURN
            way[i] = -1 if back else 1
            least[i] = most[i] = moved[i]


class _Motion:
    """How the cells of a pattern move, from frame to frame."""

    def __init__(self, shape: tuple[int, ...], rate: Fraction) -> None:
        size = math.prod(shape)
        self._moved, self._least, self._most = np.zeros((3, size), np.float32)
        self._way = np.zeros(size, np.int8)
        self._done = np.zeros(size, np.uint8)
        self._turned = np.zeros(size, np.int16)
        self._memory = max(1, math.ceil(rate * _MEMORY))

    def changed(self, now: Pattern, before: Pattern) -> bool:
        """Whether a pattern flashed, reversed or turned back since the frame before."""
        if not 0.5 < now.contrast / max(before.contrast, 1e-6) < 2:
            return True
        _move(
            now.phase.reshape(-1), now.source.reshape(-1),
            before.phase.reshape(-1), before.source.reshape(-1),
            self._moved, self._least, self._most, self._way, self._done,
        )  # fmt: skip
        here = now.phase.reshape(-1) >= 0
        told = self._done > 0
        half = np.count_nonzero(here) / 2
        if np.count_nonzero(told & here) < half:  # other stripes than before
            return True
        self._turned -= self._turned > 0
        self._turned[self._done == _TURN] = self._memory
        if np.count_nonzero(self._done == _OTHER) > np.count_nonzero(told) / 2:
            return True
        if np.count_nonzero((self._turned > 0) & here) > half:
            self._turned[:] = 0
            return True
        return False


class StripeMeter:
    """Looks for stripes; takes a frame at a time and keeps the one before.

    Parameters
    ----------
    rate : Fraction
        Frames a second.
    """

    def __init__(self, rate: Fraction) -> None:
        self._rate = rate
        self._index = -1
        self._before: Plane | None = None
        self._pattern = NO_PATTERN
        self._motion: _Motion | None = None
        self._began = self._seen = -math.ceil(rate)
        self._changes: deque[int] = deque()

    def add(self, light: Plane) -> Stripes:
        """Take the next frame, and return its stripes.

        Parameters
        ----------
        light : (rows, columns) float32
            Light of the fine cells as a screen shows it; the very array of the
            frame before says that nothing has changed.
        """
        self._index += 1
        if light is not self._before:
            self._look(light)
        pattern = self._pattern
        if pattern.area <= AREA_CHANGING:
            return Stripes(pattern.pairs, pattern.area, angle_deg=pattern.angle_deg)
        if self._index - self._seen > self._rate * SECONDS:
            self._began = self._index
        self._seen = self._index
        while self._changes and self._index - self._changes[0] >= self._rate:
            self._changes.popleft()
        return Stripes(
            pattern.pairs,
            pattern.area,
            len(self._changes) >= 2,
            self._index - self._began + 1,
            pattern.angle_deg,
            pattern.place,
        )

    def _look(self, light: Plane) -> None:
        """Find the pattern, and whether it has changed since the frame before."""
        before, self._pattern = self._pattern, find_stripes(light)
        # half: not to waver at the limit
        was, there = (part.area > AREA_CHANGING / 2 for part in (before, self._pattern))
        first = self._before is None
        self._before = light
        if there and was:
            if self._motion is None:
                self._motion = _Motion(self._pattern.phase.shape, self._rate)
            alike = not self._motion.changed(self._pattern, before)
        else:
            alike = there == was or first
        if not alike:
            self._changes.append(self._index)


def judge_stripes(stripes: Stripes, rate: Fraction) -> Judgement:
    """Return the verdict on the stripes of a frame.

    Parameters
    ----------
    stripes : Stripes
    rate : Fraction
        Frames a second.

    Returns
    -------
    {"holds", "watch", "fails"}
        Fails after half a second over more than 40 % of the picture, or over
        more than 25 % if they change; steady ones over 25 % are `watch`.
    """
    if stripes.lasting <= rate * SECONDS or stripes.area <= AREA_CHANGING:
        return "holds"
    return "fails" if stripes.changing or stripes.area > AREA_STEADY else "watch"
