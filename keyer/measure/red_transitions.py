"""Where each cell turns to or from a saturated red.

WCAG 2.0 and 2.1 follow R - G - B, WCAG 2.2 the chromaticity [wcag]; ITU-R
BT.1702 asks of reds "irrespective of luminance" [bt1702]. Shares of cells are
those of `keyer.measure.transitions`.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from keyer.measure.cells import FINE, Light
from keyer.measure.transitions import Cells, Shares, Way, together
from keyer.pixel.kernels.jit import kernel

SATURATED = 0.8
"""R / (R + G + B) from which a red is saturated (WCAG)."""

RED_CHANGE = 20 / 320
"""Change of R - G - B above which a red transition counts (WCAG 2.0 and 2.1: 20, of 320)."""

DIM_RED = 0.004
"""R - G - B from which a red that halves, or doubles, counts for BT.1702, "irrespective of
luminance"; ours: 13 of 255, a sixth of a candela."""

COLOUR_CHANGE = 0.2
"""Distance in CIE 1976 u'v' above which it counts as well (WCAG 2.2; ISO 9241-391)."""

DARKEST = 0.01
"""R + G + B under which a cell is black and has no chromaticity; ours."""

Flags = NDArray[np.bool_]

_RED_U, _RED_V = np.float32(0.4507), np.float32(0.5229)
"""u', v' of the red primary of BT.709."""


@kernel
def _red_steps(
    value: Light, red: Flags, low: Light, high: Light, low_red: Flags, high_red: Flags,
    way: Way, dim: bool, step: Light,  # noqa: FBT001
) -> bool:  # fmt: skip
    """Compute the same for R - G - B; either state of a transition has to be a saturated red."""
    found = False
    zero = np.float32(0)
    for i in range(value.size):
        now, below, above = max(value[i], zero), max(low[i], zero), max(high[i], zero)
        rise = fall = np.float32(RED_CHANGE)
        if dim and now >= DIM_RED:
            rise = min(rise, np.float32(0.5) * now)
        if dim and above >= DIM_RED:
            fall = min(fall, np.float32(0.5) * above)
        step[i] = 0
        if way[i] <= 0 and now - below > rise and (low_red[i] or red[i]):
            step[i] = value[i] - low[i]
            found = True
        elif way[i] >= 0 and above - now > fall and (high_red[i] or red[i]):
            step[i] = value[i] - high[i]
            found = True
    return found


@kernel
def _settle_red(
    value: Light, red: Flags, share: Shares, low: Light, high: Light, low_red: Flags,
    high_red: Flags,
) -> None:  # fmt: skip
    """Remember whether the lowest and the highest of each cell are red; before `_settle`."""
    for i in range(value.size):
        now = value[i]
        if share[i] != 0:
            low_red[i] = high_red[i] = red[i]
            continue
        if now <= low[i]:
            low_red[i] = red[i] or (now == low[i] and low_red[i])
        if now >= high[i]:
            high_red[i] = red[i] or (now == high[i] and high_red[i])


@kernel
def _turn_colour(
    light: Light, saturated: Flags, last_u: Light, last_v: Light, way: Way, share: Shares
) -> bool:
    """Follow u'v' between the reddest and the least red of each cell.

    `way` is 2 before a cell's first chromaticity, then 1 in red and -1 out of it.
    """
    found = False
    for i in range(way.size):
        share[i] = 0
        r, g, b = light[0, i], light[1, i], light[2, i]
        if r + g + b < DARKEST:
            continue
        u, v = chromaticity(r, g, b)
        red = saturated[i]
        apart = (u - last_u[i]) ** 2 + (v - last_v[i]) ** 2
        begins = way[i] == 2
        if not begins and red == (way[i] == -1) and apart > COLOUR_CHANGE**2:
            share[i] = 1 if red else -1
            found = True
        elif not begins:
            # the state goes on: keep what lies farthest in its own direction
            now = (u - _RED_U) ** 2 + (v - _RED_V) ** 2
            kept = (last_u[i] - _RED_U) ** 2 + (last_v[i] - _RED_V) ** 2
            if red != (way[i] == 1) or (now > kept) == red:
                continue
        way[i] = 1 if red else -1
        last_u[i], last_v[i] = u, v
    return found


@kernel
def chromaticity(r: np.float32, g: np.float32, b: np.float32) -> tuple[np.float32, np.float32]:
    """CIE 1976 u', v' of linear R, G, B; the matrix as WCAG 2.2 prints it."""
    x = np.float32(0.4124564) * r + np.float32(0.3575761) * g + np.float32(0.1804375) * b
    y = np.float32(0.2126729) * r + np.float32(0.7151522) * g + np.float32(0.0721750) * b
    z = np.float32(0.0193339) * r + np.float32(0.1191920) * g + np.float32(0.9503041) * b
    whole = max(x + np.float32(15) * y + np.float32(3) * z, np.float32(1e-6))
    return np.float32(4) * x / whole, np.float32(9) * y / whole


class _Reds(Cells):
    """Transitions of R - G - B to and from a saturated red."""

    def __init__(self, shape: tuple[int, int], *, dim: bool, whole: bool = False) -> None:
        super().__init__(shape, whole=whole)
        self.low_red, self.high_red = np.zeros((2, shape[0] * shape[1]), np.bool_)
        self.dim = dim
        self._any = False

    def turn(self, value: Light, red: Flags) -> Shares | None:
        """Take a frame; None where nothing turns."""
        self._any = self._any or bool(red.any())
        if not self._any:  # as in most pictures
            self.settle(value, found=False)
            return None
        flat, low, high = value.reshape(-1), self.low.reshape(-1), self.high.reshape(-1)
        found = _red_steps(
            flat, red.reshape(-1), low, high, self.low_red, self.high_red,
            self.way.reshape(-1), self.dim, self.step.reshape(-1),
        )  # fmt: skip
        self.share_out(value, found=found)
        share = self.share.reshape(-1) if found else np.zeros(flat.size, np.float32)
        _settle_red(flat, red.reshape(-1), share, low, high, self.low_red, self.high_red)
        self.settle(value, found=found)
        return self.share if found else None


class _Colours:
    """Transitions of chromaticity to and from a saturated red."""

    def __init__(self, shape: tuple[int, int]) -> None:
        size = shape[0] * shape[1]
        self._u, self._v = np.zeros((2, size), np.float32)
        self._way = np.full(size, 2, np.int8)
        self._share = np.zeros(shape, np.float32)

    def turn(self, light: Light, red: Flags) -> Shares | None:
        """Take a frame; None where nothing turns."""
        found = _turn_colour(
            light.reshape(3, -1), red.reshape(-1), self._u, self._v, self._way,
            self._share.reshape(-1),
        )  # fmt: skip
        return self._share if found else None


@dataclass(frozen=True, eq=False)
class Red:
    """The red of the fine and of the coarse cells of a frame.

    Attributes
    ----------
    light : (3, rows, columns) float32, twice
        Linear R, G, B.
    value : (rows, columns) float32, twice
        R - G - B.
    saturated : (rows, columns) bool, twice
    """

    light: tuple[Light, Light]
    value: tuple[Light, Light]
    saturated: tuple[Flags, Flags]


def red_of(light: Light, coarse: Light) -> Red:
    """Return what both measures of red need of a frame.

    Parameters
    ----------
    light : (3, 3 rows, 3 columns) float32
        Linear R, G, B of the fine cells.
    coarse : (3, rows, columns) float32
        And of the coarse ones.
    """
    value = light[0] - light[1] - light[2], coarse[0] - coarse[1] - coarse[2]
    return Red((light, coarse), value, (is_saturated(light), is_saturated(coarse)))


class RedTurns:
    """Transitions to and from a saturated red, by R - G - B (WCAG 2.0 and 2.1).

    Parameters
    ----------
    rows, columns : int
        Of the coarse cells.
    dim : bool
        Count dim reds as well, as BT.1702 does: "irrespective of luminance".
    """

    def __init__(self, rows: int, columns: int, *, dim: bool = False) -> None:
        self._shape = (rows, columns)
        self._fine = _Reds((FINE * rows, FINE * columns), dim=dim)
        self._coarse = _Reds(self._shape, dim=dim, whole=True)

    def add(self, red: Red) -> Shares | None:
        """Take a frame.

        Returns
        -------
        (rows, columns) float32 in [-1, 1], or None
            As `keyer.measure.transitions.LightTurns.add`.
        """
        fine = self._fine.turn(red.value[0], red.saturated[0])
        return together(fine, self._coarse.turn(red.value[1], red.saturated[1]), self._shape)


class ColourTurns:
    """Transitions to and from a saturated red, by chromaticity (WCAG 2.2).

    Parameters
    ----------
    rows, columns : int
        Of the coarse cells.
    """

    def __init__(self, rows: int, columns: int) -> None:
        self._shape = (rows, columns)
        self._fine = _Colours((FINE * rows, FINE * columns))
        self._coarse = _Colours(self._shape)

    def add(self, red: Red) -> Shares | None:
        """Take a frame; as `RedTurns.add`."""
        fine = self._fine.turn(red.light[0], red.saturated[0])
        return together(fine, self._coarse.turn(red.light[1], red.saturated[1]), self._shape)


def is_saturated(light: Light) -> Flags:
    """Whether each cell is a saturated red: R / (R + G + B) of 0.8 or more (WCAG).

    Parameters
    ----------
    light : (3, rows, columns) float32
        Linear R, G, B.

    Returns
    -------
    (rows, columns) bool
        False for black.
    """
    red, green, blue = light
    # R >= 0.8 (R + G + B), and not black
    saturated: Flags = red >= np.float32(SATURATED / (1 - SATURATED)) * (green + blue)
    saturated &= red > 0
    return saturated
