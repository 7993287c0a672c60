"""The fine chroma key, for stills and boards.

With the backing known at every pixel and the subject's colour carried outwards
from its solid parts, the matte of an edge pixel is where its colour lies
between the two. Light of the backing on the subject is taken off as a film, so
that the edge has the subject's own colour. The steps:

1. key signal against the backing, and a first matte from the sure core
2. solid parts (`keyer.pixel.solid`)
3. subject's colour carried outwards (`keyer.pixel.carry`)
4. matte between the two (`keyer.pixel.between`), sharpened by luma where
   chroma has fewer samples (`keyer.pixel.detail`), thin parts raised to solid
   (`keyer.pixel.thin`), grain gated away
5. backing lifted off, film taken off (`keyer.pixel.film`), spill that is left
   suppressed

Steps 1 to 3 and the film run on a copy of about 400 rows.
"""

from __future__ import annotations

from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass, replace

import cv2
import numpy as np
from numpy.typing import NDArray

from keyer.kinds.picture import Matrix, Planes
from keyer.pixel.between import between, weight_table
from keyer.pixel.carry import carry
from keyer.pixel.colour import HueAxes, hue_axes, rgb_to_ycc
from keyer.pixel.detail import sharpen_by_luma
from keyer.pixel.film import MOST, Film, edge_distance, measure_film, most_shares
from keyer.pixel.own_colour import Lifting, own_colour, share_table
from keyer.pixel.regions import draw_in, draw_out, drop_thin
from keyer.pixel.sampling import Sampling, align_chroma, measure_sampling
from keyer.pixel.solid import SMOOTHING, WORK_ROWS, first_core, foreign_parts, solid_parts
from keyer.pixel.thin import raise_bright, to_plateaus
from keyer.pixel.weigh import luma_of, signal_against

Plane = NDArray[np.float32]
Mask = NDArray[np.bool_]
Matrix3 = NDArray[np.float64]

LEAST_NOISE = 0.004
"""Grain that is reckoned with at least: one code of 8 bit."""

USUAL_SPREAD = 0.02
"""Variance of the subject's colours where it cannot be measured."""

GATE = 0.999
"""Share of the sure backing whose grain the gate must keep out."""

FULL_FROM = 0.97
"""Matte that counts as full."""

QUIET = 0.02
"""Smoothed matte below which, with a margin, there is nothing of the subject."""

BUSY_ROWS, BUSY_BANDS = 32, 5
"""Rows of a band, and bands, on which the sampling of chroma is measured."""

SPILL_DEPTH = 0.08
"""Depth into the subject, in picture heights, over which spill is looked for."""


@dataclass(frozen=True, eq=False)
class FineModel:
    """What a plate was found to be like; handed on, it keeps a clip steady.

    Attributes
    ----------
    spread : (3, 3) float64
        Covariance of the subject's colours about the colour carried outwards.
    sampling : Sampling
        How chroma was recorded.
    gate : float
        Smoothed matte up to which there is only grain.
    film : Film
        Light of the backing on the subject.
    """

    spread: Matrix3
    sampling: Sampling
    gate: float
    film: Film


@dataclass(frozen=True, eq=False)
class FineKey:
    """A plate, keyed.

    Attributes
    ----------
    matte : (H, W) float32
        0..1; 1 = subject.
    fill : (3, H, W) float32
        The subject's own colour, premultiplied; exactly 0 where the matte is.
    model : FineModel
    """

    matte: Plane
    fill: Planes
    model: FineModel


def fine_key(
    planes: Planes,
    backing: Planes,
    sure: Mask,
    hue_deg: float,
    noise: float,
    matrix: Matrix,
    *,
    spill_percent: float = 100.0,
    model: FineModel | None = None,
) -> FineKey:
    """Key a plate whose backing is known at every pixel.

    Parameters
    ----------
    planes : (3, H, W) float32, C-contiguous
        R'G'B' nominal 0..1.
    backing : (3, H, W) float32, C-contiguous
        From `keyer.pixel.backing`.
    sure : (h, w) bool
        Where it is surely backing, on a copy of any size.
    hue_deg : float
        Key hue on the vectorscope.
    noise : float
        Standard deviation of the grain.
    matrix : {"bt601", "bt709"}
    spill_percent : float
        How much of the backing's light is taken off the subject, 0..100.
    model : FineModel, optional
        That of another frame of the same shot; default: measured.

    Returns
    -------
    FineKey
    """
    plate = _Plate(planes, backing, hue_axes(hue_deg, matrix), matrix, max(noise, LEAST_NOISE))
    copy = _study(plate)
    spread = copy.spread if model is None else model.spread
    parts = _Parts(
        _enlarged(copy.solid, plate.size),
        ~_enlarged(copy.solid | copy.clear, plate.size),
        np.stack([cv2.resize(plane, plate.size) for plane in copy.subject]),
    )
    with ThreadPoolExecutor(1) as aside:
        # measured on the small copy by one thread: the matte is worked out meanwhile
        measured = aside.submit(lambda: _film(copy, plate) if model is None else model.film)
        sampling = _sampling(plate, parts) if model is None else model.sampling
        plate = replace(plate, planes=align_chroma(planes, sampling, matrix))
        table = weight_table(spread, plate.noise)
        matte = _matte(plate, parts, table, replace(sampling, repeated=False))
        smooth = np.asarray(cv2.GaussianBlur(matte, (0, 0), 1), np.float32)
        gate = _gate(smooth, _enlarged(sure, plate.size)) if model is None else model.gate
        matte = _gated(matte, smooth, gate)
        film = measured.result()
    blurred = sampling.across * sampling.down > 1
    shares = share_table(spread, plate.noise, matrix, blurred_chroma=blurred)
    lifting = _lifting(plate, copy, parts, matte, film, spill_percent / 100)
    fill = own_colour(plate.planes, lifting, shares, plate.axes)
    return FineKey(matte, fill, FineModel(spread, sampling, gate, film))


@dataclass(frozen=True, eq=False)
class _Plate:
    """A picture and its backing."""

    planes: Planes
    backing: Planes
    axes: HueAxes
    matrix: Matrix
    noise: float

    @property
    def size(self) -> tuple[int, int]:
        """Columns and rows, as OpenCV has it."""
        return self.planes.shape[2], self.planes.shape[1]


@dataclass(frozen=True, eq=False)
class _Study:
    """What the small copy tells: solid and clear parts, the subject's colour carried outwards."""

    planes: Planes
    backing: Planes
    solid: Mask
    own: Mask
    clear: Mask
    subject: Planes
    spread: Matrix3


@dataclass(frozen=True, eq=False)
class _Parts:
    """The same at full size: solid, edge (neither solid nor clear), the colour carried."""

    solid: Mask
    edge: Mask
    subject: Planes


def _study(plate: _Plate) -> _Study:
    width, height = plate.size
    step = max(1, round(height / WORK_ROWS))
    size = -(-width // step), -(-height // step)
    small, behind = (
        np.stack([cv2.resize(plane, size, interpolation=cv2.INTER_AREA) for plane in stack])
        for stack in (plate.planes, plate.backing)
    )
    signal = signal_against(small, behind, plate.axes)
    reach = max(1, round(signal.shape[0] / 60))
    core = first_core(signal, drop_thin(signal > 0.65, reach))
    subject, spread = _carried(small, core)
    matte = signal.clip(0, 1)
    between(small, subject, behind, ~core, weight_table(spread, plate.noise), matte)
    matte[core] = 1
    foreign = foreign_parts(small, subject, behind, plate.axes)
    solid = solid_parts(matte) | foreign
    matte[solid] = 1
    subject, spread = _carried(small, solid)
    smooth = cv2.GaussianBlur(matte, (0, 0), SMOOTHING)
    clear = draw_in(smooth < QUIET + plate.noise / 2, 3)
    own = ~draw_out(foreign, reach)
    return _Study(small, behind, solid, own, clear, subject, spread)


def _carried(planes: Planes, known: Mask) -> tuple[Planes, Matrix3]:
    """Carry the subject's colour outwards, and measure how far it is off, from inside the rim."""
    inner = draw_in(known, max(1, round(known.shape[0] / 72)))
    with ThreadPoolExecutor(1) as aside:
        further = aside.submit(carry, planes, inner.astype(np.float32))
        subject = carry(planes, known.astype(np.float32))
    rim = known & ~inner
    if int(rim.sum()) < 50 or not inner.any():
        return subject, USUAL_SPREAD * np.eye(3)
    off = (planes - further.result())[:, rim]
    return subject, np.cov(off.astype(np.float64)) + 1e-5 * np.eye(3)


def _enlarged(mask: Mask, size: tuple[int, int]) -> Mask:
    if mask.shape == (size[1], size[0]):
        return mask
    return cv2.resize(mask.view(np.uint8), size, interpolation=cv2.INTER_NEAREST).view(np.bool_)


def _sampling(plate: _Plate, parts: _Parts) -> Sampling:
    """Measure how chroma was sampled where most of the edge lies."""
    height = parts.edge.shape[0]
    rows = np.arange(height)
    if height > BUSY_ROWS * BUSY_BANDS:
        tops = np.arange(0, height - BUSY_ROWS + 1, BUSY_ROWS)
        busy = [int(parts.edge[top : top + BUSY_ROWS].sum()) for top in tops]
        chosen = np.sort(tops[np.argsort(busy)[-BUSY_BANDS:]])
        rows = (chosen[:, None] + np.arange(BUSY_ROWS)).ravel()
    luma, cb, cr = rgb_to_ycc(plate.planes[:, rows], plate.matrix)
    edge = parts.edge[rows]
    return measure_sampling(luma, cb, cr, edge, ~(edge | parts.solid[rows]))


def _matte(plate: _Plate, parts: _Parts, table: NDArray[np.float32], sampling: Sampling) -> Plane:
    luma, seen = None, plate.planes
    if sampling.across * sampling.down > 1:
        luma = luma_of(plate.planes, plate.matrix)
        seen = plate.planes - (luma - sampling.blur(luma))
    matte = signal_against(seen, plate.backing, plate.axes).clip(0, 1)
    matte[~parts.edge] = 0
    matte[parts.solid] = 1
    between(seen, parts.subject, plate.backing, parts.edge, table, matte)
    if luma is not None:
        matte = sharpen_by_luma(matte, luma, sampling, parts.solid, plate.noise)
    raise_bright(
        plate.planes, parts.subject, plate.backing, parts.edge, plate.axes, plate.matrix, matte
    )
    return to_plateaus(matte)


def _gate(smooth: Plane, sure: Mask) -> float:
    return float(np.quantile(smooth[sure], GATE)) if sure.any() else 0.0


def _gated(matte: Plane, smooth: Plane, gate: float) -> Plane:
    """Shut out grain where nothing near it says subject, and make nearly full full."""
    level = np.float32(min(gate, 0.2) + 1e-3)
    opened = smooth / level
    opened -= 1
    np.clip(opened, 0, 1, out=opened)
    opened *= matte
    opened /= np.float32(FULL_FROM)
    return np.asarray(np.minimum(opened, 1, out=opened))


def _film(copy: _Study, plate: _Plate) -> Film:
    smooth = np.stack([cv2.GaussianBlur(plane, (0, 0), 1) for plane in copy.planes])
    own = copy.own
    return measure_film(smooth, copy.backing, copy.solid, own, plate.axes, plate.matrix)


def _lifting(
    plate: _Plate, copy: _Study, parts: _Parts, matte: Plane, film: Film, amount: float
) -> Lifting:
    depth = edge_distance(copy.solid)
    tinted = np.float32(amount) * copy.own
    share = tinted * film.share_at(depth, np.full_like(depth, film.dark))
    near = tinted * np.exp(-((depth / np.float32(SPILL_DEPTH)) ** 2))
    share, near = (np.asarray(cv2.resize(plane, plate.size), np.float32) for plane in (share, near))
    if film.leans.any():
        luma = luma_of(parts.subject, plate.matrix)
        np.copyto(luma, luma_of(plate.planes, plate.matrix), where=parts.solid)
        luma -= np.float32(film.dark)
        luma *= cv2.resize(tinted * film.lean_at(depth), plate.size)
        share += luma
        np.clip(share, 0, MOST, out=share)
    most = most_shares(film, copy.planes, copy.subject, copy.backing, copy.solid, plate.axes)
    np.minimum(share, cv2.resize(most, plate.size), out=share)
    return Lifting(parts.subject, plate.backing, matte, share, film.veil, near)
