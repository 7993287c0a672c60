"""How much of a matte is clear, solid and edge, and where it leaks.

Definitions, formulas and sources: `docs/measures.md`.
"""

from __future__ import annotations

from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass

import cv2
import numpy as np
from numpy.typing import NDArray

from keyer.kinds.arrays import Mask
from keyer.kinds.limits import LIMITS
from keyer.kinds.verdicts import Verdict, judge
from keyer.measure.against_plate import (
    AROUND,
    CLEAR,
    MOSTLY,
    SOLID,
    AgainstPlate,
    KeyedFrom,
    against_plate,
    edge_places,
    edge_slopes,
)

SMALL_SHARE = 0.002
"""Share of the picture up to which an island counts as a hole or a speck."""

BESIDE = 0.04
"""How far from the subject a speck is a loose strand of it, in picture heights; ours: on fourteen
measured mattes of hair, fur and wool all but one have their loose ends within."""


WIDENED = 1.3
"""How many times as wide as those of the plate the edges of a matte may be; ours."""


@dataclass(frozen=True)
class Islands:
    """Count and area of the small regions (holes, or specks) of a matte.

    Attributes
    ----------
    count : int
    area_px : int
        All of them together.
    area_percent : float
        Of the picture.
    semi_transparent_percent : float
        The part of it in islands that are neither clear nor solid anywhere and
        lie well inside: no openings, strands or details of their own, but a
        matte that leaks.
    """

    count: int
    area_px: int
    area_percent: float
    semi_transparent_percent: float


@dataclass(frozen=True)
class Coverage:
    """Measures of a matte: clear, solid and edge shares, holes, specks, edge width.

    Attributes
    ----------
    clear_percent, edge_percent, solid_percent : float
        Of the picture; they add up to 100.
    holes : Islands
        Small regions that are not solid, enclosed by solid.
    specks : Islands
        Small regions that are not clear, enclosed by clear.
    edge_width_px : float
        Median width of the step from clear to solid; 0 where there is no edge.
    plate : AgainstPlate or None
        What of it the plate that it was keyed from does not bear out; None without a plate.
    """

    clear_percent: float
    edge_percent: float
    solid_percent: float
    holes: Islands
    specks: Islands
    edge_width_px: float
    plate: AgainstPlate | None = None


def _own(part: Mask, reach: int) -> NDArray[np.float32]:
    """Count the pixels of a part within a square around each pixel of it."""
    padded = np.pad(part.view(np.uint8), reach // 2)
    counts = cv2.boxFilter(
        padded, cv2.CV_32F, (reach, reach), normalize=False, borderType=cv2.BORDER_CONSTANT
    )
    inner = counts[reach // 2 : reach // 2 + part.shape[0], reach // 2 : reach // 2 + part.shape[1]]
    return np.asarray(inner[part], np.float32)


def _islands(region: NDArray[np.bool_], other: NDArray[np.bool_], beside: float = 0.0) -> Islands:
    """Count the small parts of a region that do not touch the picture's border.

    A part is semi-transparent if it has no pixel of `other` (clear within holes, solid
    within specks) and if most of what lies around it, itself left out, is not of
    the region, as it is not among strands of hair. What lies within `beside`
    picture heights of the rest of the region is a detail of that.
    """
    rows, columns = region.shape
    limit = max(1, round(SMALL_SHARE * region.size))
    count, labels, stats, _ = cv2.connectedComponentsWithStats(
        region.view(np.uint8), connectivity=4
    )
    left, top, width, height, area = stats.T[:5]
    inside = (left > 0) & (top > 0) & (left + width < columns) & (top + height < rows)
    small = inside & (area <= limit)
    small[0] = False
    reach = 2 * round(AROUND * rows) + 1
    outside = cv2.boxFilter(region.view(np.uint8) ^ 1, cv2.CV_32F, (reach, reach), normalize=False)
    pixels = np.flatnonzero(small[labels])
    every, labels = labels, labels.ravel()[pixels]
    faint = small.copy()
    faint[labels[other.ravel()[pixels]]] = False
    around, square = outside.ravel()[pixels], reach * reach
    # what counts against a large part may be that part itself: at most all of it
    most = np.minimum(area, square)[labels]
    faint[labels[around < MOSTLY * (square - most)]] = False
    for part in np.unique(labels[(around < MOSTLY * square) & faint[labels]]):
        box = (
            slice(top[part], top[part] + height[part]),
            slice(left[part], left[part] + width[part]),
        )
        here = every[box] == part
        others = square - _own(here, reach)
        faint[part] = bool((outside[box][here] >= MOSTLY * others).all())
    if beside and faint.any():
        # `labels` holds small parts alone by now; the rest of the region is what is no veil
        rest = region.ravel().copy()
        rest[pixels[faint[labels]]] = False
        far = cv2.distanceTransform((~rest).reshape(rows, columns).view(np.uint8), cv2.DIST_L2, 5)
        faint[labels[far.ravel()[pixels] < beside * rows]] = False
    percent = 100.0 / region.size
    return Islands(
        count=int(np.count_nonzero(small[:count])),
        area_px=int(area[small].sum()),
        area_percent=percent * float(area[small].sum()),
        semi_transparent_percent=percent * float(area[faint].sum()),
    )


def _edge_width(matte: NDArray[np.float32]) -> float:
    """Median of 1 / slope where the matte crosses one half, in pixels.

    The slope takes the steeper of the two neighbours in each direction, so a
    step from one pixel to the next has width 1.
    """
    rows, columns = edge_places(matte)
    if rows.size == 0:
        return 0.0
    slope = np.median(edge_slopes(matte, rows, columns))
    return float(1.0 / np.clip(slope, 1e-6, 1.0))


def measure_coverage(matte: NDArray[np.float32], plate: KeyedFrom | None = None) -> Coverage:
    """Return how much of a matte is clear, solid or edge, with its holes and specks.

    Parameters
    ----------
    matte : (H, W) float32 in [0, 1]
        1 = subject.
    plate : KeyedFrom, optional
        What it was keyed from: tells what is see-through from what is a hole.
    """
    clear = matte <= CLEAR
    solid = matte >= SOLID
    clear_percent = 100.0 * int(np.count_nonzero(clear)) / matte.size
    solid_percent = 100.0 * int(np.count_nonzero(solid)) / matte.size
    with ThreadPoolExecutor(3) as pool:
        held = None if plate is None else pool.submit(against_plate, matte, plate)
        holes = pool.submit(_islands, ~solid, clear)
        specks = pool.submit(_islands, ~clear, solid, BESIDE)
        edge_width_px = _edge_width(matte)
    return Coverage(
        clear_percent=clear_percent,
        edge_percent=max(0.0, 100.0 - clear_percent - solid_percent),
        solid_percent=solid_percent,
        holes=holes.result(),
        specks=specks.result(),
        edge_width_px=edge_width_px,
        plate=None if held is None else held.result(),
    )


def judge_coverage(coverage: Coverage, height: int) -> list[Verdict]:
    """Judge a matte's coverage.

    The remedies are those that help every key; which setting helps one is found by trial
    (`keyer.measure.key_trials`).

    Parameters
    ----------
    coverage : Coverage
    height : int
        Rows of the picture; edges are judged against 4 pixels at 1080 lines
        (common practice; from memory), or against the plate's own.
    """
    lines = max(1.0, height / 1080)
    empty = min(coverage.clear_percent, coverage.solid_percent)
    thin, specks = (
        islands.semi_transparent_percent for islands in (coverage.holes, coverage.specks)
    )
    openings, soft = coverage.holes.area_percent - thin, 0.0
    if coverage.plate is not None:
        held = coverage.plate
        thin, openings, specks = held.holes_percent, held.openings_percent, held.specks_percent
        if held.edge_width_px < 3 * coverage.edge_width_px:  # else its edges lie elsewhere
            soft = held.edge_width_px
    return [
        judge(
            "coverage.holes",
            thin,
            "The subject is thin in places: look for the backing's hue on it, and make the "
            "place solid with a hold-in matte.",
        ),
        judge(
            "coverage.openings",
            openings,
            "Small clear parts lie within the subject: check whether they are backing "
            "seen through it, or parts of it that were keyed out.",
        ),
        judge(
            "coverage.specks",
            specks,
            "Noise shows in the backing: light it more evenly, or cover what is not "
            "backing with a garbage matte.",
        ),
        judge(
            "coverage.edge_width",
            coverage.edge_width_px,
            "Check the focus, or record with more chroma (4:2:2 or 4:4:4).",
            scale=max(lines, WIDENED * soft / LIMITS["coverage.edge_width"].watch),
        ),
        judge(
            "coverage.balance",
            100.0 - empty,
            "The matte is all clear or all solid: check by which hue or key source it is "
            "keyed, and that the backing is in the picture.",
        ),
    ]
