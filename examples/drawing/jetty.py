"""The jetty: planks and posts in perspective, and what the waves mirror of them."""

from __future__ import annotations

from functools import lru_cache

import cv2
import numpy as np
from numpy.typing import NDArray

from examples.drawing import bicycle, raster, tiles
from examples.drawing.bicycle_base import Placed
from examples.drawing.lake import EYE, FOCAL
from examples.drawing.light import Lamps, encode, gamma, linear
from examples.drawing.moods import Mood
from examples.drawing.parts import strands, tube, wash
from examples.drawing.shore import Layer, day_lamps, layer_of
from examples.drawing.stage import Stage
from examples.drawing.water import Waves

Floats = NDArray[np.float32]
Points = NDArray[np.float64]


DECK = 0.55
"""Height of the jetty above the water, metres."""

PLANK = 0.17
"""Width of a plank with its gap, metres."""

_NEAR, _FAR = 3.2, 27.0
_WIDE = 1.7


def project(mood: Mood, across: Points | float, up: float, away: Points | float) -> Points:
    """Take metres to the right, above the water and away to places on the picture."""
    x = FOCAL * np.asarray(across, np.float64) / np.asarray(away, np.float64)
    y = mood.horizon + FOCAL * (EYE - up) / np.asarray(away, np.float64)
    return np.stack(np.broadcast_arrays(x, y), axis=-1)


def _side(away: Points | float, edge: float) -> Points:
    """Metres to the right of the jetty's edge, -1 left to 1 right, at a distance."""
    return np.asarray(-2.35 - 0.13 * np.asarray(away, np.float64) + edge * _WIDE / 2)


def _posts() -> list[tuple[float, float]]:
    """Distance and edge of every post, far to near."""
    return [
        (z, edge) for z in (26.5, 22.0, 18.0, 14.5, 11.5, 9.0, 6.9, 5.2) for edge in (-1.0, 1.0)
    ]


@lru_cache(maxsize=2)
def _jetty_below(width: int, height: int, mood: Mood) -> Floats:
    """Draw the jetty upside down, as still water mirrors it: premultiplied light and coverage."""
    stage = Stage(width, height, fine=1)
    dark = encode(linear(mood.water) * np.float32(0.9) + linear(mood.ambient) * np.float32(0.03))
    away = np.linspace(_FAR, _NEAR, 40)
    under = np.concatenate([project(mood, _side(away, 1), -DECK, away),
                            project(mood, _side(away, -1), -DECK + 0.25, away)[::-1]])  # fmt: skip
    wash(stage, [under], dark, 0.92, on_subject=False)
    for z, edge in _posts():
        ends = np.array([project(mood, _side(z, edge), up, z) for up in (0.0, -1.15)])
        ends[:, 0] += 0.10 * edge * FOCAL / z
        wood = encode(
            linear("#64554A") * linear(mood.ambient) * np.float32(0.55 if edge > 0 else 0.2)
        )
        strands(stage, [ends], [np.full(2, 0.15 * FOCAL / z)], wood, 0.95)
    layer = layer_of(stage)
    return np.dstack([layer.light, 1 - layer.keep])


def jetty_mirrored(surface: Floats, width: int, height: int, mood: Mood, swell: Waves) -> Floats:
    """Lay what the waves mirror of the jetty on the water.

    Parameters
    ----------
    surface : (rows, W, 3) float32
        Water below the horizon, linear light.
    width, height : int
        Pixels of the whole picture.
    mood : Mood
    swell : Waves

    Returns
    -------
    (rows, W, 3) float32
    """
    rows = surface.shape[0]
    down = np.arange(rows, dtype=np.float32)[:, None] + np.float32(height - rows)
    right = np.arange(width, dtype=np.float32)[None, :]
    reach = np.float32(0.30 * height)
    moved = cv2.remap(
        _jetty_below(width, height, mood),
        (right + reach * np.float32(0.6) * swell.right).astype(np.float32),
        (down + reach * swell.away).astype(np.float32),
        cv2.INTER_LINEAR,
    )
    return np.asarray(surface * (1 - moved[..., 3:]) + moved[..., :3], np.float32)


@lru_cache(maxsize=2)
def jetty(width: int, height: int, mood: Mood) -> Layer:
    """Draw the jetty, its posts and a bicycle on it."""
    stage = Stage(width, height, fine=2)
    lamps = day_lamps(mood)
    _deck(stage, mood)
    leaned = False
    for z, edge in _posts():
        if edge > 0:
            _post_shadow(stage, mood, z)
    for z, edge in _posts():
        if not leaned and z < 9.5 and edge > 0:
            _parked(stage, mood, lamps, 9.6)
            leaned = True
        _post(stage, mood, lamps, z, edge)
    return layer_of(stage)


def _deck(stage: Stage, mood: Mood) -> None:
    away = np.linspace(_FAR, _NEAR, 60)
    left, right = (
        project(mood, _side(away, -1), DECK, away),
        project(mood, _side(away, 1), DECK, away),
    )
    side = np.concatenate([right, project(mood, _side(away, 1), DECK - 0.24, away)[::-1]])
    wash(stage, [side], encode(linear("#2B2422") * np.float32(0.5)), 1.0, on_subject=False)
    outline = np.concatenate([left, right[::-1]])
    window = stage.window(outline)
    if window is None:
        return
    x, y = window.places()
    distance = np.float32(FOCAL * (EYE - DECK)) / np.maximum(y - np.float32(mood.horizon), 1e-3)
    across = x * distance / np.float32(FOCAL) + np.float32(2.35) + np.float32(0.13) * distance
    number = np.floor(distance / np.float32(PLANK))
    within = distance / np.float32(PLANK) - number
    pixel = distance * distance / np.float32(FOCAL * (EYE - DECK) * window.scale * PLANK)
    toned = np.mod(np.sin(number * 12.9898) * 43758.5453, 1).astype(np.float32)
    worn = tiles.sample(
        tiles.tile(81, 1.0, 3), across * 26 + toned * 300, distance * np.float32(300)
    )
    stain = tiles.sample(tiles.tile(82, 1.7, 2), across * 40, distance * np.float32(40))
    share = np.clip(0.42 + 0.35 * (toned - 0.5) + 0.13 * worn + 0.10 * stain, 0, 1)
    wood = linear("#4A3B31") + (linear("#B39A82") - linear("#4A3B31")) * share[..., None]
    gap = np.clip(
        (np.abs(within - np.float32(0.5)) - np.float32(0.45)) / np.maximum(pixel, 0.02) + 0.5, 0, 1
    )
    gap = gap / (1 + pixel * pixel * 4)
    round_ = (within - np.float32(0.5)) * np.float32(0.35)
    tilt = np.broadcast_to(round_, share.shape) + np.float32(0.10) * (toned - 0.5)
    to_sun = np.exp(-(((x - np.float32(mood.sun[0])) / 0.75) ** 2))
    glance = np.clip(1 + tilt * 3, 0, 2) * (np.float32(0.25) + np.float32(0.75) * to_sun)
    lamp, sky = linear(mood.lamp), linear(mood.ambient)
    bright = wood * (sky * np.float32(0.85) + lamp * (np.float32(0.55) * glance)[..., None])
    bright += lamp * np.float32(0.10) * (glance * (0.6 + 0.5 * share))[..., None]
    bright *= (1 - np.float32(0.9) * gap)[..., None]
    far = np.clip((distance - 8) / 40, 0, 0.5)[..., None] * np.float32(mood.mist)
    bright = bright + (linear(mood.haze) * np.float32(0.7) - bright) * far
    mask = raster.polygon([window.to_mask(outline)], window.mask_shape)
    stage.lay(window, gamma(bright), mask)
    for edge in (left, right):
        strands(stage, [edge], [np.interp(np.arange(60), [0, 59], [0.0012, 0.006])],
                encode(lamp * np.float32(0.35)), 0.5)  # fmt: skip


def _post(stage: Stage, mood: Mood, lamps: Lamps, z: float, edge: float) -> None:
    right = float(_side(z, edge)) + 0.10 * edge
    foot, top = project(mood, right, -0.05 if edge > 0 else DECK, z), project(mood, right, 1.0, z)
    radius = 0.072 * FOCAL / z
    haze = min(max((z - 8) / 40, 0), 0.5) * mood.mist
    wood = linear("#64554A") * np.float32(1 - haze) + linear(mood.haze) * np.float32(0.8 * haze)
    tall = float(foot[1] - top[1])
    wet = 0.34 * FOCAL / z

    def grain(along: Floats, across: Floats) -> Floats:
        streaks = tiles.sample(
            tiles.tile(84, 1.1, 3),
            across / np.float32(radius) * 40 + 90 * z,
            along / np.float32(radius) * 4,
        )
        damp = np.clip((along - np.float32(tall - wet)) / np.float32(0.3 * wet), 0, 1) * (edge > 0)
        tone = (np.float32(1) + np.float32(0.22) * streaks) * (1 - np.float32(0.6) * damp)
        return np.asarray(wood * tone[..., None], np.float32)

    ends = np.array([top, foot])
    tube(stage, ends, np.full(2, radius), grain, lamps=lamps, sheen=0.04, cut="both")
    turn = np.linspace(0, 2 * np.pi, 32, endpoint=False)
    open_ = (EYE - 1.0) / z
    cap = top + np.stack([radius * np.cos(turn), radius * open_ * np.sin(turn)], axis=1)
    sky = linear(mood.ambient) * np.float32(0.8) + linear(mood.lamp) * np.float32(0.35)
    wash(stage, [cap], encode(wood * np.float32(1.4) * sky), 1.0, on_subject=False)


def _post_shadow(stage: Stage, mood: Mood, z: float) -> None:
    """Shadow of a right-hand post on the deck, towards the eye and away from the sun."""
    right = float(_side(z, 1)) + 0.03
    way = -0.85 * float(np.sign(mood.sun[0]))
    ground = [
        (right - 0.07, z),
        (right + 0.07, z),
        (right + 0.10 + way, z - 1.5),
        (right - 0.10 + way, z - 1.5),
    ]
    outline = np.array([project(mood, x, DECK, away) for x, away in ground])
    wash(stage, [outline], np.array([0.05, 0.05, 0.07], np.float32), 0.5, 0.016 / z)


def _parked(stage: Stage, mood: Mood, lamps: Lamps, z: float) -> None:
    size = 0.34 * FOCAL / z
    foot = project(mood, _side(z, 0.55), DECK, z)
    soft = foot + np.array([[-1.0, 0.0], [1.2, 0.0], [0.3, 0.25], [-1.7, 0.25]]) * size * 1.6
    wash(stage, [soft], np.zeros(3, np.float32), 0.45, 0.10 * size)
    bicycle.put(
        Placed(
            stage,
            (float(foot[0]), float(foot[1]) - size),
            size,
            paint="#A83A2C",
            turn=0.4,
            lamps=lamps,
        )
    )
