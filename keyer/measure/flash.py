"""Flashes: how many in any one second, and over how much of the picture.

WCAG 2.3.1 allows three general and three red flashes within any one second, or
more where those that go on at the same time cover no more than a quarter of
any 10-degree field [wcag]; ITU-R BT.1702 asks the same of a quarter of the
picture [bt1702] (figures of the latter partly from memory). Passing this is no
clearance: it is an aid.

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
from dataclasses import dataclass
from fractions import Fraction

import cv2
import numpy as np
from numpy.typing import NDArray

from keyer.kinds.verdicts import Judgement
from keyer.measure.cells import WHOLE, Grid, Light, Place, place_of
from keyer.measure.transitions import ColourTurns, LightTurns, RedTurns, Turns
from keyer.pixel.jit import kernel

MOST_A_SECOND = 3
"""Flashes in any one second (WCAG 2.3.1; BT.1702)."""

AREA = 0.25
"""Share of a 10-degree field (WCAG), and of the picture (BT.1702), that may flash faster."""


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
    """

    flashes: float
    share: float
    place: Place


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
    """Counts how often something happened in each place within the last second."""

    def __init__(self, shape: tuple[int, ...], rate: Fraction) -> None:
        self._ring = np.zeros((math.ceil(rate), *shape), np.bool_)
        self._next = 0
        self.count = np.zeros(shape, np.int16)

    def add(self, happened: NDArray[np.bool_]) -> None:
        self.count += happened
        self.count -= self._ring[self._next]
        self._ring[self._next] = happened
        self._next = (self._next + 1) % len(self._ring)


@kernel
def _swing(level: Light, low: Light, high: Light, way: Turns, out: NDArray[np.bool_]) -> None:
    """Whether each level has gone on by more than the area since its last peak or valley."""
    for i in range(level.size):
        value = level[i]
        rises = way[i] <= 0 and value - low[i] > AREA
        falls = way[i] >= 0 and high[i] - value > AREA
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
        self._size = tuple(min(max(1, round(f)), n) for f, n in zip(field, shape, strict=True))
        self._area = field[0] * field[1]
        places = (shape[0] - self._size[0] + 1, shape[1] - self._size[1] + 1)
        self._level = np.zeros(places, np.float32)
        self._low, self._high = np.zeros((2, *places), np.float32)
        self._way = np.zeros(places, np.int8)
        self._swings = _Second(places, rate)

    def _sums(self, cells: NDArray[np.float32]) -> NDArray[np.float64]:
        """Sum of the cells in each place of the field, as a share of its area."""
        rows, columns = self._size
        total = np.asarray(cv2.integral(cells), np.float64)
        lower = total[rows:, columns:] - total[rows:, :-columns]
        upper = total[:-rows, columns:] - total[:-rows, :-columns]
        return (lower - upper) / self._area

    def add(self, turns: Turns, count: NDArray[np.int16], *, any_turn: bool) -> Flashing:
        swung = np.zeros(self._level.shape, np.bool_)
        if any_turn:
            self._level += self._sums(turns.astype(np.float32)).astype(np.float32)
            _swing(
                self._level.reshape(-1),
                self._low.reshape(-1),
                self._high.reshape(-1),
                self._way.reshape(-1),
                swung.reshape(-1),
            )
        self._swings.add(swung)
        return self._read(count)

    def _read(self, count: NDArray[np.int16]) -> Flashing:
        most = int(self._swings.count.max())
        worst = -1
        if most:  # of the fields that swing most, the one in which most of it does
            shares = self._sums((count > 0).astype(np.float32))
            worst = int(np.where(self._swings.count == most, shares, -1).argmax())
        for number in range(most + 1, int(count.max()) + 1):
            shares = self._sums((count >= number).astype(np.float32))
            if shares.max() <= AREA:
                break
            most, worst = number, int(shares.argmax())
        too_many = (count > 2 * MOST_A_SECOND).astype(np.float32)
        share = 0.0
        if too_many.any():
            shares = self._sums(too_many)
            share = float(shares.max())
            worst = int(shares.argmax()) if worst < 0 else worst
        return Flashing(most / 2, min(share, 1.0), self._place(worst))

    def _place(self, index: int) -> Place:
        if index < 0:
            return WHOLE
        top, left = divmod(index, self._level.shape[1])
        rows, columns = self._shape
        bottom, right = top + self._size[0], left + self._size[1]
        return place_of(left / columns, top / rows, right / columns, bottom / rows)


class _Kind:
    """Flashes of one kind, from the transitions of its cells."""

    def __init__(self, grid: Grid, rate: Fraction) -> None:
        shape = (grid.rows, grid.columns)
        self._cells = _Second(shape, rate)
        self._field = _Fields(shape, (grid.field_rows, grid.field_columns), rate)
        self._picture = _Fields(shape, shape, rate)

    def add(self, turns: Turns) -> tuple[Flashing, Flashing]:
        happened = turns != 0
        self._cells.add(happened)
        any_turn = bool(happened.any())
        count = self._cells.count
        return (
            self._field.add(turns, count, any_turn=any_turn),
            self._picture.add(turns, count, any_turn=any_turn),
        )


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
        self._light, self._red, self._colour = (
            LightTurns(*size),
            RedTurns(*size),
            ColourTurns(*size),
        )
        self._general, self._reds, self._colours = (_Kind(grid, rate) for _ in range(3))

    def add(self, light: Light) -> FlashReading:
        """Take a frame.

        Parameters
        ----------
        light : (3, rows, columns) float32
            Linear R, G, B of the coarse cells.

        Returns
        -------
        FlashReading
            Of the second that ends with it.
        """
        general = self._general.add(self._light.add(light))
        red = self._reds.add(self._red.add(light))
        colour = self._colours.add(self._colour.add(light))
        return FlashReading(
            general[0], _worse(red[0], colour[0]), general[1], _worse(red[1], colour[1])
        )


def _worse(first: Flashing, second: Flashing) -> Flashing:
    return max(first, second, key=lambda flashing: (flashing.flashes, flashing.share))


def judge_flashing(flashing: Flashing) -> Judgement:
    """Judge what flashes.

    Parameters
    ----------
    flashing : Flashing

    Returns
    -------
    {"holds", "watch", "fails"}
        Fails with more than three flashes over more than a quarter of the
        area. Wants watching at three (Epilepsia 46(9), 2005, counts from
        three a second on), or where half of that area flashes faster (ours).
    """
    if flashing.flashes > MOST_A_SECOND:
        return "fails"
    if flashing.flashes == MOST_A_SECOND or flashing.share > AREA / 2:
        return "watch"
    return "holds"
