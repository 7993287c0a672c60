"""Flashes: how many in any one second, and over how much of the picture.

WCAG 2.3.1 allows three general and three red flashes within any one second, or
more where those that go on at the same time cover no more than a quarter of
any 10-degree field [wcag]; ITU-R BT.1702 asks the same of a quarter of the
picture [bt1702] (figures of the latter partly from memory), in the light of a
screen, and warns of flashing that goes on for more than five seconds. Passing
this is no clearance: it is an aid.

Flashes are counted in two ways, and the larger number stands:

- cell by cell: cells that flash so often and together cover more than the area;
- field by field: the share of the field that has turned bright less that which
  has turned dark goes up and down by more than the area. So parts of a field
  that take turns, such as lamps that flash here and there, count together.

A flash is two opposing transitions; a transition left over counts as half of
one, so that three and a half are more than three.
"""

from __future__ import annotations

import math
from collections import deque
from dataclasses import dataclass, replace
from fractions import Fraction

import cv2
import numpy as np
from numpy.typing import NDArray

from keyer.kinds.limits import LIMITS
from keyer.kinds.verdicts import Judgement
from keyer.measure.cells import WHOLE, Grid, Light, Place, coarse_light, luminance, place_of
from keyer.measure.red_transitions import ColourTurns, RedTurns, red_of
from keyer.measure.transitions import LightTurns, Shares, Way
from keyer.pixel.kernels.jit import kernel

MOST_A_SECOND = int(LIMITS["flash.general"].fails)
"""Flashes in any one second (WCAG 2.3.1; BT.1702)."""

AREA = 0.25
"""Share of a 10-degree field (WCAG), and of the picture (BT.1702), that may flash faster."""

OVER = AREA - 0.0005
"""Share from which the area is taken to be over that: it is known to about so much; ours."""

LONG_SECONDS = 5
"""Seconds beyond which flashing must be looked at, at whatever rate (BT.1702, from memory)."""

_LEAST_SHARE = 0.02
"""Share of a cell under which nothing has turned on it; ours."""


@dataclass(frozen=True)
class Flashing:
    """What flashes in the second that ends with a frame.

    Attributes
    ----------
    flashes : float
        Flashes over more than a quarter of the area, in halves.
    share : float
        Largest share of the area, 0..1, that flashes more than three times.
    place : Place
        Where.
    faster : float
        Flashes over more than half of that area, in halves.
    lasting : int
        Frames from the first turn of light to the last, of a train in which
        there is a flash in any second.
    """

    flashes: float
    share: float
    place: Place
    faster: float = 0.0
    lasting: int = 0


@dataclass(frozen=True)
class FlashReading:
    """General and red flashes, in the worst 10-degree field and in the whole picture.

    Attributes
    ----------
    general, red : Flashing
        WCAG.
    general_picture, red_picture : Flashing
        BT.1702.
    """

    general: Flashing
    red: Flashing
    general_picture: Flashing
    red_picture: Flashing


class _Second:
    """Sums up what happened in each place within the last second."""

    def __init__(self, shape: tuple[int, ...], rate: Fraction, kind: type[np.generic]) -> None:
        self._ring = np.zeros((math.ceil(rate), *shape), kind)
        self._full = np.zeros(math.ceil(rate), np.bool_)
        self._next = 0
        self.total = np.zeros(shape, np.int32)

    def add(self, happened: NDArray[np.generic] | None) -> None:
        """Take a frame; None where nothing happened anywhere."""
        if self._full[self._next]:
            self.total -= self._ring[self._next]
        self._full[self._next] = happened is not None
        if happened is not None:
            self._ring[self._next] = happened
            self.total += self._ring[self._next]
        self._next = (self._next + 1) % len(self._ring)


class _Cells:
    """How often each cell turned within the last second, and by how much of it."""

    def __init__(self, shape: tuple[int, int], rate: Fraction) -> None:
        self._last = np.zeros(shape, np.int8)
        self._turns = _Second(shape, rate, np.bool_)
        self._shares = _Second(shape, rate, np.uint8)

    def add(self, shares: Shares | None) -> None:
        """Take a frame; what goes on the same way belongs to the same turn."""
        if shares is None:
            self._turns.add(None)
            self._shares.add(None)
            return
        seen = np.abs(shares) >= _LEAST_SHARE
        way = np.sign(shares).astype(np.int8)
        new = seen & (way != self._last)
        self._last[seen] = way[seen]
        self._turns.add(new)
        self._shares.add(np.where(seen, np.ceil(255 * np.abs(shares)), 0).astype(np.uint8))

    @property
    def count(self) -> NDArray[np.int32]:
        """Count the turns of each cell within the last second."""
        return self._turns.total

    @property
    def most(self) -> int:
        """Return the turns of the cell that turned most in the last second."""
        return int(self._turns.total.max())

    def share_of(self, number: int) -> Light:
        """Share of each cell that turned so often or more."""
        turns = self._turns.total
        mean = self._shares.total / (255.0 * np.maximum(turns, 1))
        return np.where(turns >= number, np.minimum(mean, 1), 0).astype(np.float32)


@kernel
def _swing(level: Light, low: Light, high: Light, way: Way, out: NDArray[np.bool_]) -> None:
    """Whether each level has gone on by more than the area since its last peak or valley."""
    for i in range(level.size):
        value = level[i]
        rises = way[i] <= 0 and value - low[i] > OVER
        falls = way[i] >= 0 and high[i] - value > OVER
        out[i] = rises or falls
        if out[i]:
            way[i] = 1 if rises else -1
            low[i] = high[i] = value
        else:
            low[i] = min(low[i], value)
            high[i] = max(high[i], value)


class _Fields:
    """Every place of a field of one size in the picture."""

    def __init__(self, shape: tuple[int, int], field: tuple[float, float], rate: Fraction) -> None:
        self._shape = shape
        self._rate = rate
        self._size = tuple(min(max(1, round(f)), n) for f, n in zip(field, shape, strict=True))
        self._area = field[0] * field[1]
        places = (shape[0] - self._size[0] + 1, shape[1] - self._size[1] + 1)
        self._level = np.zeros(places, np.float32)
        self._low, self._high = np.zeros((2, *places), np.float32)
        self._way = np.zeros(places, np.int8)
        self._swings = _Second(places, rate, np.bool_)
        self._index = 0
        self._turned: deque[int] = deque()
        self._began: int | None = None

    def _sums(self, cells: NDArray[np.float32]) -> NDArray[np.float64]:
        """Sum of the cells in each place of the field, as a share of its area."""
        rows, columns = self._size
        total = np.asarray(cv2.integral(cells), np.float64)
        lower = total[rows:, columns:] - total[rows:, :-columns]
        upper = total[:-rows, columns:] - total[:-rows, :-columns]
        return (lower - upper) / self._area

    def add(self, shares: Shares | None, cells: _Cells) -> Flashing:
        swung = None
        if shares is not None:
            swung = np.zeros(self._level.shape, np.bool_)
            self._level += self._sums(shares).astype(np.float32)
            _swing(
                self._level.reshape(-1),
                self._low.reshape(-1),
                self._high.reshape(-1),
                self._way.reshape(-1),
                swung.reshape(-1),
            )
        self._swings.add(swung)
        found = self._read(cells)
        return replace(found, lasting=self._train(found, turned=shares is not None))

    def _train(self, found: Flashing, *, turned: bool) -> int:
        """Frames for which it has flashed without a second of rest."""
        self._index += 1
        if turned:
            self._turned.append(self._index)
        while self._turned and self._index - self._turned[0] >= self._rate:
            self._turned.popleft()
        if found.flashes < 1:
            self._began = None
            return 0
        if self._began is None:
            self._began = self._turned[0]
        return self._turned[-1] - self._began

    def _read(self, cells: _Cells) -> Flashing:
        swings = int(self._swings.total.max())
        most, faster, worst = swings, swings, -1
        turns = cells.most
        if swings and turns:  # of the fields that swing most, the one in which most of it does
            shares = self._sums(cells.share_of(1))
            worst = int(np.where(self._swings.total == swings, shares, -1).argmax())
        for number in range(swings + 1, turns + 1):
            shares = self._sums(cells.share_of(number))
            largest = float(shares.max())
            if largest > OVER:
                most, worst = number, int(shares.argmax())
            if largest <= OVER / 2:
                break
            faster = number
            worst = int(shares.argmax()) if worst < 0 else worst
        share = 0.0
        if turns > 2 * MOST_A_SECOND:
            share = float(self._sums(cells.share_of(2 * MOST_A_SECOND + 1)).max())
        return Flashing(most / 2, min(share, 1.0), self._place(worst), faster / 2)

    def _place(self, index: int) -> Place:
        if index < 0:
            return WHOLE
        top, left = divmod(index, self._level.shape[1])
        rows, columns = self._shape
        bottom, right = top + self._size[0], left + self._size[1]
        return place_of(left / columns, top / rows, right / columns, bottom / rows)


class _Kind:
    """Flashes of one kind, from the transitions of its cells, in one size of field."""

    def __init__(self, grid: Grid, rate: Fraction, field: tuple[float, float]) -> None:
        shape = (grid.rows, grid.columns)
        self._cells = _Cells(shape, rate)
        self._fields = _Fields(shape, field, rate)

    def add(self, shares: Shares | None) -> Flashing:
        self._cells.add(shares)
        return self._fields.add(shares, self._cells)


class FlashMeter:
    """Counts flashes; takes a frame at a time and keeps the last second alone.

    Parameters
    ----------
    grid : Grid
        How the pictures are divided.
    rate : Fraction
        Frames a second.
    """

    def __init__(self, grid: Grid, rate: Fraction) -> None:
        size = (grid.rows, grid.columns)
        field, whole = (
            (grid.field_rows, grid.field_columns),
            (float(grid.rows), float(grid.columns)),
        )
        self._before: Light | None = None
        self._light, self._screen = LightTurns(*size), LightTurns(*size)
        self._red, self._dim = RedTurns(*size), RedTurns(*size, dim=True)
        self._colour = ColourTurns(*size)
        kinds = (field, whole, field, whole, field, whole)
        self._kinds = [_Kind(grid, rate, of) for of in kinds]

    def add(self, light: Light, screen: Light) -> FlashReading:
        """Take the next frame, and return what flashed in the second that ends with it.

        Parameters
        ----------
        light : (3, 3 rows, 3 columns) float32
            Linear R, G, B of the fine cells; the very array of the frame before
            says that nothing has changed.
        screen : (3 rows, 3 columns) float32
            Their luminance on a screen (`keyer.measure.screen`).

        Returns
        -------
        FlashReading
            Of the second that ends with it.
        """
        turns: list[Shares | None] = [None] * len(self._kinds)
        if light is not self._before:
            reds = red_of(light, coarse_light(light))
            colour = self._colour.add(reds)
            turns = [
                self._light.add(luminance(light)),
                self._screen.add(screen),
                self._red.add(reds),
                self._dim.add(reds),
                colour,
                colour,
            ]
        self._before = light
        found = [kind.add(shares) for kind, shares in zip(self._kinds, turns, strict=True)]
        general, general_picture, red, red_picture, colour_field, colour_picture = found
        return FlashReading(
            general, _worse(red, colour_field), general_picture, _worse(red_picture, colour_picture)
        )


def _worse(first: Flashing, second: Flashing) -> Flashing:
    return max(first, second, key=lambda flashing: (flashing.flashes, flashing.share))


def is_long(flashing: Flashing, rate: Fraction) -> bool:
    """Whether it has flashed for more than five seconds, at least once in any second.

    Parameters
    ----------
    flashing : Flashing
    rate : Fraction
        Frames a second.
    """
    return flashing.lasting > LONG_SECONDS * rate


def judge_flashing(flashing: Flashing, rate: Fraction | None = None) -> Judgement:
    """Return the verdict on the flashes of one second.

    Parameters
    ----------
    flashing : Flashing
    rate : Fraction, optional
        Frames a second; given where long flashing is judged as well (BT.1702).

    Returns
    -------
    {"holds", "watch", "fails"}
        Fails with more than three flashes over more than a quarter of the
        area. It is `watch` at three (Epilepsia 46(9), 2005, counts from
        three a second on), where half of that area flashes faster (ours), or
        where it goes on for more than five seconds.
    """
    if flashing.flashes > MOST_A_SECOND:
        return "fails"
    if flashing.flashes == MOST_A_SECOND or flashing.share > AREA / 2:
        return "watch"
    return "watch" if rate is not None and is_long(flashing, rate) else "holds"
