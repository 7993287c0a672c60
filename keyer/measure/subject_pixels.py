"""Which pixels of a picture are the subject, and their own colours.

In a key plate the subject is what surely is no backing, with the backing's
light on it taken off and without what shows the backing through a mesh. In a
photograph it is all but a plain ground.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import cv2
import numpy as np
from numpy.typing import NDArray

from keyer.kinds.arrays import Mask, Planes
from keyer.kinds.picture import Matrix
from keyer.measure.backing import Backing
from keyer.measure.plate import LEAST_CHROMA, backing_surface, regions
from keyer.pixel.colour.luma_chroma import HueAxes, hue_axes
from keyer.pixel.colour.weigh import luma_of, weigh
from keyer.pixel.keys.film import edge_distance, measure_film
from keyer.pixel.keys.foreign import foreign_parts
from keyer.pixel.mattes.push_pull import push_pull
from keyer.pixel.mattes.regions import closing, dilate, disc

WORK_PIXELS = 640
"""Longer side of the copy that is looked at."""

PLAIN = 0.08
"""How far R', G' or B' of a plain ground may be from its usual colour."""

MESH = 0.008
"""Reach within which a mesh shows both itself and the backing, in picture heights."""

MESH_SIGNALS = 0.35, 0.75
"""Key signals below and above which a mesh shows the backing and shows itself."""

OPAQUE = 0.5
"""Alpha from which a pixel of a cut-out is part of it."""


@dataclass(frozen=True, eq=False)
class SubjectPixels:
    """The subject on a small copy of its picture.

    Attributes
    ----------
    planes : (3, h, w) float32
        R'G'B' of the copy, light of the backing taken off.
    inside : (h, w) bool
        Where the subject is.
    """

    planes: Planes
    inside: Mask

    @property
    def colours(self) -> Planes:
        """The subject's pixels, (3, n)."""
        return self.planes[:, self.inside]

    @property
    def share_percent(self) -> float:
        """Percent of the picture that the subject takes."""
        return 100 * float(self.inside.mean())


def subject_of_plate(planes: Planes, backing: Backing, matrix: Matrix) -> SubjectPixels:
    """Take the subject's sure parts out of a key plate.

    Parameters
    ----------
    planes : (3, H, W) float32
    backing : Backing
        As `survey_backing` found it.
    matrix : {"bt601", "bt709"}
    """
    small = _reduced(planes)
    height, width = small.shape[1:]
    sure = regions(small, backing.rgb, matrix).core.view(np.uint8)
    core: Mask = cv2.resize(sure, (width, height), interpolation=cv2.INTER_NEAREST) > 0
    axes = hue_axes(backing.hue_deg, matrix)
    behind = backing_surface(small, backing.rgb, matrix).planes
    foreign = foreign_parts(small, push_pull(small, core.astype(np.float32)), behind, axes)
    reach = max(1, round(0.02 * min(height, width)))
    body = closing(core | foreign, reach)
    film = measure_film(small, behind, body, core & ~dilate(foreign, reach), axes, matrix)
    share = film.share_at(edge_distance(body), luma_of(small, matrix))
    bare = (small - share * behind) / (1 - np.float32(film.veil) * share)
    own = body & ~_mesh(planes, backing, axes, (width, height))
    return SubjectPixels(np.asarray(np.where(foreign, small, bare), np.float32), own)


def subject_of_photograph(
    planes: Planes, alpha: NDArray[np.float32] | None = None
) -> SubjectPixels:
    """Return the subject's pixels in a photograph, its plain ground left out.

    Parameters
    ----------
    planes : (3, H, W) float32
    alpha : (H, W) float32, optional
        Of a picture that is cut out: what is clear is no part of the subject.
        Without it a plain ground, if there is one, is left out.
    """
    small = _reduced(planes)
    if alpha is not None and not alpha.min() >= OPAQUE:
        size = small.shape[2], small.shape[1]
        return SubjectPixels(small, cv2.resize(alpha, size, interpolation=cv2.INTER_AREA) >= OPAQUE)
    return SubjectPixels(small, _not_ground(small))


def _mesh(planes: Planes, backing: Backing, axes: HueAxes, size: tuple[int, int]) -> Mask:
    """Find where backing is seen through a mesh, or beside an edge: no colour of the subject's."""
    level = max(float(np.dot(axes.along, backing.rgb)), LEAST_CHROMA)
    signal = 1 - weigh(planes, axes.along) / np.float32(level)
    square = disc(max(1, round(MESH * planes.shape[1])))
    shown = cv2.erode(signal, square) < MESH_SIGNALS[0]
    itself = cv2.dilate(signal, square) > MESH_SIGNALS[1]
    both = shown & itself
    # a part of that hue which is wider than a mesh's openings keeps its border
    hued = signal < MESH_SIGNALS[0]
    wide = cv2.dilate((hued & ~both).view(np.uint8), square) > 0
    mesh = (both & ~(hued & wide)).view(np.uint8)
    return np.asarray(cv2.resize(mesh, size, interpolation=cv2.INTER_NEAREST) > 0, np.bool_)


def _reduced(planes: Planes) -> Planes:
    _, height, width = planes.shape
    step = max(1, math.ceil(max(height, width) / WORK_PIXELS))
    size = math.ceil(width / step), math.ceil(height / step)
    small = [cv2.resize(plane, size, interpolation=cv2.INTER_AREA) for plane in planes]
    stack = np.nan_to_num(np.stack(small), nan=0.0, posinf=1.0, neginf=0.0)
    return np.asarray(stack.clip(0, 1.5), np.float32)


def _not_ground(small: Planes) -> Mask:
    """Return what is not plain ground: not joined to the border in one even colour."""
    border = np.zeros(small.shape[1:], np.bool_)
    border[[0, -1]] = border[:, [0, -1]] = True
    usual = np.median(small[:, border], axis=1).astype(np.float32)
    alike = np.abs(small - usual[:, None, None]).max(0) < PLAIN
    _, labels = cv2.connectedComponents(alike.view(np.uint8), connectivity=4)
    touching = np.unique(labels[border & alike])
    ground = np.isin(labels, touching[touching > 0])
    enough = ground[border].mean() > 0.4 and (~ground).sum() > 0
    return np.asarray(~ground if enough else np.ones_like(ground), np.bool_)
