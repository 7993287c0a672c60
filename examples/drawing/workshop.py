"""The workshop of the hire: boards, a window on the lake, wheels on hooks, warm lamps."""

from __future__ import annotations

from dataclasses import replace
from functools import lru_cache

import cv2
import numpy as np
from numpy.typing import NDArray

from examples.drawing import bicycle, lake, raster, tiles, wheel
from examples.drawing.bicycle_base import Placed
from examples.drawing.light import STUDIO, Lamps, blurred, gamma, linear
from examples.drawing.moods import MORNING
from examples.drawing.parts import circle, cushion, tube, wash
from examples.drawing.stage import Stage, spline, taper

Floats = NDArray[np.float32]
Points = NDArray[np.float64]

INDOORS: Lamps = replace(
    STUDIO, key=(-0.75, -0.35, 0.55), key_colour=(1.0, 1.0, 1.02), rim=(0.7, -0.7, 0.1),
    rim_colour=(1.1, 0.85, 0.6), above=(0.42, 0.38, 0.34), below=(0.16, 0.13, 0.11),
)  # fmt: skip

_PANES = ((-0.815, -0.655), (-0.640, -0.480))
_ROWS = ((0.115, 0.265), (0.280, 0.430), (0.445, 0.595))
_LAMPS = ((-0.20, 0.150), (0.30, 0.130), (0.74, 0.150))


@lru_cache(maxsize=2)
def light_of(width: int, height: int) -> Floats:
    """Draw the workshop in linear light.

    Parameters
    ----------
    width, height : int
        Pixels.

    Returns
    -------
    (H, W, 3) float32, read-only
    """
    stage = Stage(width, height, fine=2)
    _wall(stage)
    _window_frame(stage)
    _tools(stage)
    _shelf(stage)
    _hung_wheels(stage)
    _stand(stage)
    _bench(stage)
    _lamp_shades(stage)
    colour, _ = stage.finish(1.1 * height / 1080)
    bright = np.asarray(colour ** np.float32(2.2) * _pools(width, height), np.float32)
    _lay_outside(bright, width, height)
    _lay_bulbs(bright, width, height)
    bright.setflags(write=False)
    return bright


def _rectangle(left: float, right: float, top: float, bottom: float) -> Points:
    return np.array([(left, top), (right, top), (right, bottom), (left, bottom)])


def _box(
    stage: Stage, left: float, right: float, top: float, bottom: float, colour: Floats,
    *, soft: float = 0.006, cast: float = 0.4,
) -> None:  # fmt: skip
    """Lay a block with eased edges and a shadow on what is behind it."""
    cushion(
        stage, [_rectangle(left, right, top, bottom)], colour, round_at=soft, gloss=0.08, sharp=10,
        cast=(cast, 0.012, 0.008, 0.014) if cast else None, lamps=INDOORS,
    )  # fmt: skip


def _wood(dark: str, pale: str, seed: int, *, upright: bool) -> object:
    """Grain of boards over places, for `cushion`."""

    def grain(x: Floats, y: Floats) -> Floats:
        along, across = (y, x) if upright else (x, y)
        u, v = along * np.float32(34), across * np.float32(620)
        streak = tiles.sample(tiles.tile(seed, 1.25, 2), u, v)
        share = np.clip(np.float32(0.5) + np.float32(0.22) * streak, 0, 1)[..., None]
        return np.asarray(linear(dark) + (linear(pale) - linear(dark)) * share, np.float32)

    return grain


def _wall(stage: Stage) -> None:
    half = stage.width / stage.height / 2 + 0.02
    window = stage.window(_rectangle(-half, half, -0.02, 1.02))
    if window is None:
        return
    x, y = window.places()
    wide = np.float32(0.092)
    number = np.floor(x / wide)
    within = x / wide - number
    tone = np.mod(np.sin(number * 78.233) * 43758.5453, 1).astype(np.float32)
    streak = tiles.sample(tiles.tile(61, 1.25, 2), x * 700 + tone * 400, y * np.float32(42))
    worn = tiles.sample(tiles.tile(62, 1.7, 2), x * 130, y * np.float32(130))
    share = np.clip(0.46 + 0.26 * (tone - 0.5) + 0.13 * streak + 0.10 * worn, 0, 1)[..., None]
    paint = linear("#20343A") + (linear("#5C7A7C") - linear("#20343A")) * share
    groove = np.abs(within - 0.5) * 2
    shade = 1 - np.float32(0.75) * np.clip((groove - 0.955) / 0.035, 0, 1)
    edge = np.float32(0.35) * np.clip(1 - np.abs(within - 0.04) / 0.025, 0, 1)
    paint = paint * (shade + edge)[..., None]
    mask = np.ones(window.mask_shape, np.float32)
    stage.lay(window, gamma(paint), mask)


def _pools(width: int, height: int) -> Floats:
    """Light in the room: lamps from above, the window from the left, dim corners."""
    seen = lake.view(width, height)
    warm, cool = linear("#FFD2A0"), linear("#DDE6F0")
    total = np.full((*seen.shape, 3), 0.15, np.float32) * linear("#C9B8A8")
    for x, y in _LAMPS:
        down = seen.y - np.float32(y)
        spread = np.float32(0.06) + np.float32(0.42) * np.maximum(down, 0)
        cone = np.exp(-(((seen.x - np.float32(x)) / spread) ** 2) * 0.8)
        cone = cone * np.clip((down + 0.015) / 0.03, 0, 1) * np.exp(-np.maximum(down, 0) / 0.42)
        glow = np.exp(-np.hypot(seen.x - np.float32(x), down - 0.02) / 0.13)
        total += (np.float32(2.9) * cone + np.float32(0.35) * glow)[..., None] * warm
    away = np.hypot(
        np.maximum(seen.x + 0.48, 0) * 0.8 + np.maximum(-0.82 - seen.x, 0), seen.y - 0.42
    )
    total += (np.float32(0.95) * np.exp(-away / 0.42))[..., None] * cool
    return np.asarray(total, np.float32)


def _window_frame(stage: Stage) -> None:
    _box(stage, -0.850, -0.445, 0.082, 0.630, linear("#C9BFA8"), soft=0.008)
    _box(stage, -0.870, -0.425, 0.618, 0.652, linear("#D6CCB4"), soft=0.008, cast=0.6)


def _lay_outside(bright: Floats, width: int, height: int) -> None:
    """Lay the bright lake behind the panes, out of focus, with the glass's own veil."""
    small_width, small_height = max(width // 2, 2), max(height // 2, 2)
    sky = lake.above(small_width, small_height, MORNING)[round(lake.HEADROOM * small_height) :]
    water = sky[::-1] * np.array([0.80, 0.86, 0.90], np.float32)
    whole = np.concatenate([sky, water])[:small_height]
    whole = np.roll(whole, -small_width // 4, axis=1)
    view = cv2.resize(blurred(np.ascontiguousarray(whole), 0.006 * small_height), (width, height))
    stage = Stage(width, height, fine=2)
    mask = np.zeros((height * 2, width * 2), np.float32)
    window = stage.window(_rectangle(-5, 5, -5, 5))
    if window is None:
        return
    for left, right in _PANES:
        for top, bottom in _ROWS:
            shape = window.to_mask(_rectangle(left, right, top, bottom))
            mask = np.maximum(mask, raster.polygon([shape], window.mask_shape))
    cover = blurred(window.coarse(mask), 1.1 * height / 1080)[..., None]
    bright += (np.minimum(view, 3) * np.float32(1.7) - bright) * cover
    seen = lake.view(width, height)
    haze = np.exp(-np.hypot(seen.x + 0.645, seen.y - 0.36) / 0.30)
    bright += (np.float32(0.10) * haze)[..., None] * linear("#E8EEF4")


def _tools(stage: Stage) -> None:
    """Lay a board with spanners and pliers, each on its nail."""
    cushion(stage, [_rectangle(-0.385, 0.105, 0.300, 0.560)],
            _wood("#6B4A2E", "#A87B4C", 63, upright=False),  # type: ignore[arg-type]
            round_at=0.006, cast=(0.5, 0.012, 0.008, 0.014), lamps=INDOORS)  # fmt: skip
    steel = linear("#B9B4AC")
    for index in range(8):
        x, tall = -0.355 + 0.043 * index, 0.190 - 0.014 * index
        shaft = np.array([[x, 0.335], [x, 0.335 + tall]])
        cast = (0.5, 0.004, 0.004, 0.006)
        tube(
            stage, shaft, np.full(2, 0.0048), steel, metal=0.8, gloss=0.5, cast=cast, lamps=INDOORS
        )
        for y, size in ((0.335, 0.0125), (0.335 + tall, 0.0105)):
            ring = [circle((x, y), size), circle((x, y - 0.001), size * 0.5)]
            cushion(
                stage, ring, steel, round_at=0.004, metal=0.8, gloss=0.5, cast=cast, lamps=INDOORS
            )
    for x, colour in ((0.010, "#A8352A"), (0.065, "#2E2A28")):
        for way in (-1, 1):
            handle = spline([(x, 0.350), (x + 0.016 * way, 0.42), (x + 0.013 * way, 0.50)])
            tube(stage, handle, taper([0.006, 0.009, 0.007], len(handle)), linear(colour),
                 gloss=0.3, cast=(0.5, 0.004, 0.004, 0.006), lamps=INDOORS)  # fmt: skip
        jaw = spline([(x, 0.355), (x, 0.325)])
        tube(stage, jaw, taper([0.012, 0.004], len(jaw)), steel, metal=0.8, lamps=INDOORS)


def _shelf(stage: Stage) -> None:
    cushion(stage, [_rectangle(0.300, 0.860, 0.300, 0.322)],
            _wood("#6B4A2E", "#B98A5A", 64, upright=False),  # type: ignore[arg-type]
            round_at=0.006, cast=(0.6, 0.02, 0.0, 0.03), lamps=INDOORS)  # fmt: skip
    random = np.random.default_rng(65)
    colours = ("#B5432C", "#D8C79E", "#5C3A2A", "#C99A3F", "#8C5A3A", "#E2D6BE", "#7A2E24")
    x = 0.318
    while x < 0.825:
        wide, tall = random.uniform(0.016, 0.030), random.uniform(0.045, 0.105)
        colour = linear(colours[int(random.integers(len(colours)))])
        if x + 2 * wide > 0.845:
            break
        _box(stage, x, x + 2 * wide, 0.300 - tall, 0.300, colour, soft=0.010, cast=0.5)
        label = _rectangle(
            x + 0.15 * wide, x + 1.85 * wide, 0.300 - 0.62 * tall, 0.300 - 0.28 * tall
        )
        wash(stage, [label], np.array([0.86, 0.80, 0.70], np.float32), 0.8, 0.001)
        x += 2 * wide + random.uniform(0.004, 0.018)


def _hung_wheels(stage: Stage) -> None:
    for x, y, radius, turn in ((0.755, 0.470, 0.118, 0.3), (0.500, 0.455, 0.104, 1.0)):
        hook = np.array([[x, 0.322], [x, y - radius * 0.86]])
        tube(stage, hook, np.full(2, 0.003), linear("#3A3430"), lamps=INDOORS)
        shown = wheel.Wheel((x, y), radius, squeeze=0.94, turn=turn, spokes=18)
        shadow = replace(shown, centre=(x + 0.018, y + 0.022))
        ring = [circle(shadow.centre, radius), circle(shadow.centre, radius * 0.86)]
        stage.darken(ring, 0.55, 0.008, (0.0, 0.0))
        wheel.draw(stage, shown, lamps=INDOORS)


def _stand(stage: Stage) -> None:
    """Lay a bicycle clamped in a work stand on the right."""
    post = np.array([[0.455, 1.05], [0.455, 0.585]])
    tube(stage, post, np.full(2, 0.010), linear("#8A3527"), gloss=0.4, coat=1.0, lamps=INDOORS)
    bicycle.put(Placed(stage, (0.575, 0.800), 0.122, paint="#C7A25A", turn=0.5, crank=2.4,
                               lamps=INDOORS))  # fmt: skip
    arm = spline([(0.455, 0.592), (0.462, 0.585), (0.483, 0.590)])
    tube(
        stage,
        arm,
        taper([0.013, 0.013, 0.016], len(arm)),
        linear("#2E2A28"),
        gloss=0.3,
        lamps=INDOORS,
    )


def _bench(stage: Stage) -> None:
    half = stage.width / stage.height / 2 + 0.02
    cushion(stage, [_rectangle(-half, 0.02, 0.862, 1.06)],
            _wood("#2B1D14", "#5A3E28", 66, upright=False),  # type: ignore[arg-type]
            round_at=0.006, lamps=INDOORS, cast=(0.7, 0.03, 0.02, -0.01))  # fmt: skip
    top = np.array([(-half, 0.800), (0.0, 0.800), (0.035, 0.862), (-half, 0.862)])
    cushion(stage, [top], _wood("#7A5436", "#C69A68", 67, upright=False),  # type: ignore[arg-type]
            round_at=0.004, gloss=0.15, sharp=8, lamps=INDOORS)  # fmt: skip
    _box(stage, -half, 0.036, 0.858, 0.885, linear("#6B4930"), soft=0.005, cast=0.7)
    for x, wide, tall, colour in (
        (-0.735, 0.034, 0.120, "#B5432C"),
        (-0.655, 0.030, 0.085, "#D8C79E"),
        (-0.580, 0.020, 0.060, "#4A4642"),
        (-0.050, 0.024, 0.062, "#D8C79E"),
    ):
        _tin(stage, x, wide, tall, linear(colour))
    _toolbox(stage)
    _oil_can(stage)


def _tin(stage: Stage, x: float, wide: float, tall: float, colour: Floats) -> None:
    foot = 0.830
    turn = np.linspace(0, np.pi, 16)
    low = np.stack([x + wide * np.cos(turn), foot + 0.2 * wide * np.sin(turn)], axis=1)
    body = np.concatenate([[(x - wide, foot - tall), (x + wide, foot - tall)], low])
    cushion(stage, [body], colour, round_at=wide, soften=0.15, gloss=0.35, sharp=18, lamps=INDOORS,
            cast=(0.6, 0.010, 0.014, 0.006))  # fmt: skip
    lid = circle((0.0, 0.0), wide) * np.array([1.0, 0.2]) + np.array([x, foot - tall])
    cushion(stage, [lid], linear("#B9B4AC"), round_at=0.004, metal=0.6, gloss=0.3, lamps=INDOORS)
    label = _rectangle(x - wide, x + wide, foot - 0.72 * tall, foot - 0.30 * tall)
    wash(stage, [label], np.array([0.72, 0.66, 0.55], np.float32), 0.55, 0.001)


def _toolbox(stage: Stage) -> None:
    red = linear("#A83A28")
    handle = spline([(-0.432, 0.748), (-0.425, 0.712), (-0.345, 0.712), (-0.338, 0.748)])
    tube(stage, handle, taper([0.0055], len(handle)), linear("#B9B4AC"), metal=0.8, lamps=INDOORS)
    _box(stage, -0.475, -0.295, 0.752, 0.836, red, soft=0.008, cast=0.7)
    lid = np.array(
        [
            (-0.480, 0.760),
            (-0.455, 0.738),
            (-0.315, 0.738),
            (-0.290, 0.760),
            (-0.290, 0.772),
            (-0.480, 0.772),
        ]
    )
    cushion(
        stage,
        [lid],
        red * np.float32(1.25),
        round_at=0.008,
        gloss=0.4,
        coat=1.0,
        lamps=INDOORS,
        cast=(0.6, 0.004, 0.0, 0.006),
    )
    for x in (-0.440, -0.330):
        _box(stage, x - 0.008, x + 0.008, 0.764, 0.788, linear("#C9B07A"), soft=0.004, cast=0.5)


def _oil_can(stage: Stage) -> None:
    spout = spline([(-0.165, 0.780), (-0.150, 0.735), (-0.115, 0.700)])
    tube(
        stage,
        spout,
        taper([0.008, 0.005, 0.0028], len(spout)),
        linear("#C99A4B"),
        metal=0.7,
        gloss=0.5,
        lamps=INDOORS,
    )
    body = spline(
        [
            (-0.205, 0.832),
            (-0.205, 0.808),
            (-0.188, 0.782),
            (-0.165, 0.770),
            (-0.142, 0.782),
            (-0.125, 0.808),
            (-0.125, 0.832),
            (-0.165, 0.838),
        ],
        closed=True,
    )
    cushion(stage, [body], linear("#C99A4B"), round_at=0.035, metal=0.6, gloss=0.5, lamps=INDOORS,
            cast=(0.6, 0.010, 0.012, 0.006))  # fmt: skip


def _lamp_shades(stage: Stage) -> None:
    for x, y in _LAMPS:
        cord = np.array([[x, -0.02], [x, y - 0.055]])
        tube(stage, cord, np.full(2, 0.0022), linear("#1A1715"), lamps=INDOORS)
        shade = spline(
            [
                (x - 0.012, y - 0.062),
                (x + 0.012, y - 0.062),
                (x + 0.026, y - 0.040),
                (x + 0.072, y + 0.002),
                (x + 0.074, y + 0.010),
                (x - 0.074, y + 0.010),
                (x - 0.072, y + 0.002),
                (x - 0.026, y - 0.040),
            ],
            closed=True,
            steps=5,
        )
        cushion(
            stage, [shade], linear("#B5432C"), round_at=0.03, gloss=0.4, coat=1.0, lamps=INDOORS
        )


def _lay_bulbs(bright: Floats, width: int, height: int) -> None:
    seen = lake.view(width, height)
    for x, y in _LAMPS:
        dx, dy = seen.x - np.float32(x), seen.y - np.float32(y + 0.012)
        bulb = np.exp(-((dx / 0.058) ** 6) - (dy / 0.0055) ** 2)
        globe = np.exp(-((dx / 0.014) ** 2) - ((dy - 0.006) / 0.013) ** 2)
        bright += (np.float32(3) * bulb + np.float32(12) * globe)[..., None] * linear("#FFD9A6")
