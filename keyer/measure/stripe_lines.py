"""Where light and dark alternate regularly along the lines of a plane, and where in its cycle.

Along each line the edges between light and dark are found, halfway between
adjacent peaks and valleys. Edges that follow each other at like distances make
a run. Between the edges of a run the phase goes on evenly, a half at each; so
the lines beside it tell whether stripes hang together, how they lean, and, from
one frame to the next, how they move.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from keyer.kinds.arrays import Plane
from keyer.pixel.kernels.jit import kernel

LIGHT_STRIPE = 50 / 200
"""Light from which a light stripe counts: 50 cd/m2 of a white of 200 (BT.1702)."""

DIFFERENCE = 20 / 200
"""Least difference of light and dark: 20 cd/m2, that of a flash; ours."""

ALIKE = 1.45
"""Ratio up to which periods that follow each other are alike; ours."""

SLIM = 0.12
"""Share of a period below which a stripe is too slim to be one; ours."""

UNLIKE = 3.0
"""Ratio of differences of light beyond which edges do not belong together; ours."""

LEAST, SURE = 3, 5
"""Edges of a run that may belong to a pattern, and of one that makes a pattern; ours."""

STRAY, STRAYS = 0.08, 0.3
"""Cycles by which the phase of adjacent lines may differ beyond a lean of 45 degrees, and at most;
ours."""

LINES = 8
"""Lines over which stripes have to hang together at least, lest noise make some; ours."""

_END = 1.5
"""Widths of a stripe beyond which what lies at the end of a run is no stripe of it."""

Marks = NDArray[np.uint8]


@dataclass(frozen=True, eq=False)
class Runs:
    """Stripes found along the rows of a plane.

    Attributes
    ----------
    kept : (rows, columns) uint8
        0 no stripes; 1 maybe, 2 surely part of a pattern.
    phase : (rows, columns) float32
        Cycles 0..1, 0 where light begins; -1 outside of runs.
    frequency : (rows, columns) float32
        Cycles to a cell along the row.
    lean : (rows, columns) float32
        Cycles to a cell down the column.
    pairs : (rows,) float32
        Of a light and a dark stripe in the longest run of each row.
    """

    kept: Marks
    phase: Plane
    frequency: Plane
    lean: Plane
    pairs: Plane


@kernel
def _extremes(line: Plane, at: NDArray[np.int32], value: Plane) -> int:
    """Peaks and valleys that differ by `DIFFERENCE` or more; returns how many."""
    low = high = line[0]
    low_at = high_at = way = count = 0
    for i in range(1, line.size):
        now = line[i]
        if way >= 0 and high - now >= DIFFERENCE:
            at[count], value[count] = high_at, high
            count, way, low, low_at = count + 1, -1, now, i
        elif way <= 0 and now - low >= DIFFERENCE:
            at[count], value[count] = low_at, low
            count, way, high, high_at = count + 1, 1, now, i
        elif now > high:
            high, high_at = now, i
        elif now < low:
            low, low_at = now, i
    if way == 0:
        return 0
    at[count], value[count] = (high_at, high) if way > 0 else (low_at, low)
    return int(count + 1)


@kernel
def _edges(line: Plane, at: NDArray[np.int32], value: Plane, edge: Plane, swing: Plane) -> None:
    """Find where the line passes halfway between its extremes; dim swings become 0.

    What stands at an end of the line is no extreme of the pattern: there the
    line passes where it does at the next edge.
    """
    last = edge.size - 1
    for j in range(edge.size):
        first, second = value[j], value[j + 1]
        rise = second - first
        near = j
        if j == 0 and at[0] == 0:
            near = 1
        elif j == last and at[j + 1] == line.size - 1:
            near = last - 1
        middle = np.float32(0.5) * (value[near] + value[near + 1])
        i = at[j] + 1
        while i < at[j + 1] and ((line[i] < middle) if rise > 0 else (line[i] > middle)):
            i += 1
        step = line[i] - line[i - 1]
        part = (middle - line[i - 1]) / step if step != 0 else np.float32(0.5)
        edge[j] = i - 1 + min(max(part, np.float32(-0.5)), np.float32(1.5))
        swing[j] = rise if max(first, second) >= LIGHT_STRIPE else np.float32(0)


@kernel
def _last(edge: Plane, swing: Plane, first: int) -> int:
    """Last edge of the run that begins with `first`."""
    for b in range(first + 1, edge.size):
        ratio = abs(swing[b]) / abs(swing[b - 1])
        if ratio > UNLIKE or ratio * UNLIKE < 1:
            return b - 1
        if b - first >= 2:
            period = edge[b] - edge[b - 2]
            width = edge[b] - edge[b - 1]
            if min(width, period - width) < SLIM * period or width <= 0:
                return b - 1
            before = edge[b - 1] - edge[b - 3] if b - first >= 3 else period
            if period > ALIKE * before or before > ALIKE * period:
                return b - 1
    return int(edge.size - 1)


@kernel
def _ends(edge: Plane, first: int, last: int, size: int) -> tuple[float, float]:
    """Where a run begins and ends, with the stripes at its ends that only one edge bounds."""
    left = edge[first - 1] if first > 0 else -0.5
    right = edge[last + 1] if last + 1 < edge.size else size - 0.5
    width = edge[first + 2] - edge[first + 1]
    gap = edge[first] - left
    begin = edge[first] - (min(gap, width) if gap <= _END * width else 0.0)
    width = edge[last - 1] - edge[last - 2]
    gap = right - edge[last]
    return begin, edge[last] + (min(gap, width) if gap <= _END * width else 0.0)


@kernel
def _write(
    edge: Plane, swing: Plane, first: int, last: int, begin: float, end: float,
    phase: Plane, frequency: Plane, length: Marks,
) -> float:  # fmt: skip
    """Write the phase of a run; returns its pairs."""
    count = min(last - first + 1, 255)
    j = first
    for i in range(max(0, math.ceil(begin)), min(phase.size - 1, math.floor(end)) + 1):
        while j < last - 1 and i >= edge[j + 1]:
            j += 1
        # beyond an end, the stripe there is as wide as the next one of its kind
        near, width = j, edge[j + 1] - edge[j]
        if i < edge[first]:
            width = edge[first + 2] - edge[first + 1]
        elif i >= edge[last]:
            near, width = last, edge[last - 1] - edge[last - 2]
        if length[i] >= count:
            continue
        cycle = (0.5 if swing[near] < 0 else 0.0) + 0.5 * (i - edge[near]) / width
        phase[i] = cycle - math.floor(cycle)
        third = min(j, last - 2)
        frequency[i] = 1 / (edge[third + 2] - edge[third])
        length[i] = count
    start = (edge[first] - begin) / (edge[first + 2] - edge[first + 1])
    stop = (end - edge[last]) / (edge[last - 1] - edge[last - 2])
    return float(0.5 * (last - first + start + stop))


@kernel
def _trace(plane: Plane, phase: Plane, frequency: Plane, length: Marks, pairs: Plane) -> None:
    """Find the runs of every row."""
    rows, size = plane.shape
    at = np.empty(size + 1, np.int32)
    value = np.empty(size + 1, np.float32)
    edges = np.empty(size + 1, np.float32)
    swings = np.empty(size + 1, np.float32)
    for y in range(rows):
        phase[y], frequency[y], length[y], pairs[y] = -1, 0, 0, 0
        count = _extremes(plane[y], at, value) - 1
        if count < LEAST:
            continue
        edge, swing = edges[:count], swings[:count]
        _edges(plane[y], at, value, edge, swing)
        first = 0
        while first + LEAST <= count:
            if swing[first] == 0:
                first += 1
                continue
            last = _last(edge, swing, first)
            if last - first + 1 < LEAST:
                first += 1
                continue
            begin, end = _ends(edge, first, last, size)
            found = _write(edge, swing, first, last, begin, end, phase[y], frequency[y], length[y])
            pairs[y] = max(pairs[y], found)
            first = count if last == count - 1 else last - 1


@kernel
def _hang_together(
    phase: Plane, frequency: Plane, length: Marks, stretch: float, lean: Plane, kept: Marks
) -> None:
    """Keep what goes on across the rows for a period of it."""
    rows, size = phase.shape
    for x in range(size):
        y = 0
        while y < rows:
            lean[y, x], kept[y, x] = 0, 0
            if phase[y, x] < 0:
                y += 1
                continue
            first, total = y, 1 / frequency[y, x]
            y += 1
            while y < rows and phase[y, x] >= 0:
                now, before = frequency[y, x], frequency[y - 1, x]
                step = phase[y, x] - phase[y - 1, x]
                step -= math.floor(step + 0.5)
                if now > ALIKE * before or before > ALIKE * now:
                    break
                if abs(step) > min(1.25 * now * stretch + STRAY, STRAYS):
                    break
                lean[y, x] = step
                total += 1 / now
                y += 1
            lean[first, x] = lean[min(first + 1, y - 1), x]
            across = y - first
            long = across >= LINES and across * across * stretch >= total
            for i in range(first, y):
                kept[i, x] = (2 if length[i, x] >= SURE else 1) if long else 0


def runs_of(plane: Plane, stretch: float = 1.0) -> Runs:
    """Find regular stripes along the rows of a plane.

    Parameters
    ----------
    plane : (rows, columns) float32
        Light, 1 is white.
    stretch : float
        Height of a cell over its width.

    Returns
    -------
    Runs
        Stripes are kept that hang together across the rows for as far as a
        pair of them is wide, and `LINES` rows, leaning by up to 45 degrees or
        a little more.
    """
    shape = plane.shape
    phase, frequency, lean = (np.empty(shape, np.float32) for _ in range(3))
    length, kept = np.empty(shape, np.uint8), np.empty(shape, np.uint8)
    pairs = np.empty(shape[0], np.float32)
    _trace(np.ascontiguousarray(plane), phase, frequency, length, pairs)
    _hang_together(phase, frequency, length, float(stretch), lean, kept)
    return Runs(kept, phase, frequency, lean, pairs)
