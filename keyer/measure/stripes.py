"""Hazardous stripes: regular patterns of light and dark that can hurt people at risk.

After ITU-R BT.1702 and the guidance that goes with it [bt1702] (figures from
memory): clearly discernible stripes in any orientation, parallel or radial,
curved or straight, of more than five pairs of light and dark, may cover a
quarter of the picture where they flash, reverse, oscillate or change
direction, and 40 % where they stand still or drift one way; the light ones at
50 cd/m2 or more. They have to last longer than half a second (Wilkins, Emmett,
Harding 2005). White is taken as 200 cd/m2, and a difference of 20 cd/m2, that of
a flash, as discernible (ours).

Stripes are found along the rows and the columns of the picture, at three sizes
of it (`keyer.measure.stripe_lines`), and about a middle to which edges point
(`keyer.measure.stripe_wheels`). What hangs together is one pattern; its pairs are
those along the straight line, or around the middle, that crosses most of it.
Differences of colour alone are not looked at.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from fractions import Fraction
from typing import NamedTuple

import cv2
import numpy as np
from numpy.typing import NDArray

from keyer.kinds.arrays import Plane
from keyer.kinds.limits import LIMITS
from keyer.measure.cells import WHOLE, Place, place_of
from keyer.measure.stripe_lines import Marks, Runs, runs_of
from keyer.measure.stripe_wheels import Wheel, wheel_of

MOST_PAIRS = 5
"""Pairs of a light and a dark stripe (BT.1702, from memory; EFA 2005)."""

AREA_CHANGING = LIMITS["stripes.pattern"].watch / 100
AREA_STEADY = LIMITS["stripes.pattern"].fails / 100
"""Shares of the picture that stripes may cover (BT.1702, from memory)."""

SECONDS = Fraction(1, 2)
"""How long they may last (Wilkins 2005; EFA 2005)."""

COUNTED = 0.35
"""Pairs by which a count of five may be too large; ours, from trials."""

_DETAIL, _DETAILED = 0.025, 0.3
"""How far a cell is from those beside it, and the share of such cells, from which all of them are
looked at and not their means alone."""

_CORE = 0.4
"""Least share of a pattern that is surely one."""

_SMALL = 0.02
"""Share of the picture under which a pattern is left out."""

_TURNS = 12
"""Directions in half a turn along which pairs are counted, besides the diagonals."""


class Pattern(NamedTuple):
    """Regular stripes of one picture, on a grid of a quarter as many cells each way.

    `area` is the share of the picture under stripes of more than five pairs;
    `phase` is where in its cycle each cell lies, -1 outside; `source` tells
    phases apart that cannot be compared; `contrast` is the spread of light.
    """

    pairs: float
    angle_deg: float
    area: float
    place: Place
    phase: Plane
    source: Marks
    contrast: float


_NOTHING = np.zeros((0, 0), np.float32)
NO_PATTERN = Pattern(0.0, 0.0, 0.0, WHOLE, _NOTHING, np.zeros((0, 0), np.uint8), 0.0)


@dataclass(frozen=True, eq=False)
class _Field:
    """Stripes at each cell: how sure, phase and cycles to a cell across and down, and their source.

    `kept` is 0, 1 for maybe and 2 for surely.
    """

    kept: Marks
    phase: Plane
    across: Plane
    down: Plane
    source: Marks

    def lay(self, runs: Runs, source: int, *, turned: bool) -> None:
        """Take over the runs where nothing surer is known; they may be of another size."""
        shape = self.kept.shape
        parts: list[Plane] = [runs.kept.astype(np.float32), runs.phase, runs.frequency, runs.lean]
        if turned:
            parts = [np.ascontiguousarray(part.T) for part in parts]
            parts[2], parts[3] = parts[3], parts[2]
        down, across = (b / a for a, b in zip(shape, parts[0].shape, strict=True))
        size = (shape[1], shape[0])
        kept, phase, along, aside = (
            part if part.shape == shape else cv2.resize(part, size, interpolation=cv2.INTER_NEAREST)
            for part in parts
        )
        better = kept > self.kept
        self.kept[better], self.source[better] = kept[better].astype(np.uint8), source
        self.phase[better] = phase[better]
        self.across[better], self.down[better] = across * along[better], down * aside[better]


def reduced(plane: Plane) -> Plane:
    """Return a plane at half its size, each pixel the mean of four."""
    rows, columns = (max(1, side // 2) for side in plane.shape)
    return np.asarray(cv2.resize(plane, (columns, rows), interpolation=cv2.INTER_AREA), np.float32)


def _sure(runs: list[Runs]) -> float:
    """Share of the cells that are surely striped in one of the two directions at most."""
    return sum(float(np.count_nonzero(run.kept == 2)) / run.kept.size for run in runs)


def _both(plane: Plane) -> list[Runs]:
    return [runs_of(plane), runs_of(np.ascontiguousarray(plane.T))]


def detailed(light: Plane, half: Plane) -> bool:
    """Whether there is detail that the halved plane does not show."""
    again = cv2.resize(half, (light.shape[1], light.shape[0]), interpolation=cv2.INTER_NEAREST)
    return float(np.mean(np.abs(light - again) > _DETAIL)) > _DETAILED


def find_stripes(light: Plane) -> Pattern:
    """Find the regular stripes of a picture.

    Parameters
    ----------
    light : (rows, columns) float32
        Light of the fine cells as a screen shows it, 1 is white.

    Returns
    -------
    Pattern
        Area 0 where there are none.
    """
    if min(light.shape) < 16:
        return NO_PATTERN
    half = reduced(light)
    quarter = reduced(half)
    planes = [half, quarter, light] if detailed(light, half) else [half, quarter]
    views = [_both(plane) for plane in planes]
    shape = quarter.shape[0], quarter.shape[1]
    wheel = wheel_of(light, quarter, shape)
    if wheel is None and max(map(_sure, views)) < AREA_CHANGING / 4:
        return NO_PATTERN
    field = _Field(
        np.zeros(shape, np.uint8),
        np.full(shape, -1, np.float32),
        np.zeros(shape, np.float32),
        np.zeros(shape, np.float32),
        np.zeros(shape, np.uint8),
    )
    for level, view in enumerate(views):
        for turned, runs in enumerate(view):
            field.lay(runs, 1 + 2 * level + turned, turned=bool(turned))
    return _pattern(field, wheel, quarter)


def _pattern(field: _Field, wheel: Wheel | None, light: Plane) -> Pattern:
    """Take what hangs together as one pattern, and count its pairs."""
    around = np.zeros(field.kept.shape, np.uint8)
    if wheel is not None:
        around = wheel.kept
        better = around > field.kept
        field.phase[better], field.source[better] = wheel.phase[better], 255
    seen = _closed(np.maximum(field.kept, around), 3)
    surely = (field.kept == 2) | (around == 2)
    count, labels = cv2.connectedComponents(_closed(seen, _gap(field)))
    cells = np.bincount(labels[seen > 0], minlength=count)
    sure = np.bincount(labels[surely], minlength=count)
    area, best, largest = 0.0, (0.0, 0.0), seen > 0
    for part in range(1, count):
        if cells[part] < _SMALL * seen.size or sure[part] < _CORE * cells[part]:
            continue
        here = labels == part
        pairs, angle = _count(field, here)
        if wheel is not None and np.count_nonzero(around[here]) > cells[part] / 2:
            pairs = wheel.pairs
        if pairs > MOST_PAIRS + COUNTED:
            area += float(cells[part]) / seen.size
        if pairs > best[0]:
            best, largest = (pairs, angle), here & (seen > 0)
    if best[0] == 0:
        return NO_PATTERN
    shown = seen > 0
    phase = np.where(shown, field.phase, np.float32(-1))
    contrast = float(light[shown].std())
    return Pattern(*best, area, _place(largest), phase, field.source, contrast)


def _closed(kept: Marks, side: int) -> Marks:
    square = np.ones((side, side), np.uint8)
    return cv2.morphologyEx((kept > 0).astype(np.uint8), cv2.MORPH_CLOSE, square).astype(np.uint8)


def _gap(field: _Field) -> int:
    """Cells over which a pattern goes on unseen, as in the middle of rings: a pair or so."""
    sure = field.kept == 2
    if not sure.any():
        return 3
    pair = 1 / np.median(np.hypot(field.across[sure], field.down[sure]))
    return int(max(3, min(round(1.3 * pair), min(sure.shape) // 2) | 1))


def _place(mask: NDArray[np.bool_]) -> Place:
    y, x = np.nonzero(mask)
    rows, columns = mask.shape
    return place_of(
        x.min() / columns, y.min() / rows, (x.max() + 1) / columns, (y.max() + 1) / rows
    )


def _count(field: _Field, here: NDArray[np.bool_]) -> tuple[float, float]:
    """Most pairs along any straight line across a part, and the way in which the stripes follow."""
    known = here & (field.kept > 0)
    if not known.any():
        return 0.0, 0.0
    ky, kx = np.where(known, field.down, 0), np.where(known, field.across, 0)
    size = np.hypot(ky, kx)
    angle = math.degrees(np.angle(np.sum(size * np.exp(2j * np.arctan2(ky, kx)))) / 2) % 180
    rows, columns = here.shape
    side = math.ceil(math.hypot(rows, columns))
    slope = math.degrees(math.atan2(rows, columns))
    most = 0.0
    for turn in [*range(0, 180, 180 // _TURNS), slope, 180 - slope]:
        cos, sin = math.cos(math.radians(turn)), math.sin(math.radians(turn))
        cycles = np.abs(kx * np.float32(cos) + ky * np.float32(sin))
        turned = cv2.getRotationMatrix2D(((columns - 1) / 2, (rows - 1) / 2), turn, 1)
        turned[:, 2] += (side - columns) / 2, (side - rows) / 2
        lines = cv2.warpAffine(cycles, turned, (side, side), flags=cv2.INTER_NEAREST)
        most = max(most, float(lines.sum(axis=1).max()))
    return most, round(angle, 1)
