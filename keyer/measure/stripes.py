"""Hazardous stripes: regular patterns of light and dark that can hurt people at risk.

After ITU-R BT.1702 and the guidance that goes with it [bt1702] (figures from
memory): clearly discernible stripes in any orientation, of more than five
pairs of light and dark, may cover a quarter of the picture where they flash,
reverse, oscillate or change direction, and 40 % where they stand still or
drift one way; the light ones at 50 cd/m2 or more. They have to last longer
than half a second (Wilkins, Emmett, Harding 2005). White is taken as
200 cd/m2, and a difference of 20 cd/m2, that of a flash, as discernible (ours).

The picture's strongest regular frequency is found in its spectrum; where the
picture follows it, by at least half its variance, there the stripes are. So
straight and gently bent stripes are found whole, rings and fans in parts.
Differences of colour alone are not looked at.
"""

from __future__ import annotations

import cmath
import math
from collections import deque
from dataclasses import dataclass
from fractions import Fraction
from typing import NamedTuple

import cv2
import numpy as np
from numpy.typing import NDArray

from keyer.kinds.verdicts import Judgement
from keyer.measure.cells import FINE, WHOLE, Light, Place, coarse_light, place_of

MOST_PAIRS = 5
"""Pairs of a light and a dark stripe (BT.1702, from memory; EFA 2005)."""

AREA_CHANGING = 0.25
AREA_STEADY = 0.40
"""Shares of the picture that stripes may cover (BT.1702, from memory)."""

SECONDS = Fraction(1, 2)
"""How long they may last (Wilkins 2005; EFA 2005)."""

LIGHT_STRIPE = 50 / 200
"""Relative luminance from which a light stripe counts: 50 cd/m2 of a white of 200."""

DIFFERENCE = 0.1
"""Least difference of light and dark in relative luminance: 20 cd/m2; ours."""

_SQUARE = math.pi / 4
"""Half the height of a square wave over the amplitude of its fundamental."""
_REGULAR = 0.45
"""Share of the variance that stripes explain: 1 a sine, 0.81 square, 0.33 a checkerboard."""
_PERIODS = 2
"""Width of the window in which the picture is compared with the frequency."""
_WIDE = 1 / 12
"""Cycles to a fine cell below which coarse cells show a pattern as well."""
_EDGE, _REGULAR_EDGE = 0.42, 0.2
"""Amplitude at the edge of a pattern, of that inside, and its share of the variance there."""
_CORE = 0.4
"""Least share of a pattern that is regular by the stricter measure."""
_TRIES, _NEAR = 3, 3
"""Peaks of the spectrum that are tried, and bins that belong to one."""
_REVERSED = 0.4
"""Cycles between two frames from which light and dark have changed places."""
_TURNED = 0.15
"""Cycles by which a drift has to go back to have changed direction."""

Complex = NDArray[np.complex64]
Mask = NDArray[np.bool_]


@dataclass(frozen=True)
class Stripes:
    """Stripes of one frame.

    Attributes
    ----------
    pairs : float
        Of light and dark, across the largest part; 0 where there are none.
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


class Pattern(NamedTuple):
    """A regular pattern in one frame.

    `area` is 0 unless it has more than five pairs; `phase` weighs fine or coarse
    cells by the pattern's own frequency, where the pattern lies.
    """

    pairs: float
    area: float
    angle_deg: float
    place: Place
    phase: Complex


_NONE = Pattern(0.0, 0.0, 0.0, WHOLE, np.zeros((0, 0), np.complex64))


def _peaks(light: Light) -> list[tuple[float, float]]:
    """Strongest frequencies of more than a few cycles, the low ones held back a little."""
    rows, columns = light.shape
    power = np.abs(np.fft.rfft2(light - light.mean()))
    down = np.fft.fftfreq(rows).astype(np.float32)[:, np.newaxis]
    across = np.fft.rfftfreq(columns).astype(np.float32)
    # a sine of amplitude a over the whole picture stands for a / 2 in its spectrum
    least = DIFFERENCE / 2 / _SQUARE / 2 * AREA_CHANGING / 2 * light.size
    few = np.hypot(down * rows, across * columns) < MOST_PAIRS - 0.5
    power[few | (power < least)] = 0
    power *= np.sqrt(np.hypot(down, across))
    found = []
    for _ in range(_TRIES):
        y, x = divmod(int(power.argmax()), power.shape[1])
        if power[y, x] == 0:
            break
        found.append((float(across[x]), float(down[y, 0])))
        near = np.arange(y - _NEAR, y + _NEAR + 1) % rows
        power[near, max(x - _NEAR, 0) : x + _NEAR + 1] = 0
    return found


def _carrier(shape: tuple[int, ...], across: float, down: float) -> Complex:
    rows = np.exp(-2j * np.pi * down * np.arange(shape[0])).astype(np.complex64)
    columns = np.exp(-2j * np.pi * across * np.arange(shape[1])).astype(np.complex64)
    carrier: Complex = rows[:, np.newaxis] * columns
    return carrier


def _coarse(light: Light) -> Light:
    plane: Light = coarse_light(light[np.newaxis])[0]
    return plane


class _Window:
    """Means in a square about each cell, as far as the square lies in the picture."""

    def __init__(self, shape: tuple[int, ...], side: int) -> None:
        self._side = (side, side)
        self._share = self._sum(np.ones(shape, np.float32))

    def _sum(self, plane: Light) -> Light:
        total = cv2.blur(plane, self._side, borderType=cv2.BORDER_CONSTANT)
        return np.asarray(total, np.float32)

    def mean(self, plane: Light) -> Light:
        return self._sum(np.ascontiguousarray(plane)) / self._share


def _follow(fine: Light, across: float, down: float) -> Pattern:
    """Find where a picture follows a frequency, and how it does."""
    light = fine
    if math.hypot(across, down) < _WIDE:
        light, across, down = _coarse(fine), FINE * across, FINE * down
    side = max(3, min(round(_PERIODS / math.hypot(across, down)), *light.shape))
    window = _Window(light.shape, side)
    mean = window.mean(light)
    swing = light - mean
    beat = swing * _carrier(light.shape, across, down)
    local = window.mean(beat.real) + np.complex64(1j) * window.mean(beat.imag)
    amplitude = 2 * np.abs(local)
    followed = amplitude * amplitude / 2 / np.maximum(window.mean(swing * swing), 1e-9)
    seen = followed >= _REGULAR
    seen &= amplitude * np.float32(2 * _SQUARE) >= DIFFERENCE
    seen &= mean + amplitude * np.float32(_SQUARE) >= LIGHT_STRIPE
    if not seen.any():
        return _NONE
    # a window on the edge of the pattern holds half of it, and whatever lies beside it
    edge = followed >= _REGULAR_EDGE
    edge &= amplitude >= np.percentile(amplitude[seen], 90) * np.float32(_EDGE)
    seen = _grown(seen, edge)
    if not seen.any():
        return _NONE
    across, down = _refined(np.where(seen, local, 0), across, down)
    pairs, place = _extent(seen, across, down)
    area = float(np.mean(seen)) if round(pairs) > MOST_PAIRS else 0.0
    angle = round(math.degrees(math.atan2(down, across)), 1) % 180
    return Pattern(pairs, area, angle, place, seen * _carrier(light.shape, across, down))


def _grown(core: Mask, edge: Mask) -> Mask:
    """Keep the connected parts of `edge` that are core for the most part."""
    count, labels = cv2.connectedComponents(edge.astype(np.uint8))
    whole = np.bincount(labels.reshape(-1), minlength=count)
    inner = np.bincount(labels[core & edge], minlength=count)
    held = inner > _CORE * whole
    held[0] = False
    grown: Mask = held[labels]
    return grown


def _refined(local: Complex, across: float, down: float) -> tuple[float, float]:
    """Correct a frequency by how the phase runs on within the pattern."""
    sideways = np.angle(np.vdot(local[:, :-1], local[:, 1:]))
    downwards = np.angle(np.vdot(local[:-1], local[1:]))
    return across + float(sideways) / (2 * math.pi), down + float(downwards) / (2 * math.pi)


def _extent(seen: NDArray[np.bool_], across: float, down: float) -> tuple[float, Place]:
    """Cycles across the largest connected part, and where it lies."""
    _, labels, stats, _ = cv2.connectedComponentsWithStats(seen.astype(np.uint8))
    largest = 1 + int(stats[1:, cv2.CC_STAT_AREA].argmax())
    left, top, width, height = (int(value) for value in stats[largest, :4])
    y, x = np.nonzero(labels == largest)
    along = x * across + y * down
    pairs = float(along.max() - along.min()) + math.hypot(across, down)
    rows, columns = seen.shape
    place = place_of(left / columns, top / rows, (left + width) / columns, (top + height) / rows)
    return pairs, place


def _beat(light: Light, phase: Complex) -> complex:
    """Weigh a picture by a pattern's frequency: how strong it is, and where in its cycle."""
    plane = light if light.shape == phase.shape else _coarse(light)
    return complex(np.vdot(phase, plane - plane.mean()))


def find_stripes(light: Light) -> Pattern:
    """Find the regular pattern that covers most of a picture.

    Parameters
    ----------
    light : (rows, columns) float32
        Relative luminance.

    Returns
    -------
    named tuple
        Of pairs, area, angle, place and phase; area 0 where there is none.
    """
    best = _NONE
    for across, down in _peaks(light):
        pattern = _follow(light, across, down)
        if (pattern.area, pattern.pairs) > (best.area, best.pairs):
            best = pattern
        if best.area > AREA_STEADY:
            break
    return best


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
        self._before: Light | None = None
        self._pattern = _NONE
        self._began = self._seen = -math.ceil(rate)
        self._changes: deque[int] = deque()
        self._moved = self._least = self._most = 0.0
        self._way = 0

    def add(self, light: Light) -> Stripes:
        """Take a frame.

        Parameters
        ----------
        light : (rows, columns) float32
            Relative luminance of the fine cells; the very array of the frame
            before says that nothing has changed.

        Returns
        -------
        Stripes
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

    def _look(self, light: Light) -> None:
        """Find the pattern, and whether it has changed since the frame before."""
        was = self._pattern.area > AREA_CHANGING / 2  # half: not to waver at the limit
        self._pattern = find_stripes(light)
        there = self._pattern.area > AREA_CHANGING / 2
        alike = self._before is None or (
            there == was and not (there and self._changed(light, self._before))
        )
        if not alike:
            self._changes.append(self._index)
        self._before = light

    def _changed(self, light: Light, before: Light) -> bool:
        """Whether the pattern flashed, reversed or turned back since the frame before."""
        now, then = (_beat(frame, self._pattern.phase) for frame in (light, before))
        if not 0.5 < abs(now) / max(abs(then), 1e-9) < 2:
            return True
        step = cmath.phase(now * then.conjugate()) / (2 * math.pi)
        if abs(step) > _REVERSED:
            return True
        self._moved += step
        self._least, self._most = min(self._least, self._moved), max(self._most, self._moved)
        back = self._way >= 0 and self._most - self._moved > _TURNED
        forth = self._way <= 0 and self._moved - self._least > _TURNED
        if not (back or forth):
            return False
        first = self._way == 0
        self._way = -1 if back else 1
        self._least = self._most = self._moved
        return not first


def judge_stripes(stripes: Stripes, rate: Fraction) -> Judgement:
    """Judge the stripes of a frame.

    Parameters
    ----------
    stripes : Stripes
    rate : Fraction
        Frames a second.

    Returns
    -------
    {"holds", "watch", "fails"}
        Fails after half a second over more than 40 % of the picture, or over
        more than 25 % if they change; steady ones over 25 % want watching.
    """
    if stripes.lasting <= rate * SECONDS or stripes.area <= AREA_CHANGING:
        return "holds"
    return "fails" if stripes.changing or stripes.area > AREA_STEADY else "watch"
