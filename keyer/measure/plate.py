"""What is surely backing and surely subject in a key plate, on a small copy of it.

The copy is small enough to be looked at in a few milliseconds and averages
most of the grain away.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import cv2
import numpy as np
from numpy.typing import NDArray

from keyer.kinds.arrays import Mask, Planes
from keyer.kinds.picture import Matrix
from keyer.kinds.settings import Rgb
from keyer.measure.hues import hue_distance
from keyer.pixel.colour.luma_chroma import hue_axes, hue_of, rgb_to_ycc
from keyer.pixel.keys.backing import lit_backing, smooth_backing
from keyer.pixel.mattes.regions import enclosed, erode, opening

WORK_PIXELS = 256
"""Longer side of the copy on which the backing is looked for."""

LEAST_CHROMA = 0.05
"""Chroma below which a pixel's hue says nothing (10 % of full chroma)."""

REACH_DEG = 18.0
"""How far a pixel of the backing may lie from the backing's hue."""

SHADE_DEG, SHADE = 8.0, 0.18
"""How far hue and chroma per luma of a shadow on the backing may be from the backing's."""

ROUGH = 0.035
"""Local range of luma and chroma up to which an area counts as even."""

STEEP = 0.12
"""Local range up to which a change may be the edge of a shadow."""

OFFSET = 0.099
"""Of the signal's curve (BT.709-6 item 1.2)."""

DARKEST = 0.25
"""Chroma of the darkest part of a wall over its usual chroma: three stops of light are 0.39."""

PALEST = 0.65
"""Purity of the palest part of a wall over its usual purity."""


@dataclass(frozen=True, eq=False)
class SmallCopy:
    """The small copy, as luma, chroma and hue, with what is even and what is border.

    Attributes
    ----------
    step : int
        Pixels of the picture to one of the copy, down and across.
    rgb : (3, h, w) float32
    luma, chroma : (h, w) float32
    hue : (h, w) float32
        Degrees, 0..360.
    purity : (h, w) float32
        Chroma over luma + 0.099: the same for one paint in any light.
    rough : (h, w) float32
        Range of luma and chroma within 3 x 3 pixels.
    border : (h, w) bool
        The outer 4 % of the picture.
    """

    step: int
    rgb: Planes
    luma: NDArray[np.float32]
    chroma: NDArray[np.float32]
    hue: NDArray[np.float32]
    purity: NDArray[np.float32]
    rough: NDArray[np.float32]
    border: Mask

    @property
    def even(self) -> Mask:
        """Mask of where luma and chroma hardly change from pixel to pixel."""
        return self.rough < ROUGH

    @property
    def gradual(self) -> Mask:
        """Where they change no faster than at the edge of a shadow."""
        return self.rough < STEEP


@dataclass(frozen=True, eq=False)
class Regions:
    """What is surely what in a plate, on a small copy.

    Attributes
    ----------
    backing : (h, w) bool
        Surely backing, a pixel away from everything else.
    core : (h, w) bool
        Surely inside the subject, its enclosed holes filled.
    rim : (h, w) bool
        The part of the core that lies near the edge.
    step : int
        Pixels of the picture to one of the copy, down and across.
    """

    backing: Mask
    core: Mask
    rim: Mask
    step: int


def small_copy(planes: Planes, matrix: Matrix) -> SmallCopy:
    """Average a picture down to at most `WORK_PIXELS` on its longer side.

    Parameters
    ----------
    planes : (3, H, W) float32
    matrix : {"bt601", "bt709"}
    """
    _, height, width = planes.shape
    step = max(1, math.ceil(max(height, width) / WORK_PIXELS))
    rows, cols = math.ceil(height / step), math.ceil(width / step)
    with np.errstate(invalid="ignore"):
        small = np.stack(
            [cv2.resize(plane, (cols, rows), interpolation=cv2.INTER_AREA) for plane in planes]
        )
    small = np.nan_to_num(small, nan=0.0, posinf=1.0, neginf=0.0).clip(-1.0, 4.0)
    luma, cb, cr = rgb_to_ycc(small, matrix)
    border = np.zeros((rows, cols), np.bool_)
    rim = max(1, round(0.04 * min(rows, cols)))
    border[:rim] = border[-rim:] = border[:, :rim] = border[:, -rim:] = True
    hue = np.degrees(np.arctan2(cr, cb)) % 360.0
    rough = _local_range(luma) + _local_range(cb) + _local_range(cr)
    chroma = np.hypot(cb, cr)
    return SmallCopy(step, small, luma, chroma, hue, purity_of(luma, chroma), rough, border)


def purity_of(luma: NDArray[np.float32], chroma: NDArray[np.float32]) -> NDArray[np.float32]:
    """Chroma over luma, by which a paint is known in any light.

    The signal of BT.709-6 item 1.2 (and BT.601-7 item 2.6) is V = 1.099 L^0.45 -
    0.099, so V + 0.099 is multiplied as a whole where there is more light L, and
    chroma, a difference of signals, by as much.

    Parameters
    ----------
    luma, chroma : array of float32

    Returns
    -------
    array of float32
        chroma / (luma + 0.099).
    """
    return np.asarray(chroma / (np.maximum(luma, 0) + np.float32(OFFSET)), np.float32)


def _local_range(plane: NDArray[np.float32]) -> NDArray[np.float32]:
    """Range of a smoothed plane within 3 x 3; noise is mostly averaged away."""
    smooth = cv2.blur(plane, (3, 3))
    square = np.ones((3, 3), np.uint8)
    span: NDArray[np.float32] = cv2.dilate(smooth, square) - cv2.erode(smooth, square)
    return span


def sure_backing(copy: SmallCopy, colour: Rgb, matrix: Matrix) -> Mask:
    """Find the even pixels of the backing's hue and purity, in any light.

    Parameters
    ----------
    copy : SmallCopy
    colour : three floats
        The backing's R'G'B'.
    matrix : {"bt601", "bt709"}

    Returns
    -------
    (h, w) bool
    """
    luma, cb, cr = rgb_to_ycc(np.array(colour, np.float32), matrix)
    chroma = np.hypot(cb, cr)
    apart = hue_distance(copy.hue, hue_of(colour, matrix))
    level = (copy.chroma > DARKEST * chroma) & (copy.chroma < chroma / DARKEST)
    purity = copy.purity / np.maximum(purity_of(luma, chroma), np.float32(1e-6))
    near = (apart <= REACH_DEG) & level & (purity > PALEST) & (purity < 1 / PALEST)
    even = near & (copy.rough < _evenness(copy, near & (np.abs(purity - 1) < SHADE)))
    shaded = (apart <= SHADE_DEG) & level & (np.abs(purity - 1) < SHADE)
    return _main_parts(even, even | (shaded & copy.gradual), copy.chroma / np.float32(chroma))


def _evenness(copy: SmallCopy, wall: Mask) -> float:
    """Local range up to which a wall counts as even: what grain and creases give most of it."""
    usual = float(np.median(copy.rough[wall])) if wall.any() else 0.0
    return min(max(ROUGH, 2 * usual), STEEP)


def _main_parts(mask: Mask, ways: Mask, level: NDArray[np.float32]) -> Mask:
    """Drop islands: a see-through part of the subject shows the backing's hue as well.

    Parts that hang together over `ways` are one; so the inside of a shadow belongs to the backing.
    A part may be darker where it hangs together with brighter ones, but not as a whole, for dark
    cloth can have the backing's hue and purity. `level` is chroma over the backing's.
    """
    count, labels, stats, _ = cv2.connectedComponentsWithStats(ways.view(np.uint8), connectivity=4)
    if count <= 2:
        return mask
    left, top, width, height, _ = stats[1:].T
    rows, cols = mask.shape
    area = np.bincount(labels[mask], minlength=count)[1:]
    total = np.bincount(labels[mask], level[mask].astype(np.float64), count)[1:]
    usual = total / np.maximum(area, 1)
    outer = (left == 0) | (top == 0) | (left + width == cols) | (top + height == rows)
    alike = (usual > 0.5) & (usual < 2.0)
    keep = np.concatenate([[False], alike & (outer | (area >= 0.25 * area.max()))])
    kept: Mask = keep[labels]
    return mask & kept


def regions(planes: Planes, colour: Rgb, matrix: Matrix) -> Regions:
    """Tell sure backing and sure subject apart.

    Parameters
    ----------
    planes : (3, H, W) float32
    colour : three floats
        The backing's R'G'B'.
    matrix : {"bt601", "bt709"}
    """
    copy = small_copy(planes, matrix)
    mask = sure_backing(copy, colour, matrix)
    axes = hue_axes(hue_of(colour, matrix), matrix)
    along = np.tensordot(np.array(axes.along, np.float32), copy.rgb, axes=1)
    level = max(float(np.dot(axes.along, colour)), 0.02)
    reach = max(1, round(0.015 * min(mask.shape)))
    body = opening((along < 0.35 * level) & ~mask, reach)
    core = erode((body | enclosed(body)) & (along < 0.7 * level), reach)
    return Regions(inner(mask), core, core & ~erode(core, 2 * reach), copy.step)


def inner(mask: Mask) -> Mask:
    """Draw a mask in by one pixel, unless nothing would be left.

    Parameters
    ----------
    mask : (h, w) bool

    Returns
    -------
    (h, w) bool
    """
    drawn_in = cv2.erode(mask.astype(np.uint8), np.ones((3, 3), np.uint8)).astype(np.bool_)
    return drawn_in if drawn_in.any() else mask


@dataclass(frozen=True, eq=False)
class Surface:
    """The backing as it would be seen without the subject, at every pixel of a plate.

    Attributes
    ----------
    planes : (3, H, W) float32
    sure : (h, w) bool
        Where it was seen, on a small copy.
    """

    planes: Planes
    sure: Mask


def backing_surface(planes: Planes, colour: Rgb, matrix: Matrix) -> Surface:
    """Fit a smooth surface to the sure backing of a plate.

    Parameters
    ----------
    planes : (3, H, W) float32
    colour : three floats
        The backing's R'G'B'.
    matrix : {"bt601", "bt709"}
    """
    copy = small_copy(planes, matrix)
    sure = inner(sure_backing(copy, colour, matrix))
    _, height, width = planes.shape
    return Surface(smooth_backing(copy.rgb, sure, colour, height, width), sure)


def backing_without_shadows(planes: Planes, colour: Rgb, matrix: Matrix) -> Planes:
    """Fit the backing as it would be without the shadows on it.

    Parameters
    ----------
    planes : (3, H, W) float32
    colour : three floats
        The backing's R'G'B'.
    matrix : {"bt601", "bt709"}

    Returns
    -------
    (3, H, W) float32
    """
    copy = small_copy(planes, matrix)
    sure = inner(sure_backing(copy, colour, matrix))
    _, height, width = planes.shape
    return lit_backing(copy.rgb, sure, colour, height, width)
