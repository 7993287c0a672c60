"""The lake's far side in linear light: sky, clouds, hills in haze, mist.

A simple camera: the eye is `FOCAL` picture heights behind the picture and
`EYE` metres above the water.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache

import cv2
import numpy as np
from numpy.typing import NDArray

from examples.drawing import tiles
from examples.drawing.light import linear
from examples.drawing.moods import Mood, Ridge

Floats = NDArray[np.float32]

FOCAL = 1.25
"""Distance of the eye from the picture, in picture heights: a moderate wide angle."""

EYE = 2.1
"""Height of the eye above the water, metres."""

HEADROOM = 0.5
"""Sky above the picture that only the water shows, picture heights."""


FINE = 3
"""Places along a ridge for each column of the picture."""


@dataclass(frozen=True, eq=False)
class View:
    """The picture's pixels as places.

    Attributes
    ----------
    x : (1, W) float32, picture heights from the middle
    y : (H, 1) float32, picture heights from the top
    pixel : float
        Side of a pixel, picture heights.
    """

    x: Floats
    y: Floats
    pixel: float

    @property
    def shape(self) -> tuple[int, int]:
        """Rows and columns."""
        return self.y.shape[0], self.x.shape[1]


def view(width: int, height: int, top: float = 0.0, bottom: float = 1.0) -> View:
    """Return the places of the pixel centres between two heights."""
    rows = np.arange(round(top * height), round(bottom * height), dtype=np.float32)
    x = (np.arange(width, dtype=np.float32) + np.float32(0.5 - width / 2)) / np.float32(height)
    return View(x[None, :], ((rows + np.float32(0.5)) / np.float32(height))[:, None], 1 / height)


def above(width: int, height: int, mood: Mood, time: float = 0.0) -> Floats:
    """Sky and hills, from `HEADROOM` above the picture down to the horizon.

    Parameters
    ----------
    width, height : int
        Pixels of the whole picture.
    mood : Mood
    time : float
        Seconds.

    Returns
    -------
    (rows, W, 3) float32, linear light
    """
    seen = view(width, height, -HEADROOM, mood.horizon)
    # The sky has no fine detail: half the size is a quarter of the work.
    half = view(max(width // 2, 1), max(height // 2, 1), -HEADROOM, mood.horizon)
    size = (seen.shape[1], seen.shape[0])
    light: Floats = np.asarray(
        cv2.resize(_sky(half, mood, time), size, interpolation=cv2.INTER_LINEAR), np.float32
    )
    for index, ridge in enumerate(mood.ridges):
        _lay_ridge(light, seen, mood, ridge, mood.seed + 10 * index)
        if index == len(mood.ridges) // 2:
            _lay_mist(light, seen, mood, time, 0.75, 0.050)
    _lay_mist(light, seen, mood, time + 40, 1.0, 0.018)
    return light


def _sky(seen: View, mood: Mood, time: float) -> Floats:
    elevation = np.maximum(np.float32(mood.horizon) - seen.y, 0)
    heights = [height for height, _ in mood.sky]
    colours = np.array([linear(colour) for _, colour in mood.sky])
    light = np.empty((*seen.shape, 3), np.float32)
    for channel in range(3):
        light[..., channel] = np.interp(elevation[:, 0], heights, colours[:, channel])[:, None]
    dx, dy = seen.x - np.float32(mood.sun[0]), elevation - np.float32(mood.sun[1])
    away = np.sqrt(dx * dx + dy * dy)
    halo = 0.42 * np.exp(-away / 0.035) + 0.20 * np.exp(-away / 0.13) + 0.10 * np.exp(-away / 0.45)
    light += (np.float32(mood.glow) * halo)[..., None] * linear(mood.sun_colour)
    veil = _lay_clouds(light, seen, elevation, mood, time)
    scale = np.float32(1 / seen.pixel)
    disc = np.clip((np.float32(0.017) - away) * scale + np.float32(0.5), 0, 1)
    disc *= np.float32(mood.sun_level) * (1 - np.float32(0.75) * veil)
    light += disc[..., None] * linear(mood.sun_colour)
    return light


def _lay_clouds(light: Floats, seen: View, elevation: Floats, mood: Mood, time: float) -> Floats:
    """Lay a flat layer of cloud, drawn together towards the horizon; return its density."""
    source = tiles.tile(mood.seed + 400, 1.62, 2)
    depth = np.float32(0.34) / (elevation + np.float32(0.085))
    u = seen.x * depth * np.float32(135) + np.float32(3 * time)
    v = depth * np.float32(250) + np.float32(0.5 * time)
    cover = tiles.sample(source, u, v)
    sunwards = np.float32(10 if mood.sun[0] > 0 else -10)
    behind = tiles.sample(source, u + sunwards, v + np.float32(8))
    density = np.clip((cover - np.float32(1.05 - 1.3 * mood.clouds)) * np.float32(0.50), 0, 1)
    density *= density * np.float32(0.4) + np.float32(0.6)
    density *= np.clip(elevation * 7, 0, 1) * np.float32(0.92)
    edge = np.clip(np.float32(0.45) + np.float32(0.60) * (cover - behind), 0, 1)
    thin = 1 - density
    near_sun = np.exp(
        -np.hypot((seen.x - np.float32(mood.sun[0])) * np.float32(0.6), elevation - mood.sun[1])
        / 0.30
    ).astype(np.float32)
    share = np.clip(edge * np.float32(0.55) + thin * np.float32(0.25) + near_sun * 0.55, 0, 1)
    bright, dark = linear(mood.cloud_light), linear(mood.cloud_shade)
    paint = dark + (bright * (1 + np.float32(1.1) * near_sun[..., None]) - dark) * share[..., None]
    light += (paint - light) * density[..., None]
    return np.asarray(density, np.float32)


def _lay_ridge(light: Floats, seen: View, mood: Mood, ridge: Ridge, seed: int) -> None:
    width, fine, pixel = seen.shape[1], FINE, seen.pixel
    ground, crowns = _crest(width, pixel, seed, ridge)
    top = np.float32(mood.horizon) - ground - crowns
    first = max(int((float(top.min()) - float(seen.y[0, 0])) / pixel) - 2, 0)
    y = seen.y[first:]
    if not y.size:
        return
    edge = (y - top.reshape(width, fine).mean(axis=1)) / np.float32(pixel)
    if ridge.trees > 0:
        cover = sum(
            np.clip((y - top[part::fine]) / np.float32(pixel) + np.float32(0.5), 0, 1)
            for part in range(fine)
        ) / np.float32(fine)
    else:
        cover = np.clip(edge + np.float32(0.5), 0, 1)
    if ridge.reach is not None:
        cover *= np.clip((ground.reshape(width, fine)[:, 1] - np.float32(0.0005)) * 2000, 0, 1)
    low = (np.float32(mood.horizon) - y) / np.float32(ridge.height + ridge.relief)
    grain = np.float32(520 / (1 + 14 * ridge.height))
    texture = tiles.sample(
        tiles.tile(seed + 900, 1.1, 4), seen.x * grain, y * grain * np.float32(1.7)
    )
    colour = linear(ridge.colour) * (1 + np.float32(0.28 * (1 - ridge.haze)) * texture[..., None])
    to_sun = np.exp(-np.abs(seen.x - np.float32(mood.sun[0])) / 0.38).astype(np.float32)[..., None]
    air = linear(mood.haze) * (np.float32(0.72) + np.float32(0.75) * to_sun * mood.glow / 1.6)
    settle = np.exp(-np.maximum(low, 0) / 0.55)
    veil = np.float32(ridge.haze) + np.float32(0.34 * (1 - ridge.haze)) * settle
    paint = colour + (air - colour) * veil[..., None]
    light[first:] += (paint - light[first:]) * np.asarray(cover, np.float32)[..., None]


@lru_cache(maxsize=32)
def _crest(width: int, pixel: float, seed: int, ridge: Ridge) -> tuple[Floats, Floats]:
    """Height of the ground and of the trees on it, picture heights, at `FINE` places a column."""
    x = (np.arange(width * FINE) + 0.5 - width * FINE / 2) * (pixel / FINE)
    x = x.astype(np.float32)
    random = np.random.default_rng(seed)
    rise = np.zeros_like(x)
    for octave in range(6):
        along = x * np.float32(ridge.cells * 2**octave)
        rise += np.float32(0.46**octave) * _smooth(along, random)
    ground = ridge.height + ridge.relief * rise
    if ridge.reach is not None:
        end, span = ridge.reach
        slope = np.clip((np.float32(end) - x) / np.float32(span), 0, 1)
        ground = np.maximum(ground, 0.004) * np.sqrt(slope)
    else:
        ground = np.maximum(ground, 0.006)
    crowns = np.zeros_like(x)
    if ridge.trees > 0:
        groves = np.clip(
            0.62 + 0.55 * _smooth(x * 6, random) + 0.35 * _smooth(x * 19, random), 0.12, 1.2
        )
        crowns = _trees(x, random, ridge.trees) * groves
        crowns *= np.clip(ground / np.float32(0.012), 0, 1)
    return np.asarray(ground, np.float32), np.asarray(crowns, np.float32)


def _smooth(x: Floats, random: np.random.Generator) -> Floats:
    """Smooth noise along a line, about -1..1; one value a unit."""
    values = random.uniform(-1, 1, 512).astype(np.float32)
    base = np.floor(x).astype(np.int64)
    t = (x - base).astype(np.float32)
    t = t * t * t * (t * (t * 6 - 15) + 10)
    first, second = values[base % 512], values[(base + 1) % 512]
    return np.asarray(first + (second - first) * t, np.float32)


def _trees(x: Floats, random: np.random.Generator, size: float) -> Floats:
    """Crowns of single trees: spires and domes side by side."""
    top = np.zeros_like(x)
    count = int(2.6 / (size * 0.22))
    places = random.uniform(-1.3, 1.3, count)
    tall = random.uniform(0.45, 1.0, count)
    spire = random.random(count) < 0.5
    for place, share, narrow in zip(places, tall, spire, strict=True):
        broad = size * (0.22 if narrow else 0.46)
        first, last = np.searchsorted(x, [place - broad, place + broad])
        away = np.abs(x[first:last] - np.float32(place)) / np.float32(broad)
        crown = (1 - away) ** 1.2 if narrow else np.sqrt(np.maximum(1 - away * away, 0)) * 0.68
        np.maximum(top[first:last], size * share * crown, out=top[first:last])
    fuzz = np.sin(x * 2310) + 0.8 * np.sin(x * 3713 + 1) + 0.6 * np.sin(x * 6100 + 2)
    return np.asarray(np.maximum(top * (1 + np.float32(0.10) * fuzz), 0), np.float32)


def _lay_mist(
    light: Floats, seen: View, mood: Mood, time: float, share: float, thickness: float
) -> None:
    """Banks of mist that drift on the far water."""
    if mood.mist <= 0:
        return
    elevation = np.float32(mood.horizon) - seen.y
    first = int(np.searchsorted(-elevation[:, 0], -4 * thickness))
    low = elevation[first:] / np.float32(thickness)
    if not low.size:
        return
    source = tiles.tile(mood.seed + 71, 1.75, 2)
    u = seen.x * np.float32(95) + np.float32(4 * time)
    banks = np.float32(0.5) + np.float32(0.34) * tiles.sample(source, u, low * np.float32(32))
    body = np.exp(-low / (np.float32(0.35) + np.clip(banks, 0, 1.2)))
    density = np.clip(np.float32(mood.mist * share) * body * np.clip(banks + 0.25, 0, 1), 0, 0.97)
    to_sun = np.exp(-np.abs(seen.x - np.float32(mood.sun[0])) / 0.36).astype(np.float32)[..., None]
    air = linear(mood.haze) * (np.float32(0.80) + np.float32(0.65) * to_sun * mood.glow / 1.6)
    light[first:] += (air - light[first:]) * density[..., None]
