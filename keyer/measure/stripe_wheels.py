"""Stripes about a middle: spokes that run together in it, and rings around it.

No straight line crosses more than half of the spokes of a full wheel, and a
line crosses rings squarely only where it passes the middle. So the place is
voted for to which most edges point, or most of what is at right angles to them,
and the picture is unrolled about it: spokes along circles, rings along
diameters. In the unrolled plane they are straight.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Literal

import cv2
import numpy as np
from numpy.typing import NDArray

from keyer.kinds.arrays import Plane
from keyer.measure.stripe_lines import Marks, Runs, runs_of
from keyer.pixel.kernels.jit import kernel

Kind = Literal["spokes", "rings"]

ANGLES, DISTANCES = 720, 100
"""Columns and rows of unrolled spokes."""

HALF_TURN = 60
"""Rows of unrolled rings: diameters in half a turn."""

NEAREST = 3.0
"""Distance from the middle, in cells, from which spokes are looked at."""

STEEP = 0.05
"""Step of light to a cell from which an edge votes."""

_VOTES, _ABOVE, _WAYS = 60, 4, 5
"""Votes, times the mean, and directions of 16 that a middle needs."""

_POINT, _NEAR = 0.15, 0.06
"""Share of the edges that point to it, and how well: the sine of the angle they miss by."""

_BIN = 2

Middle = tuple[float, float]


@dataclass(frozen=True, eq=False)
class Wheel:
    """Spokes or rings about a middle, as they lie in the picture.

    Attributes
    ----------
    kept : (rows, columns) uint8
        0 none; 1 maybe, 2 surely.
    phase : (rows, columns) float32
        Cycles 0..1; -1 outside.
    pairs : float
        Of a light and a dark one, around the middle or along the longest diameter.
    """

    kept: Marks
    phase: Plane
    pairs: float


@kernel
def _vote(
    dx: Plane, dy: Plane, steep: Plane, votes: NDArray[np.int32], ways: NDArray[np.int32]
) -> None:
    """Let the ridge of each edge vote for the bins along (dx, dy), in a field twice the picture."""
    rows, columns = steep.shape
    high, wide = votes.shape
    for y in range(1, rows - 1):
        for x in range(1, columns - 1):
            here = steep[y, x]
            if here < STEEP:
                continue
            along, aside = dx[y, x], dy[y, x]
            way = 1 << (int(16 * (math.atan2(aside, along) / math.pi + 1)) % 16)
            for side in (-1, 1):
                for step in range(2, rows + columns, _BIN):
                    by = int((y + side * step * aside + rows / 2) / _BIN)
                    bx = int((x + side * step * along + columns / 2) / _BIN)
                    if not (0 <= by < high and 0 <= bx < wide):
                        break
                    votes[by, bx] += 1
                    ways[by, bx] |= way


@dataclass(frozen=True, eq=False)
class Slopes:
    """The steepest cells across each edge of a plane, and which way is up: unit vectors.

    Attributes
    ----------
    across, down : (rows, columns) float32
    steep : (rows, columns) float32
        Light to a cell; 0 beside the ridge of an edge.
    """

    across: Plane
    down: Plane
    steep: Plane


def slopes_of(plane: Plane) -> Slopes:
    """Find where light changes, and which way.

    Parameters
    ----------
    plane : (rows, columns) float32
    """
    across = cv2.Scharr(plane, cv2.CV_32F, 1, 0, scale=1 / 32)
    down = cv2.Scharr(plane, cv2.CV_32F, 0, 1, scale=1 / 32)
    steep = np.hypot(across, down)
    upright = np.abs(across) >= np.abs(down)
    before, after = np.zeros_like(steep), np.zeros_like(steep)
    middle = np.s_[1:-1, 1:-1]
    before[middle] = np.where(upright[middle], steep[1:-1, :-2], steep[:-2, 1:-1])
    after[middle] = np.where(upright[middle], steep[1:-1, 2:], steep[2:, 1:-1])
    length = np.maximum(steep, np.float32(1e-6))
    ridge = np.where((steep >= before) & (steep > after), steep, np.float32(0))
    return Slopes(_plane(across / length), _plane(down / length), _plane(ridge))


def _plane(values: NDArray[np.floating]) -> Plane:
    return np.asarray(values, np.float32)


def middle_of(slopes: Slopes, kind: Kind) -> Middle | None:
    """Return the point to which most edges, or the lines at right angles to them, lead.

    Parameters
    ----------
    slopes : Slopes
    kind : {"spokes", "rings"}

    Returns
    -------
    x, y : float, or None
        In cells; may lie outside of the picture by half its size.
    """
    rows, columns = slopes.steep.shape
    votes = np.zeros((rows // _BIN * 2 + 2, columns // _BIN * 2 + 2), np.int32)
    ways = np.zeros_like(votes)
    if kind == "rings":
        _vote(slopes.across, slopes.down, slopes.steep, votes, ways)
    else:
        _vote(-slopes.down, slopes.across, slopes.steep, votes, ways)
    enough = np.where(np.bitwise_count(ways) >= _WAYS, votes, 0)
    by, bx = divmod(int(enough.argmax()), votes.shape[1])
    if enough[by, bx] < max(_VOTES, _ABOVE * votes.mean()):
        return None
    return _refined(slopes, kind, ((bx + 0.5) * _BIN - columns / 2, (by + 0.5) * _BIN - rows / 2))


def _refined(slopes: Slopes, kind: Kind, middle: Middle) -> Middle | None:
    """Move a middle to where what points to it meets; None if too little does."""
    y, x = np.nonzero(slopes.steep >= STEEP)
    a, b = slopes.across[y, x], slopes.down[y, x]  # at right angles to what should point there
    if kind == "rings":
        a, b = -b, a
    for _ in range(3):
        dx, dy = x - middle[0], y - middle[1]
        away = np.hypot(dx, dy)
        pointing = (np.abs(a * dx + b * dy) < _NEAR * away + 1) & (away > 2)
        if pointing.sum() < _POINT * x.size:
            return None
        p, q, weight = a[pointing], b[pointing], 1 / away[pointing]
        matrix = np.array([[(weight * p * p).sum(), (weight * p * q).sum()],
                           [(weight * p * q).sum(), (weight * q * q).sum()]])  # fmt: skip
        if np.linalg.cond(matrix) > 1e3:
            return None
        along = weight * (p * x[pointing] + q * y[pointing])
        found = np.linalg.solve(matrix, [(p * along).sum(), (q * along).sum()])
        middle = float(found[0]), float(found[1])
    return middle


def _unrolled(plane: Plane, columns: Plane, rows: Plane) -> Plane:
    """Take a plane at some places; beyond its edge it goes on as it is there."""
    where = columns.astype(np.float32), rows.astype(np.float32)
    taken = cv2.remap(plane, *where, cv2.INTER_LINEAR, borderMode=cv2.BORDER_REPLICATE)
    return np.asarray(taken, np.float32)


def _pairs(runs: Runs, columns: Plane, rows: Plane, shape: tuple[int, ...]) -> float:
    """Most cycles along a row of an unrolled plane, within the picture."""
    inside = (columns >= -0.5) & (columns < shape[1] - 0.5)
    inside &= (rows >= -0.5) & (rows < shape[0] - 0.5)
    sure = (runs.kept == 2).any(axis=1)
    return float((runs.frequency * inside).sum(axis=1)[sure].max(initial=0))


def _rolled(
    runs: Runs, row: NDArray[np.floating], column: NDArray[np.floating], inside: NDArray[np.bool_]
) -> tuple[Marks, Plane]:
    """Take marks and phases back to where they were unrolled from."""
    high, wide = runs.kept.shape
    at = row.astype(np.int32).clip(0, high - 1), column.astype(np.int32).clip(0, wide - 1)
    kept = np.where(inside, runs.kept[at], np.uint8(0))
    return kept, np.where(inside, runs.phase[at], np.float32(-1))


def _places(plane: Plane, middle: Middle, shape: tuple[int, int]) -> tuple[Plane, Plane]:
    """Where the cells of a grid lie from the middle: across and down, in cells of the plane."""
    y, x = np.indices(shape, np.float32) + np.float32(0.5)
    x *= np.float32(plane.shape[1] / shape[1])
    y *= np.float32(plane.shape[0] / shape[0])
    return x - np.float32(middle[0] + 0.5), y - np.float32(middle[1] + 0.5)


def _spokes(plane: Plane, middle: Middle, shape: tuple[int, int]) -> Wheel:
    x, y = middle
    high, wide = plane.shape
    cut = math.atan2(y - high / 2, x - wide / 2)  # away from the picture's middle
    far = math.hypot(max(x, wide - x), max(y, high - y))
    step = math.log(max(far, 2 * NEAREST) / NEAREST) / DISTANCES
    angle = cut + 2 * math.pi * (np.arange(ANGLES) + 0.5) / ANGLES
    away = NEAREST * np.exp(step * (np.arange(DISTANCES) + 0.5))[:, np.newaxis]
    columns, rows = x + away * np.cos(angle), y + away * np.sin(angle)
    runs = runs_of(_unrolled(plane, columns, rows), step * ANGLES / (2 * math.pi))
    dx, dy = _places(plane, middle, shape)
    length = np.hypot(dx, dy)
    row = np.log(np.maximum(length, NEAREST) / NEAREST) / step
    column = (np.arctan2(dy, dx) - cut) / (2 * math.pi) % 1 * ANGLES
    kept, phase = _rolled(runs, row, column, length >= NEAREST)
    return Wheel(kept, phase, _pairs(runs, columns, rows, plane.shape))


def _rings(plane: Plane, middle: Middle, shape: tuple[int, int]) -> Wheel:
    x, y = middle
    high, wide = plane.shape
    reach = math.ceil(math.hypot(max(x, wide - x), max(y, high - y)))
    angle = math.pi * (np.arange(HALF_TURN) + 0.5)[:, np.newaxis] / HALF_TURN
    away = np.arange(-reach, reach + 1)
    columns, rows = x + away * np.cos(angle), y + away * np.sin(angle)
    # an arc of a tenth of a turn is as long as a ring needs to be, wherever it lies
    runs = runs_of(_unrolled(plane, columns, rows), reach)
    dx, dy = _places(plane, middle, shape)
    turn = np.arctan2(dy, dx) / math.pi
    length = np.hypot(dx, dy)
    column = np.where(turn >= 0, length, -length) + (reach + 0.5)
    kept, phase = _rolled(runs, turn % 1 * HALF_TURN, column, length >= 0)
    return Wheel(kept, phase, _pairs(runs, columns, rows, plane.shape))


def wheel_of(plane: Plane, small: Plane, shape: tuple[int, int]) -> Wheel | None:
    """Find regular spokes or rings.

    Parameters
    ----------
    plane : (rows, columns) float32
        Light.
    small : (h, w) float32
        The same, reduced; in it the middle is looked for.
    shape : (rows, columns)
        Of the grid on which they are given.

    Returns
    -------
    Wheel or None
        The one that covers more.
    """
    slopes = slopes_of(small)
    more = plane.shape[1] / small.shape[1]
    found = []
    kinds: tuple[Kind, ...] = ("spokes", "rings")
    for kind in kinds:
        middle = middle_of(slopes, kind)
        if middle is not None:
            x, y = (more * (part + 0.5) - 0.5 for part in middle)
            unroll = _rings if kind == "rings" else _spokes
            found.append(unroll(plane, (x, y), shape))
    return max(found, key=lambda wheel: np.count_nonzero(wheel.kept == 2), default=None)
