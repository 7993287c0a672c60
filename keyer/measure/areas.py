"""Areas of one paint in a picture, and which of them can be a wall to key.

A wall is known as an eye knows it: one hue and one purity, whatever the light
on it. The signal of BT.709-6 item 1.2 (and BT.601-7 item 2.6) is V = 1.099 L^0.45
- 0.099, so V + 0.099 is multiplied as a whole where there is more light L, and
chroma, a difference of signals, by as much: chroma over luma + 0.099 is the same
in the lamp's pool and in the darkest corner. Black cloth with a trace of the
wall's light has the hue but a fraction of the purity; a sky has the hue, and
grows paler towards the horizon.
"""

from __future__ import annotations

from dataclasses import dataclass

import cv2
import numpy as np
from numpy.typing import NDArray

from keyer.kinds.arrays import Mask, Plane, Planes
from keyer.kinds.picture import Matrix
from keyer.measure.hues import hue_distance
from keyer.measure.plate import OFFSET, REACH_DEG, SmallCopy, inner, purity_of
from keyer.pixel.colour.luma_chroma import rgb_to_ycc

REACH = 0.45
"""How far a pixel of an area may be from the area's purity, as a power of two."""

EXPONENT = 0.45
"""Of the signal's curve (BT.709-6 item 1.2)."""

FAINT = 0.03
"""Chroma below which a pixel speaks for nothing."""

LEAST_PURITY = 0.12
"""Purity below which a pixel is no part of a wall: grey with a tint."""

MOST = 8
"""Areas that are looked at."""

FEWEST = 0.02
"""Share of the picture below which hue and purity make no area."""

FAINTEST_PEAK = 0.01
"""What speaks for an area at least, as a share of what speaks for the first."""

HUE_STEP, HUES = 3.0, 120
"""Degrees to a bin of hue, and bins."""

PURITY_STEP, PURITIES, LOWEST = 0.1, 64, -3.2
"""Bins of purity, as powers of two: their size, how many, and where they begin."""

TOLD = 4000
"""Pixels from which spreads are told, about."""

CLIPPED = 0.97
"""Signal from which a pixel may be brighter than the code says, and purer or of another hue."""

UNCLIPPED, BURNT = 0.2, 0.6
"""Share of an area that must be unclipped for the rest to be left out of account, and how much the
spread of hue and purity counts in an area that is nearly all clipped."""


@dataclass(frozen=True, eq=False)
class Area:
    """A part of a picture that has one hue and one purity: it may be a wall.

    Attributes
    ----------
    mask : (h, w) bool
        On the small copy.
    hue_deg, purity : float
        Medians; purity is chroma over luma + 0.099.
    weight : float
        What speaks for it: its pixels by chroma, those at the border more.
    share : float
        Of the picture.
    sides : tuple of four floats
        Share of the top, bottom, left and right side of the picture.
    top : float
        Row below which 95 % of it lie, 0 to 1.
    hue_spread, paling : float
        Spread of hue in degrees and of purity as a power of two, half a
        normal spread to either side of the median.
    texture : float
        Median change of light within 3 x 3 pixels, in stops.
    gradual : float
        Share of its edge across which hue and purity change slowly.
    """

    mask: Mask
    hue_deg: float
    purity: float
    weight: float
    share: float
    sides: tuple[float, float, float, float]
    top: float
    hue_spread: float
    paling: float
    texture: float
    gradual: float

    @property
    def shades(self) -> float:
        """Spread of hue in radians, times purity: of a pale paint the hue is known less well."""
        return self.purity * float(np.radians(self.hue_spread))

    @property
    def fading(self) -> float:
        """How far it both pales and has gradual edges: hair makes a wall's edges gradual, too."""
        return self.paling * self.gradual


@dataclass(frozen=True, eq=False)
class _Tones:
    """What every pixel of the copy says of paint and light.

    `bins` tells its hue and purity as the place in a table, `weight` how much it speaks for a wall
    (nothing where it has no hue), `change` the light's range about it in stops; `soft` is the
    picture smoothed.
    """

    matrix: Matrix
    bins: NDArray[np.int64]
    weight: Plane
    change: Plane
    soft: Planes
    clipped: Mask


def find_areas(copy: SmallCopy, matrix: Matrix) -> list[Area]:
    """Find the areas of one hue and one purity in a picture.

    Parameters
    ----------
    copy : SmallCopy
    matrix : {"bt601", "bt709"}

    Returns
    -------
    list of Area
        At most `MOST`, the one that most speaks for first.
    """
    tones = _tones(copy, matrix)
    areas: list[Area] = []
    for hue, purity in _peaks(tones):
        mask = _large_parts(_table(hue, purity, 1.0)[tones.bins] & (tones.weight > 0))
        taken = any((mask & area.mask).sum() > 0.5 * mask.sum() for area in areas)
        if mask.any() and not taken:
            areas.append(_described(tones, mask, hue, purity))
    return sorted(areas, key=lambda area: -area.weight)


def spot_on(area: Area, copy: SmallCopy, height: int, width: int) -> tuple[int, int, int, int]:
    """Choose a spot in the most even part of an area, as large as a sample need be.

    Parameters
    ----------
    area : Area
    copy : SmallCopy
    height, width : int
        Of the picture in pixels.

    Returns
    -------
    (x, y, width, height)
        In pixels of the picture.
    """
    even = area.mask & copy.even
    clear = np.pad((even if even.any() else area.mask).view(np.uint8), 1)
    room = cv2.distanceTransform(clear, cv2.DIST_C, 3)[1:-1, 1:-1]
    middle = np.unravel_index(int(room.argmax()), room.shape)
    reach = min(int(room.max()) - 1, max(1, round(0.05 * min(room.shape))))
    top, left = (int(place - reach) * copy.step for place in middle)
    side = (2 * reach + 1) * copy.step
    return left, top, min(side, width - left), min(side, height - top)


def _tones(copy: SmallCopy, matrix: Matrix) -> _Tones:
    across = (copy.hue / HUE_STEP).astype(np.int64) % HUES
    purity = np.log2(np.maximum(copy.purity, 1e-3))
    down = np.clip((purity - LOWEST) / PURITY_STEP, 0, PURITIES - 1).astype(np.int64)
    soft = np.stack([cv2.blur(plane, (5, 5)) for plane in copy.rgb])
    luma = np.asarray(cv2.blur(copy.luma, (5, 5)), np.float32)
    light = np.log2(np.maximum(luma, 0) + np.float32(OFFSET)) / np.float32(EXPONENT)
    square = np.ones((3, 3), np.uint8)
    counts = (copy.chroma >= FAINT) & (copy.purity >= LEAST_PURITY)
    weight = copy.chroma * counts * (1 + 2.0 * copy.border) * np.where(copy.gradual, 1, 0.2)
    return _Tones(
        matrix,
        across * PURITIES + down,
        weight.astype(np.float32),
        cv2.dilate(light, square) - cv2.erode(light, square),
        soft.astype(np.float32),
        soft.max(0) > CLIPPED,
    )


def _peaks(tones: _Tones) -> list[tuple[float, float]]:
    """Hues and purities at which most pixels agree, without those of but a few."""
    size = HUES * PURITIES
    weighed = np.bincount(tones.bins.ravel(), tones.weight.ravel().astype(np.float64), size)
    counted = np.bincount(tones.bins[tones.weight > 0], minlength=size)
    smooth = _summed(np.asarray(weighed, np.float64).reshape(HUES, PURITIES))
    peaks: list[tuple[float, float]] = []
    least = max(1e-9, FAINTEST_PEAK * float(smooth.max()))
    while len(peaks) < MOST and smooth.max() >= least:
        column, row = np.unravel_index(int(smooth.argmax()), smooth.shape)
        hue, purity = (float(column) + 0.5) * HUE_STEP, LOWEST + (float(row) + 0.5) * PURITY_STEP
        smooth[_table(hue, purity, 1.2).reshape(HUES, PURITIES)] = 0
        hue, purity, share = _centred(counted, hue, purity)
        if share >= FEWEST * tones.bins.size and not any(_same(hue, purity, *one) for one in peaks):
            peaks.append((hue, purity))
    return peaks


def _same(hue: float, purity: float, other_hue: float, other_purity: float) -> bool:
    half_turn = 0.5 * REACH_DEG
    return hue_distance(hue, other_hue) < half_turn and abs(purity - other_purity) < 0.5 * REACH


def _summed(counted: NDArray[np.float64]) -> NDArray[np.float64]:
    """Sum the bins of a window about each: half the reach of an area; hues go round."""
    across, down = round(REACH_DEG / HUE_STEP) // 2, round(REACH / PURITY_STEP) // 2
    ringed = np.concatenate([counted[-across:], counted, counted[:across]])
    window = (2 * down + 1, 2 * across + 1)
    summed = cv2.boxFilter(ringed, -1, window, normalize=False, borderType=cv2.BORDER_CONSTANT)
    return np.asarray(summed[across:-across], np.float64)


def _table(hue: float, purity: float, reach: float) -> NDArray[np.bool_]:
    """Tell which bins lie about a hue and a purity, within a share of an area's reach."""
    hues = (np.arange(HUES) + 0.5) * HUE_STEP
    purities = LOWEST + (np.arange(PURITIES) + 0.5) * PURITY_STEP
    near = np.abs((hues - hue + 180) % 360 - 180) <= reach * REACH_DEG
    return np.ravel(near[:, None] & (np.abs(purities - purity) <= reach * REACH))


def _centred(counted: NDArray[np.int64], hue: float, purity: float) -> tuple[float, float, float]:
    """Move a peak to the medians of what lies about it; its pixels."""
    total = 0.0
    for _ in range(2):
        near = np.where(_table(hue, purity, 1.0), counted, 0).reshape(HUES, PURITIES)
        total = float(near.sum())
        if total == 0:
            break
        first = int(hue / HUE_STEP) - HUES // 2  # hues go round: begin opposite
        hue = (first + _median_bin(np.roll(near.sum(1), -first))) * HUE_STEP % 360
        purity = LOWEST + _median_bin(near.sum(0)) * PURITY_STEP
    return hue, purity, total


def _median_bin(counted: NDArray[np.int64]) -> float:
    """Median of a histogram, in bins from its start."""
    below = np.concatenate([[0], np.cumsum(counted)])
    return float(np.interp(below[-1] / 2, below, np.arange(below.size)))


def _large_parts(mask: Mask) -> Mask:
    """Drop what hangs together over less than a five-hundredth of the picture."""
    count, labels, stats, _ = cv2.connectedComponentsWithStats(mask.view(np.uint8), connectivity=4)
    large = stats[:, 4] >= max(1.0, 0.002 * mask.size)
    large[0] = False
    return np.asarray(large[labels] if count > 1 else mask, np.bool_)


def _described(tones: _Tones, mask: Mask, hue: float, purity: float) -> Area:
    within = inner(mask)
    about = cv2.dilate(mask.view(np.uint8), np.ones((5, 5), np.uint8)).astype(np.bool_) & ~mask
    slow = _table(hue, purity, 1.7)[tones.bins[about]]
    rows = np.cumsum(mask.sum(1))
    seen, trust = within & ~tones.clipped, 1.0
    if seen.sum() < UNCLIPPED * within.sum():
        seen, trust = within, BURNT
    turn, off, light = _told(tones, seen, hue, purity)
    return Area(
        mask,
        hue,
        2.0**purity,
        float(tones.weight[mask].sum()),
        float(mask.mean()),
        _sides(mask),
        float(np.searchsorted(rows, 0.05 * rows[-1])) / mask.shape[0],
        trust * _spread(turn),
        trust * _paling(off, light),
        float(np.median(tones.change[within])),
        float(slow.mean()) if slow.size else 0.0,
    )


def _told(tones: _Tones, seen: Mask, hue: float, purity: float) -> tuple[Plane, Plane, Plane]:
    """Hue and purity about a hue and a purity, and light in stops, of pixels all over an area."""
    places = np.flatnonzero(seen)
    places = places[:: max(1, places.size // TOLD)]
    luma, cb, cr = rgb_to_ycc(tones.soft.reshape(3, -1)[:, places], tones.matrix)
    turn = (np.degrees(np.arctan2(cr, cb)) - np.float32(hue) + 180) % 360 - 180
    level = purity_of(luma, np.hypot(cb, cr))
    light = np.log2(np.maximum(luma, 0) + np.float32(OFFSET)) / np.float32(EXPONENT)
    return turn, np.log2(np.maximum(level, 1e-3)) - np.float32(purity), light


def _sides(mask: Mask) -> tuple[float, float, float, float]:
    top, bottom, left, right = (
        float(side.mean()) for side in (mask[0], mask[-1], mask[:, 0], mask[:, -1])
    )
    return top, bottom, left, right


def _paling(purity: Plane, light: Plane) -> float:
    """Spread of purity; half of it where purity is lost in the dark, to grain and stray light."""
    both = float(purity.std() * light.std()) * purity.size
    if both < 1e-6:
        return _spread(purity)
    tilt = float(np.dot(purity - purity.mean(), light - light.mean())) / both
    return _spread(purity) * float(np.interp(tilt, (0.0, 0.5), (1.0, 0.5)))


def _spread(values: Plane) -> float:
    low, high = np.quantile(values, [0.16, 0.84])
    return float(high - low)
