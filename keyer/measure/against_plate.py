"""A matte held against the plate that it was keyed from.

From a matte alone glass, nets and hair look like holes. The plate tells them apart. A recorded
pixel is C = a F + (1 - a) B (Porter and Duff, *Compositing Digital Images*, SIGGRAPH 1984), so
where a matte is see-through, the backing's chroma must show in proportion. Where the plate shows
less of it, or a colour that is no mixture, the matte has a hole; where the plate shows nothing
but the backing's paint and the matte is not clear, it has a speck.

Definitions, limits and sources: `docs/measures.md`.
"""

from __future__ import annotations

from dataclasses import dataclass

import cv2
import numpy as np
from numpy.typing import NDArray

from keyer.kinds.arrays import Mask, Plane, Planes
from keyer.kinds.picture import Matrix
from keyer.measure.plate import OFFSET
from keyer.pixel.colour.luma_chroma import HueAxes, hue_axes
from keyer.pixel.colour.weigh import luma_of, weigh
from keyer.pixel.keys.edge_light import SURE, light_of, mixed_in_light
from keyer.pixel.mattes.push_pull import push_pull
from keyer.pixel.mattes.regions import dilate, erode

CLEAR = 0.02
"""At or below this a matte counts as clear (common practice; from memory)."""

SOLID = 0.98
"""At or above this a matte counts as solid (common practice; from memory)."""

AROUND = 0.012
"""How far around a place it is looked whether it lies well inside, in picture heights."""

MOSTLY = 0.8
"""Share of what lies around a place that must be solid (holes) or clear (specks)."""

ROWS = 600
"""About so many rows has the copy on which matte and plate are compared."""

SHORT = 0.12
"""How much less of the backing than the matte lets through the plate may show; ours, from
fourteen photographs with measured mattes."""

TURNED = 0.25
"""How far a see-through place may lie off the line of mixtures, across the backing's hue, as a
share of the backing's chroma; ours."""

OTHER = 0.35
"""How much of the backing's purity and hue a clear place may lack; ours."""

VEIL, TIMES = 0.05, 2.5
"""A matte is denied above so much, and above so many times what differs from the backing; ours."""

GRAIN = 0.005
"""Noise that is reckoned with where light or codes are told by the edges."""

GRAINS = 2.0
"""How many times the backing's usual grain counts as nothing; ours."""

LEAST = 4
"""Pixels of the copy below which a place is grain."""

CONTRAST = 0.15
"""Difference of luma between subject and backing from which the plate's edges are told."""

FEWEST = 30
"""Edge pixels of that contrast below which nothing is told of the plate's edges."""


@dataclass(frozen=True, eq=False)
class KeyedFrom:
    """The plate that a matte was keyed from.

    Attributes
    ----------
    planes, backing : (3, H, W) float32
        R'G'B' of the plate, and of its backing at every pixel.
    hue_deg : float
        Key hue on the vectorscope.
    matrix : {"bt601", "bt709"}
    by_hand : (H, W) bool or None
        Where the matte was decided by hand; there the plate has no say.
    """

    planes: Planes
    backing: Planes
    hue_deg: float
    matrix: Matrix
    by_hand: Mask | None = None


@dataclass(frozen=True)
class AgainstPlate:
    """What of a matte its plate does not bear out.

    Attributes
    ----------
    holes_percent : float
        Of the picture: see-through well inside the subject, where the plate shows no backing
        in proportion.
    openings_percent : float
        Clear there, where the plate shows another paint than the backing's.
    specks_percent : float
        Not clear well outside, where the plate shows nothing but the backing.
    edge_width_px : float
        Of the subject's edges in the plate's luma; 0 where nothing tells.
    """

    holes_percent: float
    openings_percent: float
    specks_percent: float
    edge_width_px: float


@dataclass(frozen=True, eq=False)
class _Copy:
    """Matte, plate, backing and the subject's colour carried outwards, on a copy."""

    matte: Plane
    planes: Planes
    backing: Planes
    subject: Planes
    axes: HueAxes
    matrix: Matrix
    step: int


def against_plate(matte: Plane, plate: KeyedFrom) -> AgainstPlate:
    """Hold a matte against the plate that it was keyed from.

    Parameters
    ----------
    matte : (H, W) float32 in [0, 1]
        1 = subject.
    plate : KeyedFrom
    """
    copy = _copied(matte, plate)
    told = np.ones(copy.matte.shape, np.bool_)
    if plate.by_hand is not None:
        told = _small(plate.by_hand.astype(np.float32), copy.step) == 0
    solid, clear = copy.matte >= SOLID, copy.matte <= CLEAR
    holes = _well_within(_unseen(copy) & ~solid & told, solid)
    openings = _well_within(_other_paint(copy) & clear & told, solid) & ~holes
    shown = _shown(copy)
    veil = copy.matte > TIMES * shown + np.float32(VEIL)
    specks = _well_within(veil & ~clear & told, clear | (shown < VEIL))
    percent = 100.0 / copy.matte.size
    return AgainstPlate(
        percent * int(np.count_nonzero(holes)),
        percent * int(np.count_nonzero(openings)),
        percent * int(np.count_nonzero(specks)),
        _edge_width(matte, plate, copy.subject),
    )


def edge_slopes(
    plane: Plane, rows: NDArray[np.integer], columns: NDArray[np.integer]
) -> NDArray[np.float32]:
    """Slopes of a plane at some places, to the steeper neighbour in each direction.

    Parameters
    ----------
    plane : (H, W) float32
    rows, columns : (N,) int

    Returns
    -------
    (N,) float32
        Change a pixel; a step from one pixel to the next has its height.
    """
    here = plane[rows, columns]
    slopes = []
    for step_down, step_across in ((1, 0), (0, 1)):
        steps = []
        for sign in (-1, 1):
            row = np.clip(rows + sign * step_down, 0, plane.shape[0] - 1)
            column = np.clip(columns + sign * step_across, 0, plane.shape[1] - 1)
            steps.append(np.abs(plane[row, column] - here))
        slopes.append(np.maximum(*steps))
    return np.asarray(np.hypot(*slopes), np.float32)


def edge_places(matte: Plane) -> tuple[NDArray[np.intp], NDArray[np.intp]]:
    """Rows and columns of the pixels beside which a matte crosses one half."""
    above = (matte >= 0.5).view(np.uint8)
    cross = cv2.getStructuringElement(cv2.MORPH_CROSS, (3, 3))
    rows, columns = np.nonzero(cv2.morphologyEx(above, cv2.MORPH_GRADIENT, cross))
    return rows, columns


def _small(plane: Plane, step: int) -> Plane:
    size = -(-plane.shape[1] // step), -(-plane.shape[0] // step)
    return np.asarray(cv2.resize(plane, size, interpolation=cv2.INTER_AREA), np.float32)


def _copied(matte: Plane, plate: KeyedFrom) -> _Copy:
    step = max(1, round(matte.shape[0] / ROWS))
    small = _small(matte, step)
    planes, backing = (
        np.stack([_small(plane, step) for plane in stack])
        for stack in (plate.planes, plate.backing)
    )
    subject = push_pull(planes, erode(small >= SOLID, 2).astype(np.float32))
    axes = hue_axes(plate.hue_deg, plate.matrix)
    return _Copy(small, planes, backing, subject, axes, plate.matrix, step)


def _ways(copy: _Copy) -> list[tuple[Planes, Planes, Planes]]:
    """Plate, backing and subject as they were mixed: in coded values, in light, in doubt both."""
    coded = copy.planes, copy.backing, copy.subject
    light = light_of(copy.planes), light_of(copy.backing), light_of(copy.subject)
    solid = copy.matte >= SOLID
    beside = dilate(solid, 4) & ~solid & (copy.matte > CLEAR)
    mixing = mixed_in_light(copy.planes, copy.subject, copy.backing, beside, GRAIN)
    if abs(mixing) < SURE:
        return [coded, light]
    return [light if mixing > 0 else coded]


def _square(side: int) -> NDArray[np.uint8]:
    return np.ones((side, side), np.uint8)


def _unseen(copy: _Copy) -> Mask:
    """Where the plate shows less of the backing than the matte lets through, or no mixture.

    Reckoned from a neutral colour and from the one carried, as bright as the pixel; what shows
    most of the backing counts. Chroma may have fewer samples: what only a few pixels let
    through need not show in full.
    """
    through = 1 - copy.matte
    side = 5 if copy.step == 1 else 3
    shares: list[NDArray[np.floating]] = []
    off: list[NDArray[np.floating]] = []
    luma, usual = luma_of(copy.planes, copy.matrix), luma_of(copy.subject, copy.matrix)
    brighter = np.clip(luma / np.maximum(usual, np.float32(0.05)), 1, 4)
    for planes, backing, subject in _ways(copy):
        along, full, own = (weigh(stack, copy.axes.along) for stack in (planes, backing, subject))
        full = np.maximum(full, np.float32(0.005))
        own = np.asarray(np.minimum(own, 0) * brighter, np.float32)
        shares += [along / full, (along - own) / (full - own)]
        pictures = planes, backing, subject
        across, behind, own = (weigh(stack, copy.axes.across) for stack in pictures)
        turn = across - through * behind
        off += [np.abs(each) / full for each in (turn, turn - copy.matte * own)]
    shown = cv2.dilate(np.maximum.reduce(shares), _square(side))
    turned = cv2.erode(np.minimum.reduce(off), _square(3))
    let_through = np.minimum(through, cv2.blur(through, (side, side)))
    return np.asarray((let_through - shown > SHORT) | (turned > TURNED) & (through > SHORT))


def _paint(copy: _Copy) -> tuple[Plane, Plane]:
    """How much each pixel lacks of the backing's purity, and how far its hue is off.

    Both are shares of the backing's chroma, in whatever light it lies.
    """
    luma, full = luma_of(copy.planes, copy.matrix), luma_of(copy.backing, copy.matrix)
    lit = (luma + np.float32(OFFSET)) / (full + np.float32(OFFSET))
    lit = np.maximum(lit, np.float32(0.05))
    chroma = np.maximum(weigh(copy.backing, copy.axes.along), np.float32(0.02))
    lack = 1 - weigh(copy.planes, copy.axes.along) / (lit * chroma)
    turn = weigh(copy.planes, copy.axes.across) / lit - weigh(copy.backing, copy.axes.across)
    return np.asarray(lack, np.float32), np.asarray(np.abs(turn) / chroma, np.float32)


def _other_paint(copy: _Copy) -> Mask:
    lack, turn = _paint(copy)
    return np.asarray(cv2.erode(np.maximum(lack, turn), _square(3)) > OTHER)


def _shown(copy: _Copy) -> Plane:
    """How far the plate shows anything but the backing: its paint, in light that changes slowly.

    0 where what differs is grain.
    """
    lack, turn = _paint(copy)
    luma = luma_of(copy.planes, copy.matrix)
    detail = np.abs(luma - cv2.blur(luma, (15, 15))) / np.maximum(luma, np.float32(0.05))
    differs = np.maximum.reduce([lack, turn, detail])
    thin = copy.matte < 0.5
    grain = float(np.median(np.abs(lack - cv2.blur(lack, (5, 5)))[thin])) if thin.any() else 0.0
    side = 5 if copy.step == 1 else 3
    shown = cv2.dilate(cv2.blur(differs, (3, 3)), _square(side)) - np.float32(GRAINS * grain)
    return np.asarray(np.maximum(shown, 0), np.float32)


def _well_within(part: Mask, whole: Mask) -> Mask:
    """Keep of a part what hangs together and has mostly the whole around it, itself left out."""
    if not part.any():
        return part
    reach = max(2 * round(AROUND * part.shape[0]) + 1, 9)
    grown = cv2.dilate(part.view(np.uint8), _square(5))
    strange = ((grown == 0) & ~whole).view(np.uint8)
    own, others = (cv2.blur(each.astype(np.float32), (reach, reach)) for each in (grown, strange))
    count, labelled = cv2.connectedComponents(part.view(np.uint8), connectivity=8)
    pixels = np.flatnonzero(part)
    labels, fits = labelled.ravel()[pixels], others <= (1 - MOSTLY) * (1 - own)
    every = np.bincount(labels, minlength=count)
    kept = np.bincount(labels, fits.ravel()[pixels], count) > 0.5 * every
    kept &= every >= LEAST
    found = np.zeros(part.size, np.bool_)
    found[pixels[kept[labels]]] = True
    return found.reshape(part.shape)


def _edge_width(matte: Plane, plate: KeyedFrom, subject: Planes) -> float:
    """Median width of the plate's own steps of luma where a matte crosses one half."""
    rows, columns = edge_places(matte)
    if rows.size == 0:
        return 0.0
    height, width = matte.shape
    own = luma_of(subject, plate.matrix)
    own = own[rows * own.shape[0] // height, columns * own.shape[1] // width]
    behind = luma_of(plate.backing, plate.matrix)[rows, columns]
    contrast = np.abs(own - behind)
    told = contrast > CONTRAST
    if int(told.sum()) < FEWEST:
        return 0.0
    slopes = edge_slopes(luma_of(plate.planes, plate.matrix), rows[told], columns[told])
    return float(1 / np.clip(np.median(slopes / contrast[told]), 1e-6, 1.0))
