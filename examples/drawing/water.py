"""The surface of the lake: wind waves in perspective, mirroring what stands above the horizon."""

from __future__ import annotations

from dataclasses import dataclass

import cv2
import numpy as np
from numpy.typing import NDArray

from examples.drawing import tiles
from examples.drawing.lake import EYE, FOCAL, HEADROOM, View
from examples.drawing.light import linear
from examples.drawing.moods import Mood

Floats = NDArray[np.float32]

_WAVES = (
    # metres a tile, share of the slope, metres a second, turn of its wind
    (1.6, 0.30, 0.22, 0.5),
    (4.5, 0.55, 0.35, -0.3),
    (14.0, 0.75, 0.7, 0.2),
    (50.0, 0.85, 1.2, -0.1),
    (190.0, 0.70, 1.8, 0.1),
)


@dataclass(frozen=True, eq=False)
class Waves:
    """Slopes of the water for each pixel below the horizon.

    Attributes
    ----------
    right, away : (rows, W) float32
    grazing : (rows, 1) float32
        Sine of the angle between the view and the water.
    """

    right: Floats
    away: Floats
    grazing: Floats


def waves(seen: View, mood: Mood, time: float) -> Waves:
    """Slopes of wind waves, each scale faded out where it gets finer than the pixels.

    Parameters
    ----------
    seen : View
        Places below the horizon.
    mood : Mood
    time : float
        Seconds.
    """
    below = np.maximum(seen.y - np.float32(mood.horizon), np.float32(4e-4))
    distance = np.float32(EYE * FOCAL) / below
    side = seen.x * distance / np.float32(FOCAL)
    pixel = distance * distance / np.float32(EYE * FOCAL) * np.float32(seen.pixel)
    slopes = np.zeros((*seen.shape, 2), np.float32)
    for number, (metres, share, speed, turn) in enumerate(_WAVES):
        source = tiles.slope_tile(mood.seed + 200 + number, 1.2, 7, 40)
        size = np.float32(tiles.TILE / metres)
        c, s = np.float32(np.cos(turn)), np.float32(np.sin(turn))
        drift = np.float32(speed * time) * size
        u = (side * c + distance * s) * size + drift * np.float32(0.4)
        v = (distance * c - side * s) * size - drift
        # The shortest wave of a tile is its side / 40; it needs two pixels.
        fade = np.float32(share) / (1 + (pixel / np.float32(metres / 30)) ** 2)
        if float(fade.max()) > 0.004:
            slopes += fade[..., None] * tiles.sample(source, u, v)
    # Far out, waves finer than a pixel still show as streaks along the horizon.
    streak = tiles.sample(
        tiles.tile(mood.seed + 300, 0.9, 4),
        seen.x * np.float32(150) + np.float32(6 * time),
        np.log(distance) * np.float32(420) + np.float32(9 * time),
    )
    slopes[..., 1] += streak * np.float32(0.55) / (1 + (np.float32(0.35) / pixel))
    gusts = tiles.sample(
        tiles.tile(mood.seed + 301, 1.8, 2),
        seen.x * np.float32(70) + np.float32(2 * time),
        np.log(distance) * np.float32(90),
    )
    slopes *= (np.float32(mood.ripple) * (1 + np.float32(0.38) * np.clip(gusts, -1.6, 2)))[
        ..., None
    ]
    grazing = below / np.sqrt(below * below + np.float32(FOCAL**2))
    return Waves(slopes[..., 0], slopes[..., 1], grazing)


def mirrored(
    picture: Floats, width: int, height: int, mood: Mood, swell: Waves, seen: View, top: float
) -> Floats:
    """Look up what the waves mirror.

    Parameters
    ----------
    picture : (rows, W, C) float32
        What stands above the horizon, its first row at `top`.
    width, height : int
        Pixels of the whole picture.
    mood : Mood
    swell : Waves
    seen : View
    top : float
        Picture heights.

    Returns
    -------
    (rows, W, C) float32
    """
    # A slope s turns the mirrored ray by 2 s; facets turned away from the eye are hidden.
    lift = np.where(swell.away > 0, swell.away, np.float32(-0.35) * swell.away)
    to_y = 2 * np.float32(mood.horizon) - seen.y - np.float32(2 * FOCAL) * lift
    to_x = seen.x + np.float32(2 * FOCAL) * swell.right * (np.float32(0.12) + swell.grazing)
    rows = (to_y - np.float32(top)) * np.float32(height) - np.float32(0.5)
    columns = to_x * np.float32(height) + np.float32(width / 2 - 0.5)
    found = cv2.remap(
        picture, columns.astype(np.float32), rows.astype(np.float32), cv2.INTER_LINEAR,
        borderMode=cv2.BORDER_REFLECT_101,
    )  # fmt: skip
    return np.asarray(found, np.float32)


def surface(sky: Floats, width: int, height: int, mood: Mood, swell: Waves, seen: View) -> Floats:
    """Light that comes off the water.

    Parameters
    ----------
    sky : (rows, W, 3) float32
        As `lake.above` returns it.
    width, height : int
        Pixels of the whole picture.
    mood : Mood
    swell : Waves
    seen : View
        Places below the horizon.

    Returns
    -------
    (rows, W, 3) float32, linear light
    """
    smear = max(0.006 * height, 0.3)
    smeared = np.asarray(cv2.GaussianBlur(sky, (0, 0), sigmaX=0.5, sigmaY=smear), np.float32)
    shown = mirrored(smeared, width, height, mood, swell, seen, -HEADROOM)
    # Schlick 1994 for water: 2 % straight on, all of it at a grazing angle.
    facing = np.clip(swell.grazing * np.float32(0.75) - swell.away * np.float32(1.3), 0, 1)
    mirror = np.float32(0.02) + np.float32(0.98) * (1 - facing) ** 5
    body = linear(mood.water)
    light = body + (shown - body) * mirror[..., None]
    # The far shore stands in its own mist; the water begins in it.
    near = np.exp(-(seen.y - np.float32(mood.horizon)) / np.float32(0.012 + 0.05 * mood.mist))
    to_sun = np.exp(-np.abs(seen.x - np.float32(mood.sun[0])) / 0.36).astype(np.float32)
    air = (
        linear(mood.haze)
        * (np.float32(0.72) + np.float32(0.6) * to_sun * mood.glow / 1.6)[..., None]
    )
    return np.asarray(
        light + (air - light) * (np.float32(mood.mist * 0.75) * near)[..., None], np.float32
    )
