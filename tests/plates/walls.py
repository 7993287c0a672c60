"""Pictures with a wall to key, as a camera records them, and where the wall is.

Everything is mixed in linear light (BT.709-6 item 1.2, inverted), as a camera
mixes it, and made from pictures that are free to use: photographs that
scikit-image carries (public domain and CC0) and drawings. A seed settles all.
"""

from __future__ import annotations

import itertools
import zlib
from collections.abc import Callable
from dataclasses import dataclass, field
from functools import cache

import cv2
import numpy as np
from numpy.typing import NDArray
from plates import shapes
from plates.making import h264, subsampled
from plates.textures import texture

from keyer.pixel.colour.transfer import decode_signal, encode_light

Planes = NDArray[np.float32]
Plane = NDArray[np.float32]
Colour = tuple[float, float, float]

LUMA = np.array([0.2126, 0.7152, 0.0722], np.float32)  # BT.709-6 item 3.2
WIDTH, HEIGHT = 480, 272
FACES = ("suit", "cup", "cat", "machine", "tissue", "night")

GREENS: tuple[Colour, ...] = (
    (0.13, 0.62, 0.25),
    (0.16, 0.68, 0.22),
    (0.18, 0.46, 0.20),
    (0.05, 0.74, 0.20),
    (0.28, 0.66, 0.30),
)
BLUES: tuple[Colour, ...] = (
    (0.10, 0.25, 0.68),
    (0.13, 0.27, 0.72),
    (0.08, 0.14, 0.52),
    (0.16, 0.36, 0.74),
)
CYAN_GREENS: tuple[Colour, ...] = ((0.08, 0.62, 0.45), (0.10, 0.58, 0.50), (0.14, 0.70, 0.52))
LIMES: tuple[Colour, ...] = ((0.36, 0.74, 0.16), (0.42, 0.76, 0.20), (0.30, 0.62, 0.10))
PALES: tuple[Colour, ...] = (
    (0.46, 0.68, 0.50),
    (0.36, 0.58, 0.42),
    (0.40, 0.55, 0.76),
    (0.34, 0.46, 0.66),
)
USUAL = GREENS + BLUES
NEUTRALS: tuple[Colour, ...] = (
    (0.42, 0.41, 0.40),
    (0.12, 0.12, 0.13),
    (0.70, 0.68, 0.64),
    (0.30, 0.24, 0.18),
)


@dataclass
class Shot:
    """A picture in the making, in light: the wall first, then what stands before it.

    `wall` is where the wall is seen, `odd` where it has not its own colour; `lit` is its light.
    """

    rng: np.random.Generator
    colour: Colour
    light: Planes
    wall: NDArray[np.bool_]
    grain: float = 0.006
    recorder: str = "444"
    lit: Planes = field(init=False)
    odd: NDArray[np.bool_] = field(init=False)

    def __post_init__(self) -> None:
        self.lit = self.light.copy()
        self.odd = np.zeros_like(self.wall)


@dataclass(frozen=True)
class Walled:
    """A recorded picture with a wall.

    Attributes
    ----------
    name : str
    recorded : (3, H, W) float32
    wall : (H, W) bool
        Where the wall alone is seen.
    paint : (H, W) bool
        Where it has its own colour: without joints and mirrored lamps.
    colour : three floats
        Median colour of the wall as recorded.
    stops : float
        Light from the darkest to the brightest percent of the wall, before the recorder.
    """

    name: str
    recorded: Planes
    wall: NDArray[np.bool_]
    paint: NDArray[np.bool_]
    colour: Colour
    stops: float


def light_of(colour: Colour) -> Plane:
    """Light of a coded colour, (3, 1, 1)."""
    return decode_signal(np.array(colour))[:, None, None].astype(np.float32)


def grid() -> tuple[Plane, Plane]:
    """Rows and columns, 0 to 1."""
    rows, cols = np.mgrid[0 : 1 : HEIGHT * 1j, 0 : 1 : WIDTH * 1j].astype(np.float32)
    return rows, cols


def stops_map(rng: np.random.Generator, stops: float) -> Plane:
    """Light of one or two lamps, `stops` from the brightest to the darkest point."""
    rows, cols = grid()
    light = np.zeros_like(rows)
    for _ in range(rng.integers(1, 3)):
        top, left = rng.uniform(-0.1, 1.1, 2)
        light += rng.uniform(0.5, 1) * np.exp(-1.5 * ((rows - top) ** 2 + 2 * (cols - left) ** 2))
    light = (light - light.min()) / max(float(np.ptp(light)), 1e-6)
    return (stops * (light - 0.6)).astype(np.float32)


def vignette(stops: float) -> Plane:
    """Light falling off from the middle, `stops` at the corners (cos^4 law, scaled)."""
    rows, cols = grid()
    far = ((rows - 0.5) ** 2 * (HEIGHT / WIDTH) ** 2 + (cols - 0.5) ** 2) / (
        0.25 * (1 + (HEIGHT / WIDTH) ** 2)
    )
    fall = np.log2(np.cos(np.arctan(np.sqrt(far))) ** 4)  # 2 stops at 45 degrees
    return (fall * stops / 2).astype(np.float32)


def folds(rng: np.random.Generator, stops: float) -> Plane:
    """Creases of a hung cloth: soft, mostly upright, of several widths."""
    total = np.zeros((HEIGHT, WIDTH), np.float32)
    for width in (3, 8, 20):
        noise = rng.normal(0, 1, (HEIGHT, WIDTH)).astype(np.float32)
        band = cv2.GaussianBlur(noise, (0, 0), sigmaX=width, sigmaY=width * rng.uniform(3, 9))
        total += band / band.std()
    turn = cv2.getRotationMatrix2D((WIDTH / 2, HEIGHT / 2), rng.uniform(-20, 20), 1.2)
    total = cv2.warpAffine(total, turn, (WIDTH, HEIGHT), borderMode=cv2.BORDER_REFLECT)
    return np.asarray(stops * total / (4 * total.std()), np.float32)


def wall(rng: np.random.Generator, colours: tuple[Colour, ...], stops: Plane | float = 0.0) -> Shot:
    """A lit wall that fills the picture."""
    colour = colours[rng.integers(len(colours))]
    lit = light_of(colour) * np.exp2(np.zeros((HEIGHT, WIDTH), np.float32) + stops)
    everywhere = np.ones((HEIGHT, WIDTH), np.bool_)
    return Shot(rng, colour, lit.astype(np.float32), everywhere)


def paste(shot: Shot, matte: Plane, subject: Planes, spill: float = 0.04) -> None:
    """Put a subject (in light) before the wall, with some of the wall's light on it."""
    near = cv2.GaussianBlur(1 - matte, (0, 0), 12) * 0.8 + 0.2
    shot.light = (matte * (subject + spill * near * shot.lit) + (1 - matte) * shot.light).astype(
        np.float32
    )
    shot.wall = shot.wall & (matte < 0.01)


@cache
def _texture_light(name: str) -> Planes:
    return decode_signal(texture(name, HEIGHT, WIDTH)).astype(np.float32)


def photograph(rng: np.random.Generator, name: str | None = None, exposure: float = 1.0) -> Planes:
    """A photograph in light, sometimes turned left to right."""
    planes = _texture_light(name or FACES[rng.integers(len(FACES))])
    turned = planes[:, :, ::-1] if rng.random() < 0.5 else planes
    return np.ascontiguousarray(turned) * np.float32(exposure)


def figure(rng: np.random.Generator, *, strands: int = 60, shape: str = "body") -> Plane:
    """Coverage of a drawn figure."""
    canvas = getattr(shapes, shape)(HEIGHT, WIDTH, rng)
    if strands:
        shapes.add_strands(canvas, strands, (0.4, 1.2), rng)
    return shapes.coverage(canvas, HEIGHT, WIDTH)


def moved(matte: Plane, across: float, down: float, scale: float) -> Plane:
    """A figure elsewhere and larger; shares of the picture's sides."""
    shift = np.array([
        [scale, 0, WIDTH * (0.5 - 0.5 * scale + across)],
        [0, scale, HEIGHT * (1.0 - scale + down)],
    ])  # fmt: skip
    return np.asarray(cv2.warpAffine(matte, shift, (WIDTH, HEIGHT)), np.float32)


def someone(shot: Shot, spill: float = 0.04) -> None:
    """An ordinary subject: a photograph's colours in a drawn shape."""
    rng = shot.rng
    shape = "blob" if rng.random() < 0.3 else "body"
    faces = FACES[:5] if shot.colour[2] > shot.colour[1] else FACES  # a night sky is blue as well
    paste(shot, figure(rng, shape=shape), photograph(rng, faces[rng.integers(len(faces))]), spill)


def cloth(rng: np.random.Generator, colours: tuple[Colour, ...]) -> Planes:
    """Dark cloth with folds, in light."""
    colour = light_of(colours[rng.integers(len(colours))])
    return np.asarray(colour * np.exp2(folds(rng, 1.5)), np.float32)


BLACKS: tuple[Colour, ...] = ((0.04, 0.04, 0.05), (0.08, 0.08, 0.08), (0.06, 0.07, 0.12))
NAVIES: tuple[Colour, ...] = ((0.05, 0.07, 0.18), (0.07, 0.10, 0.24), (0.09, 0.11, 0.20))


def dressed_dark(shot: Shot, spill: float) -> None:
    """One or two people in black and dark blue, faces lit."""
    rng = shot.rng
    places = [0.0] if rng.random() < 0.4 else [-0.2, 0.21]
    for place, colours in zip(places, (BLACKS, NAVIES), strict=False):
        matte = moved(figure(rng), place, 0.0, rng.uniform(0.85, 1.15))
        dark = cloth(rng, colours)
        rows, _ = grid()
        face = light_of((0.66, 0.52, 0.45)) * np.exp2(0.5 * folds(rng, 1.0))
        skin = np.clip((0.5 - rows) * 12, 0, 1)
        paste(shot, matte, skin * face + (1 - skin) * dark, spill)


def beyond(shot: Shot, where: NDArray[np.bool_], colours: tuple[Colour, ...] = NEUTRALS) -> None:
    """What lies beyond the wall's end: a studio, plain or of wood and stone."""
    rng = shot.rng
    colour = light_of(colours[rng.integers(len(colours))])
    ground = colour * np.exp2(0.7 * folds(rng, 1.0))
    if rng.random() < 0.4:
        ground = 0.5 * photograph(rng)
    soft = cv2.GaussianBlur(where.astype(np.float32), (0, 0), 0.8)
    shot.light = (soft * ground + (1 - soft) * shot.light).astype(np.float32)
    shot.lit = shot.lit * np.float32(1.0)
    shot.wall = shot.wall & (soft < 0.01)


def end_of_wall(shot: Shot) -> None:
    """The wall ends at one or two sides."""
    rows, cols = grid()
    rng = shot.rng
    lean = rng.uniform(-0.06, 0.06) * (rows - 0.5)
    side = rng.integers(4)
    if side in {0, 3}:
        beyond(shot, cols + lean < rng.uniform(0.08, 0.3))
    if side in {1, 3}:
        beyond(shot, cols + lean > rng.uniform(0.7, 0.92))
    if side == 2:
        beyond(shot, rows < rng.uniform(0.05, 0.25))


def floor(shot: Shot) -> None:
    """A floor below: neutral, wood, or the wall's own paint in less light."""
    rows, cols = grid()
    rng = shot.rng
    level = rng.uniform(0.66, 0.85) + 0.05 * rng.uniform(-1, 1) * cols
    if rng.random() < 0.4:
        bend = np.clip((rows - level) / 0.06, 0, 1)
        shot.light = (shot.light * np.exp2(bend * rng.uniform(-1.0, 0.5))).astype(np.float32)
        return
    beyond(shot, rows > level)


def stand(shot: Shot) -> None:
    """Lamp stands, a boom and tracking marks before the wall."""
    rng = shot.rng
    canvas = np.zeros((HEIGHT, WIDTH), np.uint8)
    for _ in range(rng.integers(1, 4)):
        left = int(WIDTH * rng.uniform(0.03, 0.97))
        top = int(HEIGHT * rng.uniform(0.1, 0.6))
        cv2.line(canvas, (left, top), (left, HEIGHT), 255, int(rng.integers(2, 6)), cv2.LINE_AA)
        cv2.circle(canvas, (left, top), int(rng.integers(5, 16)), 255, -1, cv2.LINE_AA)
    if rng.random() < 0.5:
        ends = [(0, int(HEIGHT * rng.uniform(0, 0.3))), (WIDTH, int(HEIGHT * rng.uniform(0, 0.3)))]
        cv2.line(canvas, ends[0], ends[1], 255, 4, cv2.LINE_AA)
    for down in np.linspace(0.15, 0.85, 4):
        for across in np.linspace(0.1, 0.9, 6):
            spot = int(WIDTH * across), int(HEIGHT * down)
            cv2.drawMarker(canvas, spot, 255, cv2.MARKER_CROSS, 9, 1)
    colour = light_of(NEUTRALS[rng.integers(len(NEUTRALS))])
    paste(shot, canvas.astype(np.float32) / 255, np.broadcast_to(colour, shot.light.shape), 0.0)


def _dark_and_spill(rng: np.random.Generator) -> Shot:
    shot = wall(rng, USUAL, stops_map(rng, rng.uniform(0.2, 0.8)))
    dressed_dark(shot, rng.uniform(0.02, 0.10))
    return shot


def _clipped(rng: np.random.Generator) -> Shot:
    """Brighter and purer than the code can say: red or blue at 0, sometimes green at 1."""
    shot = wall(rng, GREENS, stops_map(rng, rng.uniform(0.2, 0.6)))
    pure = shot.light.copy()
    grey = pure.mean(0)
    shot.light = ((pure - rng.uniform(0.2, 0.5) * grey) * rng.uniform(1.3, 3.0)).astype(np.float32)
    shot.lit = np.maximum(shot.light, 0)
    dressed_dark(shot, rng.uniform(0.01, 0.08))
    return shot


def _pale(rng: np.random.Generator) -> Shot:
    shot = wall(rng, PALES, stops_map(rng, rng.uniform(0.1, 0.6)))
    someone(shot)
    return shot


def _ended(rng: np.random.Generator) -> Shot:
    shot = wall(rng, USUAL, stops_map(rng, 0.5))
    end_of_wall(shot)
    someone(shot)
    return shot


def _floored(rng: np.random.Generator) -> Shot:
    shot = wall(rng, USUAL, stops_map(rng, 0.5))
    floor(shot)
    someone(shot)
    return shot


def _stand(rng: np.random.Generator) -> Shot:
    shot = wall(rng, USUAL, stops_map(rng, 0.6))
    stand(shot)
    if rng.random() < 0.5:
        end_of_wall(shot)
    someone(shot)
    return shot


def _cyan_green(rng: np.random.Generator) -> Shot:
    shot = wall(rng, CYAN_GREENS, stops_map(rng, 0.5))
    someone(shot)
    return shot


def _lime(rng: np.random.Generator) -> Shot:
    shot = wall(rng, LIMES, stops_map(rng, 0.5))
    someone(shot)
    return shot


def _blue_noise(rng: np.random.Generator) -> Shot:
    shot = wall(rng, BLUES, stops_map(rng, 0.5))
    someone(shot)
    shot.grain = rng.uniform(0.02, 0.06)
    return shot


def _little(rng: np.random.Generator) -> Shot:
    """A close subject: the wall shows in 8 to 20 % of the picture, in the corners."""
    shot = wall(rng, USUAL, stops_map(rng, 0.4))
    wanted = rng.uniform(0.07, 0.16)
    base = figure(rng, strands=30)
    for scale in np.linspace(1.0, 2.6, 17):
        matte = moved(base, rng.uniform(-0.1, 0.1), 0.0, float(scale))
        if (matte < 0.01).mean() < wanted + 0.03:
            break
    paste(shot, matte, photograph(rng, FACES[rng.integers(3)]))
    return shot


def _nearly_all(rng: np.random.Generator) -> Shot:
    """A small thing, or nothing, before a wall of 95 % and more."""
    shot = wall(rng, USUAL, stops_map(rng, 0.6))
    if rng.random() < 0.75:
        matte = moved(
            figure(rng, shape="blob"), rng.uniform(-0.3, 0.3), rng.uniform(-0.3, 0.0), 0.3
        )
        paste(shot, matte, photograph(rng))
    return shot


def _vignette(rng: np.random.Generator) -> Shot:
    shot = wall(rng, USUAL, vignette(3.0) + stops_map(rng, rng.uniform(0, 0.6)) + 0.8)
    someone(shot)
    return shot


def _wrinkles(rng: np.random.Generator) -> Shot:
    shot = wall(rng, USUAL, stops_map(rng, 0.4) + folds(rng, rng.uniform(0.4, 1.2)))
    someone(shot)
    return shot


def _hot_spot(rng: np.random.Generator) -> Shot:
    """A lamp's own reflection on a wall that is not quite matt."""
    shot = wall(rng, USUAL, stops_map(rng, 0.5))
    rows, cols = grid()
    top, left = rng.uniform(0.1, 0.6), rng.uniform(0.1, 0.9)
    pool = np.exp(-((rows - top) ** 2 + 3 * (cols - left) ** 2) / 0.01)
    shot.light = (shot.light + rng.uniform(0.05, 0.3) * pool).astype(np.float32)
    shot.odd = pool > 0.05
    someone(shot)
    return shot


def _shadow(rng: np.random.Generator) -> Shot:
    shot = wall(rng, USUAL, stops_map(rng, 0.4))
    matte = figure(rng)
    thrown = moved(matte, rng.choice([-0.13, 0.13]), 0.03, 1.05)
    dark = cv2.GaussianBlur(thrown, (0, 0), rng.uniform(2, 10)) * rng.uniform(0.5, 1.8)
    shot.light = (shot.light * np.exp2(-dark)).astype(np.float32)
    paste(shot, matte, photograph(rng))
    return shot


def _dim(rng: np.random.Generator) -> Shot:
    """Everything one to two stops under."""
    shot = wall(rng, USUAL, stops_map(rng, 0.5))
    someone(shot)
    shot.light *= np.float32(2 ** rng.uniform(-2.0, -1.0))
    shot.grain = 0.01
    return shot


def _recorded_poorly(rng: np.random.Generator) -> Shot:
    shot = wall(rng, USUAL, stops_map(rng, 0.5))
    someone(shot)
    shot.recorder, shot.grain = str(rng.choice(["jpeg", "h264"])), 0.012
    return shot


LOUD: tuple[Colour, ...] = (
    (0.75, 0.12, 0.14),
    (0.85, 0.40, 0.08),
    (0.85, 0.75, 0.12),
    (0.60, 0.12, 0.55),
    (0.10, 0.20, 0.60),
    (0.15, 0.55, 0.20),
)


def _loud_subject(rng: np.random.Generator) -> Shot:
    """A subject in one strong colour that is not the wall's, larger than is comfortable."""
    shot = wall(rng, USUAL, stops_map(rng, 0.5))
    others = LOUD[:4] + (LOUD[4:5] if shot.colour in GREENS else LOUD[5:])
    matte = moved(figure(rng), 0.0, 0.0, rng.uniform(0.9, 1.25))
    coat = light_of(others[rng.integers(len(others))]) * np.exp2(folds(rng, 1.0))
    rows, _ = grid()
    skin = np.clip((0.5 - rows) * 12, 0, 1)
    paste(shot, matte, skin * light_of((0.66, 0.52, 0.45)) + (1 - skin) * coat)
    return shot


def _screen_in_a_room(rng: np.random.Generator) -> Shot:
    """A folding screen or a cloth on a frame in the middle of a room, the room all round."""
    shot = wall(rng, USUAL, stops_map(rng, 0.4))
    rows, cols = grid()
    left, right = rng.uniform(0.1, 0.24), rng.uniform(0.76, 0.9)
    top, bottom = rng.uniform(0.03, 0.15), rng.uniform(0.82, 0.97)
    beyond(shot, (cols < left) | (cols > right) | (rows < top) | (rows > bottom))
    someone(shot)
    return shot


def _seams(rng: np.random.Generator) -> Shot:
    """A wall of panels whose paint differs a little, with dark joints."""
    shot = wall(rng, USUAL, stops_map(rng, 0.4))
    count = int(rng.integers(3, 7))
    edges = np.linspace(0, WIDTH, count + 1).astype(int)
    for left, right in itertools.pairwise(edges):
        tint = 2 ** rng.uniform(-0.12, 0.12, 3)[:, None, None]
        shot.light[:, :, left:right] *= tint.astype(np.float32)
        shot.light[:, :, left : left + 1] *= np.float32(0.5)
        shot.odd[:, max(0, left - 1) : left + 2] = True
    someone(shot)
    return shot


def _leaves(rng: np.random.Generator) -> Shot:
    """Many small things before the wall: leaves, a net, spokes."""
    shot = wall(rng, USUAL, stops_map(rng, 0.4))
    canvas = np.zeros((HEIGHT, WIDTH), np.uint8)
    for _ in range(rng.integers(40, 140)):
        spot = int(WIDTH * rng.normal(0.5, 0.2)), int(HEIGHT * rng.normal(0.55, 0.25))
        axes = int(rng.integers(6, 20)), int(rng.integers(3, 8))
        cv2.ellipse(canvas, spot, axes, rng.uniform(0, 180), 0, 360, 255, -1, cv2.LINE_AA)
    paste(shot, canvas.astype(np.float32) / 255, photograph(rng), 0.08)
    return shot


KINDS: dict[str, Callable[[np.random.Generator], Shot]] = {
    "dark subjects with spill": _dark_and_spill,
    "clipped": _clipped,
    "pale": _pale,
    "with a visible end": _ended,
    "with a floor": _floored,
    "with stands and marks": _stand,
    "cyan-green": _cyan_green,
    "lime": _lime,
    "blue with noise": _blue_noise,
    "in the corners only": _little,
    "nearly all": _nearly_all,
    "vignette of three stops": _vignette,
    "wrinkled": _wrinkles,
    "hot spot": _hot_spot,
    "with a shadow": _shadow,
    "dim": _dim,
    "recorded poorly": _recorded_poorly,
    "loud subject": _loud_subject,
    "screen in a room": _screen_in_a_room,
    "of panels": _seams,
    "behind leaves": _leaves,
}
"""Kinds of pictures with a wall; each makes one from a random generator."""


def record(shot: Shot) -> Planes:
    """What the camera and its recorder make of the light."""
    coded = encode_light(np.maximum(shot.light, 0))
    coded = coded + shot.rng.normal(0, shot.grain, coded.shape)
    planes = np.clip(coded, 0, 1).astype(np.float32)
    if shot.recorder == "h264":
        return h264(planes, 0.08)
    if shot.recorder == "jpeg":
        planes = subsampled(planes)
        codes = (planes[::-1].transpose(1, 2, 0) * 255 + 0.5).astype(np.uint8)
        packed = cv2.imencode(".jpg", codes, [cv2.IMWRITE_JPEG_QUALITY, 60])[1]
        planes = cv2.imdecode(packed, cv2.IMREAD_COLOR)[..., ::-1].transpose(2, 0, 1) / 255
    return np.ascontiguousarray((np.rint(planes * 255) / 255).astype(np.float32))


def walled(kind: str, seed: int) -> Walled:
    """Make one picture with a wall; a seed gives another of the same kind."""
    shot = KINDS[kind](np.random.default_rng([seed, zlib.crc32(kind.encode())]))
    recorded = record(shot)
    paint = shot.wall & ~shot.odd
    red, green, blue = (float(part) for part in np.median(recorded[:, paint], axis=1))
    light = np.tensordot(LUMA, np.clip(shot.light[:, paint], 0, 1), axes=1)
    low, high = np.quantile(light, [0.01, 0.99])
    stops = float(np.log2(max(high, 1e-4) / max(low, 1e-4)))
    return Walled(f"{kind} {seed}", recorded, shot.wall, paint, (red, green, blue), stops)
