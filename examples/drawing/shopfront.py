"""The front of the hire on a bright morning: boards, windows, door, bicycles."""

from __future__ import annotations

from functools import lru_cache

import cv2
import numpy as np
from numpy.typing import NDArray

from examples.drawing import bicycle, lake, lettering, tiles, wheel
from examples.drawing.bicycle_base import Placed
from examples.drawing.light import blurred, encode, gamma, linear
from examples.drawing.moods import MORNING
from examples.drawing.parts import circle, cushion, strands, tube, wash
from examples.drawing.shop_things import (
    CREAM,
    GROUND,
    LAMPLIGHT,
    MORNING_SUN,
    PETROL,
    RUST,
    awning,
    bulbs,
    flowers,
    half_width,
    price_board,
    rectangle,
    sign,
)
from examples.drawing.stage import Stage, Window

Floats = NDArray[np.float32]
Points = NDArray[np.float64]


def light_of(width: int, height: int, time: float) -> Floats:
    """Draw the front of the hire in linear light.

    Parameters
    ----------
    width, height : int
        Pixels.
    time : float
        Seconds; the shadows of leaves move on the wall.

    Returns
    -------
    (H, W, 3) float32
    """
    return _front(width, height) * _dapple(width, height, time)


@lru_cache(maxsize=2)
def _front(width: int, height: int) -> Floats:
    """All that stands still, evenly lit."""
    stage = Stage(width, height, fine=2)
    _boards(stage)
    _deck(stage)
    _window(stage, (-0.800, -0.270, 0.385, 0.715))
    _window(stage, (0.420, 0.800, 0.385, 0.640))
    _door(stage)
    flowers(stage, 0.420, 0.800, 0.668, 51)
    awning(stage, -0.860, 0.345)
    sign(stage)
    bulbs(stage)
    price_board(stage)
    for x, size, paint, turn in ((-0.545, 0.112, "#C23A2C", 0.2), (0.640, 0.108, "#3F6A70", 1.1)):
        _stand_bicycle(stage, x, size, paint, turn)
    colour, _ = stage.finish(0.7 * height / 1080)
    bright = np.asarray(colour ** np.float32(2.2), np.float32)
    bright.setflags(write=False)
    return bright


def _boards(stage: Stage) -> None:
    """Weatherboards: each leans out over the one below and shades it."""
    half = half_width(stage)
    window = stage.window(rectangle(-half, half, -0.02, GROUND + 0.01))
    if window is None:
        return
    x, y = window.places()
    tall = np.float32(0.046)
    number = np.floor(y / tall)
    within = y / tall - number
    tone = np.mod(np.sin(number * 39.346) * 43758.5453, 1).astype(np.float32)
    streak = tiles.sample(tiles.tile(71, 1.2, 2), x * 36 + tone * 300, y * np.float32(800))
    worn = tiles.sample(tiles.tile(72, 1.7, 2), x * 150, y * np.float32(150))
    share = np.clip(0.62 + 0.16 * (tone - 0.5) + 0.10 * streak + 0.09 * worn, 0, 1)[..., None]
    paint = linear("#5F8B90") + (linear("#BFD3CC") - linear("#5F8B90")) * share
    lap = np.clip(within / 0.14, 0, 1) * np.float32(0.62) + np.float32(0.38)
    lip = np.float32(0.16) * np.clip((within - 0.86) / 0.12, 0, 1)
    paint = paint * ((lap + lip) * (np.float32(0.92) + np.float32(0.10) * within))[..., None]
    eave = np.clip((y - np.float32(0.05)) / np.float32(0.08), 0, 1) * np.float32(0.62) + np.float32(
        0.38
    )
    foot = 1 - np.float32(0.35) * np.exp(-(GROUND - y) / np.float32(0.03))
    paint = paint * (eave * foot)[..., None]
    stage.lay(window, gamma(paint), np.ones(window.mask_shape, np.float32))


def _deck(stage: Stage) -> None:
    """Boards of the landing, running towards the eye."""
    half = half_width(stage)
    window = stage.window(rectangle(-half, half, GROUND, 1.02))
    if window is None:
        return
    x, y = window.places()
    depth = np.float32(0.30) / (y - np.float32(GROUND - 0.30))
    across = x * depth / np.float32(0.075)
    number = np.floor(across)
    within = np.abs(across - number - np.float32(0.5)) * 2
    tone = np.mod(np.sin(number * 12.9898) * 43758.5453, 1).astype(np.float32)
    streak = tiles.sample(
        tiles.tile(73, 1.15, 2), across * 90, depth * np.float32(420) + tone * 300
    )
    share = np.clip(0.50 + 0.30 * (tone - 0.5) + 0.14 * streak, 0, 1)[..., None]
    paint = linear("#6A5440") + (linear("#C8AC8A") - linear("#6A5440")) * share
    gap = np.clip((within - np.float32(0.955)) / np.float32(0.02), 0, 1)
    wall = 1 - np.float32(0.55) * np.exp(-(y - np.float32(GROUND)) / np.float32(0.016))
    paint = paint * ((1 - np.float32(0.75) * gap) * wall)[..., None]
    stage.lay(window, gamma(paint), np.ones(window.mask_shape, np.float32))
    kerb = rectangle(-half, half, GROUND - 0.018, GROUND + 0.004)
    cushion(stage, [kerb], PETROL * np.float32(1.4), round_at=0.004, lamps=MORNING_SUN)


def _window(stage: Stage, box: tuple[float, float, float, float]) -> None:
    left, right, top, bottom = box
    outer = rectangle(left - 0.022, right + 0.022, top - 0.022, bottom + 0.020)
    cushion(
        stage, [outer], CREAM, round_at=0.006, lamps=MORNING_SUN, cast=(0.5, 0.010, 0.012, 0.014)
    )
    _glass(stage, box)
    for share in (1 / 3, 2 / 3):
        x = left + (right - left) * share
        bar = np.array([(x, top), (x, bottom)])
        tube(
            stage,
            bar,
            np.full(2, 0.0055),
            CREAM,
            lamps=MORNING_SUN,
            cast=(0.4, 0.004, 0.004, 0.004),
        )
    y = top + (bottom - top) * 0.36
    bar = np.array([(left, y), (right, y)])
    tube(stage, bar, np.full(2, 0.0055), CREAM, lamps=MORNING_SUN, cast=(0.4, 0.004, 0.004, 0.004))
    sill = rectangle(left - 0.036, right + 0.036, bottom + 0.012, bottom + 0.034)
    cushion(
        stage, [sill], CREAM, round_at=0.006, lamps=MORNING_SUN, cast=(0.6, 0.010, 0.006, 0.018)
    )


def _glass(stage: Stage, box: tuple[float, float, float, float]) -> None:
    """Lay a dim, warm room behind the glass, and the lake mirrored in it."""
    left, right, top, bottom = box
    window = stage.window(rectangle(left, right, top, bottom))
    if window is None:
        return
    x, y = window.places()
    lamp = np.exp(-np.hypot((x - (left + 0.30 * (right - left))) / 0.16, (y - top - 0.05) / 0.12))
    second = np.exp(-np.hypot((x - (left + 0.78 * (right - left))) / 0.13, (y - top - 0.04) / 0.10))
    warm = (
        linear("#2A1C14") * np.float32(0.8)
        + (lamp + 0.8 * second)[..., None] * linear("#E8A860") * 0.9
    )
    shelf = np.clip(np.sin((y - top) * 52) * 6 - 5, 0, 1) * np.float32(0.6)
    warm = warm * (1 - shelf)[..., None]
    goods = tiles.sample(
        tiles.tile(75, 0.9, 6, 40), x * 500, np.floor((y - top) * 16) * np.float32(97)
    )
    warm = warm * (np.float32(1) + np.float32(0.30) * np.clip(goods, -1.5, 1.5))[..., None]
    rows, columns = window.shape
    size = max(columns // 2, 2), max(rows // 2, 2)
    sky = lake.above(size[0], size[1], MORNING)[round(lake.HEADROOM * size[1]) :]
    whole = np.concatenate([sky, sky[::-1] * np.float32(0.75)])[: size[1]]
    view = cv2.resize(
        np.ascontiguousarray(whole[:, ::-1]), (columns, rows), interpolation=cv2.INTER_LINEAR
    )
    view = blurred(np.asarray(view, np.float32), 0.003 * window.scale)
    rim = np.minimum(
        np.minimum(x - np.float32(left), np.float32(right) - x),
        np.minimum((y - np.float32(top)) * np.float32(0.6), np.float32(bottom) - y),
    )
    deep = np.float32(0.45) + np.float32(0.55) * np.clip(rim / 0.022, 0, 1)
    whole_pane = np.ones(window.mask_shape, np.float32)
    stage.lay(window, encode(warm * deep[..., None], 3.0), whole_pane)
    if right - left > 0.4:
        for place, radius in ((0.24, 0.105), (0.72, 0.095)):
            hung = wheel.Wheel(
                (left + place * (right - left), 0.548), radius, squeeze=0.9, turn=place
            )
            wheel.draw(stage, hung, lamps=LAMPLIGHT)
    slant = np.clip(
        (x - np.float32(left)) / np.float32(right - left) * 0.5 + (bottom - y) * 1.9 - 0.15, 0, 1
    )
    streak = np.float32(0.10) * (np.sin((x + y * 0.55) * 17) > 0.55)
    veil = np.float32(0.05) + np.float32(0.30) * slant * slant + streak
    stage.lay(window, encode(np.minimum(view, 2.5), 3.0), window_mask(window, veil * deep))


def window_mask(window: Window, opacity: Floats) -> Floats:
    """Bring a plane of opacity to the size of masks."""
    size = (window.width * window.fine, window.height * window.fine)
    return np.asarray(cv2.resize(opacity, size, interpolation=cv2.INTER_LINEAR), np.float32)


def _door(stage: Stage) -> None:
    cushion(
        stage,
        [rectangle(0.055, 0.335, 0.345, GROUND)],
        CREAM,
        round_at=0.006,
        lamps=MORNING_SUN,
        cast=(0.5, 0.010, 0.012, 0.008),
    )
    cushion(
        stage,
        [rectangle(0.078, 0.312, 0.368, GROUND)],
        RUST,
        round_at=0.006,
        gloss=0.3,
        coat=0.8,
        lamps=MORNING_SUN,
    )
    _glass(stage, (0.108, 0.282, 0.405, 0.620))
    for top, bottom in ((0.660, 0.730), (0.750, 0.820)):
        for grow, tone in ((0.006, 0.55), (0.0, 0.95)):
            panel = rectangle(0.108 - grow, 0.282 + grow, top - grow, bottom + grow)
            cushion(
                stage,
                [panel],
                RUST * np.float32(tone),
                round_at=0.008,
                gloss=0.2,
                lamps=MORNING_SUN,
            )
    knob = circle((0.298, 0.640), 0.0085)
    cushion(
        stage,
        [knob],
        linear("#C99A4B"),
        round_at=0.008,
        metal=0.6,
        gloss=0.8,
        lamps=MORNING_SUN,
        cast=(0.6, 0.004, 0.004, 0.006),
    )
    for x in (0.150, 0.240):
        cord = np.array([(x, 0.470), (0.195, 0.432)])
        strands(stage, [cord], [np.full(2, 0.002)], encode(CREAM * np.float32(0.5)), 1.0)
    cushion(
        stage,
        [rectangle(0.142, 0.248, 0.470, 0.528)],
        CREAM,
        round_at=0.005,
        lamps=MORNING_SUN,
        cast=(0.6, 0.006, 0.006, 0.008),
    )
    lettering.paint(stage, "OPEN", (0.195, 0.4995), 0.034, encode(RUST), spaced=0.10)


def _stand_bicycle(stage: Stage, x: float, size: float, paint: str, turn: float) -> None:
    foot = 0.930
    shadow = np.array([(x - 2.6 * size, foot - 0.004), (x + 2.7 * size, foot - 0.004),
                       (x + 3.1 * size, foot + 0.016), (x - 2.2 * size, foot + 0.016)])  # fmt: skip
    wash(stage, [shadow], np.zeros(3, np.float32), 0.55, 0.008)
    bicycle.put(Placed(stage, (x, foot - size), size, paint=paint, turn=turn, crank=turn,
                               lamps=MORNING_SUN))  # fmt: skip


def _dapple(width: int, height: int, time: float) -> Floats:
    """Sun through leaves: soft, moving patches of warm light, cool shade between them."""
    seen = lake.view(max(width // 2, 1), max(height // 2, 1))
    source = tiles.tile(77, 1.5, 2)
    sway = float(5 * np.sin(0.9 * time))
    u = (seen.x + np.float32(0.35) * seen.y) * 150 + sway
    v = seen.y * np.float32(170) - seen.x * np.float32(30)
    leaves = tiles.sample(source, u, v) + np.float32(0.6) * tiles.sample(
        source, u * 2.7 - sway, v * 2.5
    )
    leaves = blurred(leaves, 0.006 * seen.shape[0])
    # The sun gets through more freely in the middle; the tree stands on the left.
    open_ = np.float32(0.80) + np.float32(0.55) * np.clip(seen.x + 0.75, -0.4, 0.6)
    lit = np.clip(open_ + np.float32(0.55) * leaves, 0, 1)
    lit = lit * lit * (3 - 2 * lit)
    light = linear("#BCC6D6") * np.float32(0.80)
    light = light + lit[..., None] * (linear("#FFE6C2") * np.float32(1.35) - light)
    return np.asarray(
        cv2.resize(light, (width, height), interpolation=cv2.INTER_LINEAR), np.float32
    )
