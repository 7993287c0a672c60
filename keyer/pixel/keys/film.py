"""The film of backing light that lies on a subject, and taking it off.

Light of the backing adds a share k of the backing's colour to a solid subject,
most at its edge: C = (1 - m k) F + k B, with m between 0 (light added on top)
and 1 (a veil). Unlike the spill of a single pixel, the film is read from many:

- The colours of most subjects lie on straight lines through grey, because
  shade and highlights take chroma away along with light. With a film on it all
  lines meet at k B instead. The meeting point at each distance from the edge,
  less that in the depth, is how much the film grows towards the edge.
- What most pixels have of the key hue beyond grey is film as well, at least.
- Light that the subject throws back in its own colour grows with the subject's
  brightness; a sheen or haze lies on dark and bright alike. The film is read
  from the darker and the brighter third of the pixels, and k leans with luma.
- The highlights keep their level with m = 0 and lose with m = 1.
"""

from __future__ import annotations

from dataclasses import dataclass

import cv2
import numpy as np
from numpy.typing import NDArray

from keyer.kinds.arrays import Mask, Plane, Planes
from keyer.kinds.picture import Matrix
from keyer.pixel.colour.luma_chroma import HueAxes
from keyer.pixel.colour.weigh import luma_of, signal_against, weigh
from keyer.pixel.mattes.push_pull import push_pull

Vector = NDArray[np.float64]

RINGS = np.array([0.0012, 0.005, 0.011, 0.02, 0.03, 0.045, 0.067, 0.1, 0.15, 0.22, 1.0])
"""Distances from the edge between which the subject is looked at, in picture heights."""

FALLS = (0.02, 0.04, 0.08, 0.16)
"""Distances over which a film falls off that are tried, in picture heights."""

LEAST = 0.02
"""Growth of a film towards the edge that is not told from chance."""

MOST = 0.5
"""Greatest share that is taken off."""

FEW = 50
"""Pixels that are too few to tell the colour of the depth from."""

SAMPLES = 20_000
"""Pixels from which the lines are read."""

GREYEST = 0.4
"""Share of a subject's pixels that may have more of the key hue than grey by nature."""

STEEPEST = 3.0
"""Most that a film in the bright parts is of that in the dark; never more than luma's own ratio."""

DEEP = 0.2
"""Share of the most that a film is, below which it is deep in the subject."""

LEEWAY = 0.015
"""Chroma by which a colour may go beyond that of the depth when a film is taken off (ours, from
trials: less leaves film on, more turns the rim of what is white pink)."""

HIGHLIGHTS = (0.9, 0.95, 0.98)

USUAL_VEIL = 0.6
"""m where the highlights tell nothing."""


@dataclass(frozen=True, eq=False)
class Film:
    """The backing's light that lies over a subject like a film.

    Attributes
    ----------
    distances : (n,) float64
        From the edge of the solid parts, in picture heights, rising.
    shares : (n,) float64
        k at these distances for a luma of `dark`.
    leans : (n,) float64
        Growth of k with luma.
    dark : float
    veil : float
        m, 0..1.
    """

    distances: Vector
    shares: Vector
    leans: Vector
    dark: float
    veil: float

    def share_at(self, distance: Plane, luma: Plane) -> Plane:
        """Give k at distances from the edge in picture heights; 0 or less is outside.

        Parameters
        ----------
        distance, luma : (H, W) float32

        Returns
        -------
        (H, W) float32
        """
        share = self._along(self.shares, distance)
        if self.leans.any():
            share = share + self.lean_at(distance) * (luma - np.float32(self.dark))
        return np.asarray(share.clip(0, MOST), np.float32)

    def lean_at(self, distance: Plane) -> Plane:
        """Give the growth of k with luma at distances from the edge.

        Parameters
        ----------
        distance : (H, W) float32

        Returns
        -------
        (H, W) float32
        """
        return self._along(self.leans, distance)

    def _along(self, values: Vector, distance: Plane) -> Plane:
        grid = np.linspace(0, float(self.distances[-1]), 512)
        index = np.clip(distance * np.float32(511 / grid[-1]), 0, 511).astype(np.int32)
        table = np.interp(grid, self.distances, values).astype(np.float32)
        return np.asarray(table[index], np.float32)


NO_FILM = Film(np.array([0.0, 1.0]), np.zeros(2), np.zeros(2), 0.0, USUAL_VEIL)


def edge_distance(solid: Mask) -> Plane:
    """Distance of solid pixels from the edge, in picture heights.

    Parameters
    ----------
    solid : (H, W) bool

    Returns
    -------
    (H, W) float32
        0 outside.
    """
    distance = cv2.distanceTransform(solid.view(np.uint8), cv2.DIST_L2, 5)
    return np.asarray(distance, np.float32) / np.float32(solid.shape[0])


def measure_film(
    planes: Planes, backing: Planes, solid: Mask, own: Mask, axes: HueAxes, matrix: Matrix
) -> Film:
    """Read the film of backing light from the solid parts of a subject.

    Parameters
    ----------
    planes, backing : (3, h, w) float32
        A copy of the plate, grain averaged down, and its backing.
    solid : (h, w) bool
    own : (h, w) bool
        The part of it whose colours tell of the film; not, say, a product of the backing's hue.
    axes : HueAxes
        Of the key hue.
    matrix : {"bt601", "bt709"}

    Returns
    -------
    Film
        `NO_FILM` if there is too little to tell from.
    """
    distance = edge_distance(solid)
    ring = np.digitize(distance, RINGS) - 1
    ring[~(solid & own)] = -1
    counts = np.bincount(ring[ring >= 0], minlength=RINGS.size)[: RINGS.size - 1]
    used = np.flatnonzero(counts >= 120)
    if used.size < 4:
        return NO_FILM
    number = np.full(RINGS.size + 1, -1)
    number[used] = np.arange(used.size)
    ring = number[ring]
    inside = ring >= 0
    ring = ring[inside]
    middles = np.sqrt(RINGS[used] * np.minimum(RINGS[used + 1], 0.4))
    along = 1 - signal_against(planes, backing, axes)[inside]
    across = weigh(planes, axes.across)[inside]
    luma = luma_of(planes, matrix)[inside]
    thirds = _thirds(luma, ring, used.size)
    floor, whole = _shares(middles, along, across, ring)
    (_, dark), (_, bright) = (
        _shares(middles, along[part], across[part], ring[part]) for part in thirds
    )
    low, high = (float(luma[part].mean()) for part in thirds)
    bright = np.minimum(bright, dark * min(high / max(low, 0.01), STEEPEST))
    leaning = bright > dark
    shares = floor + np.where(leaning, dark, (dark + whole) / 2)
    leans = np.where(leaning, (bright - dark) / max(high - low, 0.1), 0)
    veil = _veil(planes[:, inside], backing[:, inside], ring, shares + leans * (high - low) / 2)
    return Film(middles, np.minimum(shares, MOST), leans, low, veil)


def most_shares(
    film: Film,
    planes: Planes,
    subject: Planes,
    backing: Planes,
    solid: Mask,
    axes: HueAxes,
) -> Plane:
    """Give the most of the backing that may be taken off at each place.

    A film is read from all colours of a subject and may be too much for some.
    Taking it off must not move a colour further from the key hue than the
    subject is in the depth nearby.

    Parameters
    ----------
    film : Film
    planes, backing : (3, h, w) float32
        As for `measure_film`.
    subject : (3, h, w) float32
        The colour of the solid parts, carried outwards.
    solid : (h, w) bool
    axes : HueAxes
        Of the key hue.

    Returns
    -------
    (h, w) float32
        0 or more; `MOST` where nothing is known of the depth.
    """
    distance = edge_distance(solid)
    shallow = film.distances[film.shares > DEEP * film.shares.max()]
    deep = solid & (distance > (shallow[-1] if shallow.size else 0.0))
    if int(deep.sum()) < FEW:
        return np.full_like(distance, MOST)
    own = cv2.GaussianBlur(weigh(push_pull(planes, deep.astype(np.float32)), axes.along), (0, 0), 1)
    seen = cv2.GaussianBlur(weigh(subject, axes.along), (0, 0), 1)
    above = np.maximum(seen - own, 0) + np.float32(LEEWAY)
    return np.asarray(above / np.maximum(weigh(backing, axes.along), 1e-3), np.float32)


def _thirds(luma: Plane, ring: NDArray[np.int64], rings: int) -> tuple[Mask, Mask]:
    """Find the dark and the bright pixels of each ring; all of one that is of a single luma."""
    bounds = np.array([np.quantile(luma[ring == index], [0.33, 0.67]) for index in range(rings)])
    flat = (bounds[:, 0] == bounds[:, 1])[ring]
    return (luma <= bounds[ring, 0]) | flat, (luma >= bounds[ring, 1]) | flat


def _shares(
    middles: Vector, along: Plane, across: Plane, ring: NDArray[np.int64]
) -> tuple[float, Vector]:
    """Read the film's share in the depth, and what it has beyond that at each distance."""
    growth, fall = _growth(middles, _meeting_points(along, across, ring, middles.size))
    beyond = _beyond_grey(along, ring, middles.size)
    return float(beyond[-1]), np.maximum(growth * np.exp(-middles / fall), beyond - beyond[-1])


def _meeting_points(along: Plane, across: Plane, ring: NDArray[np.int64], rings: int) -> Vector:
    """Chroma along the key hue, per backing, at which each ring's colours meet.

    Two slopes for the whole subject, one for either side of the key hue, and
    one meeting point a ring, by least squares with weights that let outliers go.
    """
    step = max(1, along.size // SAMPLES)
    along, across, ring = along[::step], across[::step], ring[::step]
    sides = np.maximum(across, 0).astype(np.float64), np.minimum(across, 0).astype(np.float64)
    balance = 1 / np.maximum(np.bincount(ring, minlength=rings), 1)[ring]
    weight = balance
    meeting, slopes = np.zeros(rings), np.zeros(2)
    for _ in range(8):
        meeting, slopes = _weighed_lines(along, sides, ring, weight, rings)
        off = along - meeting[ring] - slopes[0] * sides[0] - slopes[1] * sides[1]
        scale = 1.4826 * float(np.median(np.abs(off))) + 0.005
        weight = balance / (1 + (off / (2 * scale)) ** 2) ** 2
    return meeting


def _weighed_lines(
    along: Plane, sides: tuple[Vector, Vector], ring: NDArray[np.int64], weight: Vector, rings: int
) -> tuple[Vector, Vector]:
    """Solve the normal equations, with the meeting points eliminated first."""

    def total(values: Vector) -> Vector:
        return np.asarray(np.bincount(ring, values, rings), np.float64)

    own = total(weight) + 1e-3
    level = total(weight * along)
    lean = np.stack([total(weight * side) for side in sides])
    square = np.array([[float((weight * a * b).sum()) for b in sides] for a in sides])
    right = np.array([float((weight * side * along).sum()) for side in sides])
    slopes = np.linalg.solve(
        square - (lean / own) @ lean.T + 1e-9 * np.eye(2), right - (lean / own) @ level
    )
    return (level - slopes @ lean) / own, np.asarray(slopes, np.float64)


def _growth(middles: Vector, meeting: Vector) -> tuple[float, float]:
    """Growth of the film towards the edge and the distance over which it falls off."""
    best, found = np.inf, (0.0, FALLS[0])
    weight = np.exp(-middles / 0.15) * (middles > 0.004)
    for fall in FALLS:
        terms = np.stack([np.ones_like(middles), np.exp(-middles / fall)], 1) * weight[:, None]
        solution, *_ = np.linalg.lstsq(terms, meeting * weight, rcond=None)
        error = float(((terms @ solution - meeting * weight) ** 2).sum())
        if error < best:
            best, found = error, (float(np.clip(solution[1] - LEAST, 0, MOST)), fall)
    return found


def _beyond_grey(along: Plane, ring: NDArray[np.int64], rings: int) -> Vector:
    """Tell what most pixels of a ring have of the key hue beyond grey; falls with the distance."""
    most = [float(np.quantile(along[ring == index], 1 - GREYEST)) for index in range(rings)]
    return np.minimum.accumulate(np.maximum(most, 0))


def _veil(planes: Planes, backing: Planes, ring: NDArray[np.int64], shares: Vector) -> float:
    """How far the highlights lose under the film, against those in the depth."""
    own = backing.mean(1)
    minor = [channel for channel in range(3) if channel != int(np.argmax(own))]
    deep = np.flatnonzero(shares < 0.4 * shares.max() + 0.02)
    hold = 0.02
    top, bottom = hold * USUAL_VEIL, hold
    if deep.size == 0:
        return USUAL_VEIL
    depth = np.isin(ring, deep)
    base = float(shares[deep].mean())
    for channel in minor:
        plane = planes[channel]
        for part in HIGHLIGHTS:
            bright = float(np.quantile(plane[depth], part))
            for index in np.flatnonzero(shares > base + 0.01):
                more = float(shares[index]) - base
                seen = float(np.quantile(plane[ring == index], part))
                lost = bright + more * float(own[channel]) - seen
                top += more * bright * lost / len(HIGHLIGHTS)
                bottom += (more * bright) ** 2 / len(HIGHLIGHTS)
    return float(np.clip(top / bottom, 0, 1))
