"""Where the light of each cell turns: the opposing changes of which a flash is made.

A transition lies between an adjacent peak and valley of a cell's light along
time, and a flash is two opposing transitions (WCAG, "general flash and red
flash thresholds") [wcag]. Each watcher takes a frame at a time and says of
each cell whether a transition has come about on it: 1 up, -1 down, 0 none.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from keyer.measure.cells import Light, luminance
from keyer.pixel.jit import kernel

CHANGE = 0.1
"""Least change of relative luminance (WCAG; BT.1702: 20 cd/m2 of a white of 200)."""

DARKER_BELOW = 0.8
"""Relative luminance that the darker of the two states lies below (BT.1702: 160 cd/m2)."""

SATURATED = 0.8
"""R / (R + G + B) from which a red is saturated (WCAG)."""

RED_CHANGE = 20 / 320
"""Change of R - G - B above which a red transition counts (WCAG: 20, of 320)."""

COLOUR_CHANGE = 0.2
"""Distance in CIE 1976 u'v' above which it counts as well (WCAG since 2023; ISO 9241-391)."""

DARKEST = 0.01
"""R + G + B under which a cell is black and has no chromaticity; ours."""

Turns = NDArray[np.int8]

_RED_U, _RED_V = np.float32(0.4507), np.float32(0.5229)
"""u', v' of the red primary of BT.709."""


@kernel
def _turn_light(light: Light, low: Light, high: Light, way: Turns, turns: Turns) -> None:
    """Follow each cell between its last peak and valley."""
    for i in range(light.size):
        value = light[i]
        turns[i] = 0
        rises = way[i] <= 0 and value - low[i] >= CHANGE and low[i] < DARKER_BELOW
        falls = way[i] >= 0 and high[i] - value >= CHANGE and value < DARKER_BELOW
        if rises or falls:
            turns[i] = way[i] = 1 if rises else -1
            low[i] = high[i] = value
        else:
            low[i] = min(low[i], value)
            high[i] = max(high[i], value)


@kernel
def _turn_red(
    value: Light,
    saturated: NDArray[np.bool_],
    low: Light,
    high: Light,
    low_red: NDArray[np.bool_],
    high_red: NDArray[np.bool_],
    way: Turns,
    turns: Turns,
) -> None:
    """Follow R - G - B; either state of a transition has to be a saturated red."""
    for i in range(value.size):
        now, red = value[i], saturated[i]
        turns[i] = 0
        rises = way[i] <= 0 and now - low[i] > RED_CHANGE and (low_red[i] or red)
        falls = way[i] >= 0 and high[i] - now > RED_CHANGE and (high_red[i] or red)
        if rises or falls:
            turns[i] = way[i] = 1 if rises else -1
            low[i] = high[i] = now
            low_red[i] = high_red[i] = red
            continue
        if now <= low[i]:
            low_red[i] = red or (now == low[i] and low_red[i])
            low[i] = now
        if now >= high[i]:
            high_red[i] = red or (now == high[i] and high_red[i])
            high[i] = now


@kernel
def _turn_colour(
    u: Light, v: Light, saturated: NDArray[np.bool_], known: NDArray[np.bool_],
    last_u: Light, last_v: Light, way: Turns, turns: Turns,
) -> None:  # fmt: skip
    """Follow u'v' between the reddest and the least red of each cell.

    `way` is 2 before a cell's first chromaticity, then 1 in red and -1 out of it.
    """
    for i in range(u.size):
        turns[i] = 0
        if not known[i]:
            continue
        red = saturated[i]
        apart = (u[i] - last_u[i]) ** 2 + (v[i] - last_v[i]) ** 2
        begins = way[i] == 2
        if not begins and red == (way[i] == -1) and apart > COLOUR_CHANGE**2:
            turns[i] = 1 if red else -1
        elif not begins:
            # the state goes on: keep what lies farthest in its own direction
            now = (u[i] - _RED_U) ** 2 + (v[i] - _RED_V) ** 2
            kept = (last_u[i] - _RED_U) ** 2 + (last_v[i] - _RED_V) ** 2
            if red != (way[i] == 1) or (now > kept) == red:
                continue
        way[i] = 1 if red else -1
        last_u[i], last_v[i] = u[i], v[i]


class LightTurns:
    """Transitions of relative luminance, for general flashes.

    Parameters
    ----------
    rows, columns : int
        Of the cells.
    """

    def __init__(self, rows: int, columns: int) -> None:
        size = rows * columns
        self._low = np.full(size, np.inf, np.float32)
        self._high = np.full(size, -np.inf, np.float32)
        self._way = np.zeros(size, np.int8)

    def add(self, light: Light) -> Turns:
        """Take a frame.

        Parameters
        ----------
        light : (3, rows, columns) float32
            Linear R, G, B.

        Returns
        -------
        (rows, columns) int8
        """
        turns = np.empty(light.shape[1:], np.int8)
        value = np.ascontiguousarray(luminance(light)).reshape(-1)
        _turn_light(value, self._low, self._high, self._way, turns.reshape(-1))
        return turns


class RedTurns:
    """Transitions to and from a saturated red, by R - G - B (WCAG 2.0 to 2.2).

    Parameters
    ----------
    rows, columns : int
        Of the cells.
    """

    def __init__(self, rows: int, columns: int) -> None:
        size = rows * columns
        self._low = np.full(size, np.inf, np.float32)
        self._high = np.full(size, -np.inf, np.float32)
        self._low_red, self._high_red = np.zeros((2, size), np.bool_)
        self._way = np.zeros(size, np.int8)

    def add(self, light: Light) -> Turns:
        """Take a frame; as `LightTurns.add`."""
        red, green, blue = light.reshape(3, -1)
        turns = np.empty(light.shape[1:], np.int8)
        _turn_red(
            np.maximum(red - green - blue, 0),
            is_saturated(light).reshape(-1),
            self._low,
            self._high,
            self._low_red,
            self._high_red,
            self._way,
            turns.reshape(-1),
        )
        return turns


class ColourTurns:
    """Transitions to and from a saturated red, by chromaticity (WCAG since 2023).

    Parameters
    ----------
    rows, columns : int
        Of the cells.
    """

    def __init__(self, rows: int, columns: int) -> None:
        size = rows * columns
        self._u, self._v = np.zeros((2, size), np.float32)
        self._way = np.full(size, 2, np.int8)

    def add(self, light: Light) -> Turns:
        """Take a frame; as `LightTurns.add`."""
        turns = np.empty(light.shape[1:], np.int8)
        u, v, known = chromaticity(light)
        _turn_colour(
            u.reshape(-1),
            v.reshape(-1),
            is_saturated(light).reshape(-1),
            known.reshape(-1),
            self._u,
            self._v,
            self._way,
            turns.reshape(-1),
        )
        return turns


def is_saturated(light: Light) -> NDArray[np.bool_]:
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
    saturated: NDArray[np.bool_] = (light[0] > 0) & (
        light[0] >= np.float32(SATURATED) * light.sum(axis=0)
    )
    return saturated


_TO_XYZ = np.array(
    [
        [0.4124564, 0.3575761, 0.1804375],
        [0.2126729, 0.7151522, 0.0721750],
        [0.0193339, 0.1191920, 0.9503041],
    ],
    np.float32,
)


def chromaticity(light: Light) -> tuple[Light, Light, NDArray[np.bool_]]:
    """CIE 1976 u', v' of linear R, G, B (WCAG; the matrix as printed there).

    Parameters
    ----------
    light : (3, rows, columns) float32

    Returns
    -------
    u, v : (rows, columns) float32
    known : (rows, columns) bool
        False where a cell is too dark to have one.
    """
    x, y, z = np.tensordot(_TO_XYZ, light, axes=1)
    whole = np.maximum(x + 15 * y + 3 * z, np.float32(1e-6))
    return 4 * x / whole, 9 * y / whole, light.sum(axis=0) >= np.float32(DARKEST)
