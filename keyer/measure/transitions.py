"""Where the light of each cell turns: the opposing changes of which a flash is made.

A transition lies between an adjacent peak and valley of a cell's light along
time, and a flash is two opposing transitions (WCAG, "general flash and red
flash thresholds") [wcag]. Each watcher takes a frame at a time and says which
share of each coarse cell a transition has come about on: up > 0, down < 0.

A transition is looked for in the fine cells. A cell on the outline of what
changes is part of it and changes less; so beside a cell with a transition, one
that changes less counts for the share of the change that it has, and a little
more (`SLACK`), so that an area comes out large rather than small. What turns up
and down at once within a coarse cell evens out, unless its mean turns.
"""

from __future__ import annotations

import cv2
import numpy as np
from numpy.typing import NDArray

from keyer.measure.cells import FINE, Light
from keyer.pixel.kernels.jit import kernel

CHANGE = 0.1
"""Least change of relative luminance (WCAG; BT.1702: 20 cd/m2 of a white of 200)."""

DARKER_BELOW = 0.8
"""Relative luminance that the darker of the two states lies below (BT.1702: 160 cd/m2)."""

SLACK = 0.04
"""Share of a cell that a cell on the outline counts beyond what it seems to change; ours."""

_TOUCHED = 0.02
"""Share of the change beside it from which a cell is on the outline of what changes."""

_FLAT, _FLATS = 0.95, 2
"""Share of the largest change, and cells of nine that have it, inside a sharp outline; ours."""

_SLOPE = 0.9
"""Share of the change beside it up to which a cell is taken for one on an outline, and not on a
slope of light that does not reach the limit there; ours."""

_STILL = 0.05
"""Share of the largest change that a cell outside of a sharp outline may have; ours."""

_ALIKE = 0.8
"""Share of the cells that turn near a coarse one, up less down, from which they turn together;
ours."""

Shares = NDArray[np.float32]
Way = NDArray[np.int8]


@kernel
def _light_steps(value: Light, low: Light, high: Light, way: Way, step: Light) -> bool:
    """How far each cell has gone since its last peak or valley, where that is a transition."""
    found = False
    for i in range(value.size):
        now = value[i]
        step[i] = 0
        if way[i] <= 0 and now - low[i] >= CHANGE and low[i] < DARKER_BELOW:
            step[i] = now - low[i]
            found = True
        elif way[i] >= 0 and high[i] - now >= CHANGE and now < DARKER_BELOW:
            step[i] = now - high[i]
            found = True
    return found


@kernel
def _share_out(
    step: Light, rise: Light, fall: Light, value: Light, low: Light, high: Light, way: Way,
    share: Shares,
) -> None:  # fmt: skip
    """Share of each cell on which a transition has come about.

    `rise` and `fall` are the largest steps up and down within two cells of each. A
    cell that turns does so with all of it, but on a sharp outline. One that changes
    less than that has its share of the change beside it, but on a slope of light.
    """
    rows, columns = step.shape
    for y in range(rows):
        for x in range(columns):
            here, up, down = step[y, x], rise[y, x], -fall[y, x]
            share[y, x] = 0
            if here == 0 and up == 0 and down == 0:
                continue
            rises = here > 0 or (here == 0 and up > 0 and up >= down and way[y, x] <= 0)
            if not rises and not here < 0 and (down == 0 or way[y, x] < 0):
                continue
            most = up if rises else down
            gone = value[y, x] - low[y, x] if rises else high[y, x] - value[y, x]
            if here == 0 and gone < _TOUCHED * most:
                continue
            part = min(gone / most + np.float32(SLACK), np.float32(1))
            flat = still = 0
            reach = 1 if here != 0 else 2
            if part < 1 if here != 0 else gone >= _SLOPE * most:
                for j in range(max(y - reach, 0), min(y + reach + 1, rows)):
                    for i in range(max(x - reach, 0), min(x + reach + 1, columns)):
                        change = value[j, i] - low[j, i] if rises else high[j, i] - value[j, i]
                        flat += change >= _FLAT * most
                        still += change <= _STILL * most
                sharp = still > 0 and (here == 0 or flat >= _FLATS or 2 * gone < most)
                if not sharp:
                    part = np.float32(1 if here != 0 else 0)
            share[y, x] = part if rises else -part


class Cells:
    """The last peak and valley of each cell of a grid.

    Parameters
    ----------
    shape : (rows, columns)
    whole : bool
        Whether a cell turns with all of it or not at all.
    """

    def __init__(self, shape: tuple[int, int], *, whole: bool = False) -> None:
        self.whole = whole
        self.low = np.full(shape, np.inf, np.float32)
        self.high = np.full(shape, -np.inf, np.float32)
        self.way = np.zeros(shape, np.int8)
        self.step = np.zeros(shape, np.float32)
        self.share = np.zeros(shape, np.float32)

    def share_out(self, value: Light, *, found: bool) -> None:
        """Turn the steps into shares, if any were found."""
        if not found:
            return
        if self.whole:
            np.sign(self.step, out=self.share)
            return
        square = np.ones((5, 5), np.uint8)
        rise = np.asarray(cv2.dilate(self.step, square), np.float32)
        fall = np.asarray(cv2.erode(self.step, square), np.float32)
        _share_out(self.step, rise, fall, value, self.low, self.high, self.way, self.share)

    def settle(self, value: Light, *, found: bool) -> None:
        """Begin anew where a cell has turned; else go on with its lowest and highest."""
        np.minimum(self.low, value, out=self.low)
        np.maximum(self.high, value, out=self.high)
        if found:
            turned = self.share != 0
            self.low[turned] = self.high[turned] = value[turned]
            self.way[turned] = np.sign(self.share[turned])


class _Lights(Cells):
    """Transitions of luminance in the cells of one grid."""

    def turn(self, value: Light) -> Shares | None:
        """Take a frame; None where nothing turns."""
        found = _light_steps(
            value.reshape(-1), self.low.reshape(-1), self.high.reshape(-1),
            self.way.reshape(-1), self.step.reshape(-1),
        )  # fmt: skip
        self.share_out(value, found=found)
        self.settle(value, found=found)
        return self.share if found else None


def together(fine: Shares | None, coarse: Shares | None, shape: tuple[int, int]) -> Shares | None:
    """Return the share of each coarse cell that turns, from the fine cells in it and about it.

    Parameters
    ----------
    fine : (3 rows, 3 columns) float32, or None
    coarse : (rows, columns) float32, or None
        -1, 0 or 1 by the mean of each coarse cell.
    shape : (rows, columns)

    Returns
    -------
    (rows, columns) float32, or None
        Share of each coarse cell that turns one way. Where the fine cells in it
        and about it turn both ways at once, it turns as its mean does, if that
        does.
    """
    if fine is None:
        return coarse
    size = shape[1], shape[0]
    net = np.asarray(cv2.resize(fine, size, interpolation=cv2.INTER_AREA), np.float32)
    all_ = np.asarray(cv2.resize(np.abs(fine), size, interpolation=cv2.INTER_AREA), np.float32)
    mean = np.zeros(shape, np.float32) if coarse is None else coarse
    near = np.abs(cv2.blur(net, (3, 3))), cv2.blur(all_, (3, 3))
    return np.where(near[0] >= np.float32(_ALIKE) * near[1], net, mean).astype(np.float32)


class LightTurns:
    """Transitions of luminance, for general flashes.

    Parameters
    ----------
    rows, columns : int
        Of the coarse cells.
    """

    def __init__(self, rows: int, columns: int) -> None:
        self._shape = (rows, columns)
        self._fine = _Lights((FINE * rows, FINE * columns))
        self._coarse = _Lights(self._shape, whole=True)

    def add(self, value: Light) -> Shares | None:
        """Take the next frame, and return how much of each cell turns in it.

        Parameters
        ----------
        value : (3 rows, 3 columns) float32
            Luminance of the fine cells, 1 is white.

        Returns
        -------
        (rows, columns) float32 in [-1, 1], or None
            None where nothing turns.
        """
        mean = cv2.resize(value, self._shape[::-1], interpolation=cv2.INTER_AREA)
        coarse = self._coarse.turn(np.asarray(mean, np.float32))
        return together(self._fine.turn(value), coarse, self._shape)
