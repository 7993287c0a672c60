"""The fine chroma key.

With the backing known at every pixel and the subject's colour carried outwards
from its solid parts, the matte of an edge pixel is where its colour lies
between the two, in light where a camera mixed light. A small network
(`keyer.pixel.keys.network`) says which parts are solid, and looks at every edge
itself; the two answers are averaged. The steps:

1. first look of the network at a copy of about 400 rows: solid and clear parts
   (`keyer.pixel.keys.solid`)
2. subject's colour carried outwards (`keyer.pixel.mattes.push_pull`)
3. were light or coded values mixed (`keyer.pixel.keys.edge_light`), how was chroma
   sampled (`keyer.pixel.colour.sampling`)
4. matte between the two (`keyer.pixel.keys.between`), sharpened by luma where
   chroma has fewer samples (`keyer.pixel.keys.detail`)
5. the network's matte of the edges, which sees where these lie between the two
6. backing lifted off, film of its light taken off (`keyer.pixel.keys.film`), spill
   that is left suppressed
"""

from __future__ import annotations

from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass, replace

import cv2
import numpy as np
from numpy.typing import NDArray

from keyer.kinds.arrays import Mask, Plane, Planes
from keyer.kinds.picture import Matrix
from keyer.pixel.colour.chroma_detail import chroma_detail
from keyer.pixel.colour.luma_chroma import HueAxes, hue_axes, rgb_to_ycc
from keyer.pixel.colour.sampling import Sampling, measure_sampling
from keyer.pixel.colour.weigh import luma_of, signal_against
from keyer.pixel.keys.between import between, weight_table
from keyer.pixel.keys.detail import sharpen_by_luma
from keyer.pixel.keys.edge_light import DOUBT, SURE, code_of, light_of, mixed_in_light
from keyer.pixel.keys.film import MOST, Film, edge_distance, measure_film, most_shares
from keyer.pixel.keys.foreign import foreign_parts
from keyer.pixel.keys.network import in_tiles, look, reading, shrunk
from keyer.pixel.keys.own_colour import Lifting, own_colour, share_table
from keyer.pixel.keys.solid import SLOPE, solid_within
from keyer.pixel.mattes.push_pull import push_pull
from keyer.pixel.mattes.regions import closing, dilate, erode

Matrix3 = NDArray[np.float64]

WORK_ROWS = 400
"""About so many rows has the copy on which solid parts are looked for."""

SOLID, CLEAR = 0.97, 0.02
"""First matte from which a part is solid, and up to which it is clear."""

LIGHT = 6.0
"""Sigma in pixels of the copy over which light of the backing is averaged."""

BODY = 0.72
"""First matte from which light of the backing is looked for on the subject."""

FULL_FROM = np.float32(0.97)
"""Matte that counts as full."""

LEAST_NOISE = 0.004
"""Grain that is reckoned with at least: one code of 8 bit."""

USUAL_SPREAD = 0.02
"""Variance of the subject's colours where it cannot be measured."""

BUSY_ROWS, BUSY_BANDS = 32, 5
"""Rows of a band, and bands, on which the sampling of chroma is measured."""

_BELIEF = {False: np.float32(0.7), True: np.float32(0.5)}
"""How far the network's matte gives way to the one that is reckoned: in full, with fewer samples of
chroma (ours, from trials)."""

_AGREED = np.float32(0.15)
"""Difference of the two beyond which the reckoning is off: its colour is not that of the place."""

SPILL_DEPTH = 0.08
"""Depth into the subject, in picture heights, over which spill is looked for."""


@dataclass(frozen=True, eq=False)
class FineModel:
    """What a plate was found to be like; handed on, it keeps a clip steady.

    Attributes
    ----------
    mixing : float
        How much nearer its edges are to mixtures of light than to mixtures of coded values.
    spread : (3, 3) float64
        Covariance of the subject's colours about the colour carried outwards.
    other : (3, 3) float64
        The same in light where `spread` is of coded values, and the other way round.
    sampling : Sampling
        How chroma was recorded.
    film : Film
        Light of the backing on the subject.
    """

    mixing: float
    spread: Matrix3
    other: Matrix3
    sampling: Sampling
    film: Film


@dataclass(frozen=True, eq=False)
class FineKey:
    """Result of the fine key: the plate's matte and its own colour.

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
        From `keyer.pixel.keys.backing`.
    hue_deg : float
        Key hue on the vectorscope.
    noise : float
        Standard deviation of the grain.
    matrix : {"bt601", "bt709"}
    spill_percent : float
        How much of the backing's light is taken off the subject, 0..100.
    model : FineModel, optional
        That of another frame of the same shot; default: measured.
    """
    coded = _Plate(planes, backing, hue_axes(hue_deg, matrix), matrix, max(noise, LEAST_NOISE))
    parts = _parts(coded)
    sampling = _sampling(coded, parts) if model is None else model.sampling
    few = sampling.across * sampling.down > 1
    if few:
        detailed = chroma_detail(planes, matrix, sampling.across, sampling.down)
        coded = replace(coded, planes=detailed)
    lit = replace(coded, planes=light_of(coded.planes), backing=light_of(backing))
    studies = _study(coded, parts), _study(lit, parts)
    mixing = _mixing(coded, studies[0], parts) if model is None else model.mixing
    pairs = list(zip((coded, lit), studies, strict=True))
    (plate, study), (other, second) = pairs[::-1] if mixing > DOUBT else pairs
    spread, spread_other = (
        (study.spread, second.spread) if model is None else (model.spread, model.other)
    )
    with ThreadPoolExecutor(1) as aside:
        # measured on the small copy by one thread: the matte is worked out meanwhile
        measured = aside.submit(lambda: _film(study, plate, parts) if model is None else model.film)
        shares = [
            _between(*pair, parts, variance)
            for pair, variance in (((plate, study), spread), ((other, second), spread_other))
        ]
        hints = shares if plate is coded else shares[::-1]
        seen = _network(coded, studies[0], parts, (hints[0], hints[1]), mixing)
        reckoned = shares[0]
        if few:
            recorded = replace(plate, planes=light_of(planes) if plate is lit else planes)
            reckoned = _sharpened(recorded, study, parts, spread, sampling)
        matte = seen + _BELIEF[few] * np.clip(reckoned - seen, -_AGREED, _AGREED)
        matte = np.minimum(matte / FULL_FROM, 1)
        film = measured.result()
    table = share_table(spread, plate.noise)
    lifted = spill_percent / 100
    if plate is lit:
        lifting = _lifting_lit(plate, study, parts, matte, lifted)
    else:
        lifting = _lifting(plate, study, parts, matte, film, lifted)
    fill = own_colour(plate.planes, lifting, table, plate.axes)
    if plate is lit:
        some = np.maximum(matte, np.float32(1e-4))
        fill = code_of(fill / some) * matte
    return FineKey(matte, fill, FineModel(mixing, spread, spread_other, sampling, film))


@dataclass(frozen=True, eq=False)
class _Plate:
    """A picture and its backing, in coded values or in light."""

    planes: Planes
    backing: Planes
    axes: HueAxes
    matrix: Matrix
    noise: float

    @property
    def size(self) -> tuple[int, int]:
        """Columns and rows, in the order of OpenCV."""
        return self.planes.shape[2], self.planes.shape[1]


@dataclass(frozen=True, eq=False)
class _Parts:
    """Solid and clear parts of a small copy; solid and edge (neither) at full size."""

    body: Mask
    core: Mask
    near: Mask
    tinted: Mask
    own: Planes
    solid: Mask
    edge: Mask


@dataclass(frozen=True, eq=False)
class _Study:
    """The subject's colour carried outwards, small and at full size; how far it is off."""

    planes: Planes
    backing: Planes
    carried: Planes
    subject: Planes
    spread: Matrix3


def _parts(plate: _Plate) -> _Parts:
    small, _ = shrunk(plate.planes, WORK_ROWS)
    behind, _ = shrunk(plate.backing, WORK_ROWS)
    matte, own = look(small, behind, plate.axes, plate.matrix)
    solid = matte > SOLID
    solid |= solid_within(solid, matte)
    core = erode(solid, 1)
    signal = signal_against(small, behind, plate.axes)
    usual = float(np.median(signal[core])) if core.any() else 1.0
    plain = core & (signal > np.clip(usual - 0.07, 0.7, 0.9))
    carried = push_pull(small, plain.astype(np.float32))
    foreign = foreign_parts(small, carried, behind, plate.axes) & (matte > BODY)
    core |= foreign
    reach = max(1, round(matte.shape[0] / 60))
    tinted = ~dilate(foreign, reach)
    clear = erode(matte < CLEAR, 2)
    near = dilate(core, 4) & ~core & ~clear
    held = erode(core, 1) | foreign
    size = plate.size
    return _Parts(
        _body(matte) | core,
        core,
        near,
        tinted,
        own,
        _enlarged(held, size),
        ~_enlarged(held | clear, size),
    )


def _body(matte: Plane) -> Mask:
    """Where light of the backing may lie on the subject: dense, and of an edge that is no blur."""
    across, down = (cv2.Sobel(matte, -1, *way, scale=0.125) for way in ((1, 0), (0, 1)))
    calm = cv2.magnitude(across, down) < SLOPE / max(matte.shape[0], 90)
    reach = max(1, round(matte.shape[0] / 120))
    return closing((matte > BODY) & calm, reach) & (matte > 0.5)


def _study(plate: _Plate, parts: _Parts) -> _Study:
    small, _ = shrunk(plate.planes, WORK_ROWS)
    behind, _ = shrunk(plate.backing, WORK_ROWS)
    carried, spread = _carried(small, parts.core)
    subject = np.stack([cv2.resize(plane, plate.size) for plane in carried])
    return _Study(small, behind, carried, subject, spread)


def _carried(planes: Planes, known: Mask) -> tuple[Planes, Matrix3]:
    """Carry the subject's colour outwards, and measure how far it is off, from inside the rim."""
    inner = erode(known, max(1, round(known.shape[0] / 72)))
    with ThreadPoolExecutor(1) as aside:
        further = aside.submit(push_pull, planes, inner.astype(np.float32))
        subject = push_pull(planes, known.astype(np.float32))
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


def _mixing(coded: _Plate, study: _Study, parts: _Parts) -> float:
    near = _enlarged(parts.near, coded.size)
    return mixed_in_light(coded.planes, study.subject, coded.backing, near, coded.noise)


def _held(plate: _Plate, parts: _Parts, planes: Planes) -> Plane:
    """Give a first matte: the key signal at the edges."""
    matte = signal_against(planes, plate.backing, plate.axes).clip(0, 1)
    matte[~parts.edge] = 0
    matte[parts.solid] = 1
    return matte


def _between(plate: _Plate, study: _Study, parts: _Parts, spread: Matrix3) -> Plane:
    matte = _held(plate, parts, plate.planes)
    table = weight_table(spread, plate.noise)
    between(plate.planes, study.subject, plate.backing, parts.edge, table, matte)
    return matte


def _sharpened(
    plate: _Plate,
    study: _Study,
    parts: _Parts,
    spread: Matrix3,
    sampling: Sampling,
) -> Plane:
    """Where chroma has fewer samples: the matte of colours as soft as it, sharpened by luma."""
    sampling = replace(sampling, repeated=False)
    luma = luma_of(plate.planes, plate.matrix)
    soft = replace(plate, planes=plate.planes - (luma - sampling.blur(luma)))
    matte = _between(soft, study, parts, spread)
    return sharpen_by_luma(matte, luma, sampling, parts.solid, plate.noise)


def _network(
    plate: _Plate, study: _Study, parts: _Parts, shares: tuple[Plane, Plane], mixing: float
) -> Plane:
    matte = parts.solid.astype(np.float32)
    known = 0.0 if abs(mixing) < SURE else float(np.sign(mixing))

    def read(rows: slice, columns: slice) -> NDArray[np.float32]:
        picture, behind, own = (
            np.ascontiguousarray(stack[:, rows, columns])
            for stack in (plate.planes, plate.backing, study.subject)
        )
        coded, light = (np.ascontiguousarray(share[rows, columns]) for share in shares)
        return reading(picture, behind, plate.axes, plate.matrix, (own, coded, light), known)

    in_tiles(parts.edge, read, matte[np.newaxis])
    return np.clip(matte, 0, 1, out=matte)


def _film(study: _Study, plate: _Plate, parts: _Parts) -> Film:
    smooth = np.stack([cv2.GaussianBlur(plane, (0, 0), 1) for plane in study.planes])
    return measure_film(smooth, study.backing, parts.body, parts.tinted, plate.axes, plate.matrix)


def _lifting(
    plate: _Plate, study: _Study, parts: _Parts, matte: Plane, film: Film, amount: float
) -> Lifting:
    depth = edge_distance(parts.body)
    tinted = np.float32(amount) * parts.tinted
    share = tinted * film.share_at(depth, np.full_like(depth, film.dark))
    near = tinted * np.exp(-((depth / np.float32(SPILL_DEPTH)) ** 2))
    share, near = (np.asarray(cv2.resize(plane, plate.size), np.float32) for plane in (share, near))
    if film.leans.any():
        luma = luma_of(study.subject, plate.matrix)
        np.copyto(luma, luma_of(plate.planes, plate.matrix), where=parts.solid)
        luma -= np.float32(film.dark)
        luma *= cv2.resize(tinted * film.lean_at(depth), plate.size)
        share += luma
        np.clip(share, 0, MOST, out=share)
    solid = parts.body
    most = most_shares(film, study.planes, study.carried, study.backing, solid, plate.axes)
    np.minimum(share, cv2.resize(most, plate.size), out=share)
    return Lifting(study.subject, plate.backing, matte, share, film.veil, near)


def _lifting_lit(
    plate: _Plate, study: _Study, parts: _Parts, matte: Plane, amount: float
) -> Lifting:
    """Light of the backing on the subject as the network sees it on the small copy."""
    body = parts.body.astype(np.float32)
    off = study.planes - light_of(parts.own)
    share = (off * study.backing).sum(0) / np.maximum((study.backing**2).sum(0), np.float32(1e-3))
    around = np.maximum(cv2.GaussianBlur(body, (0, 0), LIGHT), np.float32(1e-3))
    share = cv2.GaussianBlur(share * body, (0, 0), LIGHT) / around
    share = push_pull(share[np.newaxis], body)[0].clip(0, MOST)
    share *= np.float32(amount) * parts.tinted
    none = np.zeros_like(matte)
    return Lifting(study.subject, plate.backing, matte, cv2.resize(share, plate.size), 0.0, none)
