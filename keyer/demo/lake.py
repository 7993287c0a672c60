"""The lake by the bicycle hire: sky, hills in haze, water that mirrors them, a jetty, reeds.

Everything is drawn in linear light with a simple camera: `FOCAL` picture
heights behind the picture, eyes `EYE` metres above the water. The water mirrors
whatever stands above the horizon, tilted by ripples and weighted by Fresnel.
"""

from __future__ import annotations

from dataclasses import dataclass, field

import cv2
import numpy as np
from numpy.typing import NDArray

from keyer.demo import noise
from keyer.demo.light import blurred, linear

Floats = NDArray[np.float32]
Colour = tuple[float, float, float]

FOCAL = 1.25
"""Distance of the eye from the picture, in picture heights: a moderate wide angle."""

EYE = 2.1
"""Height of the eye above the water, metres."""

HEADROOM = 0.55
"""Sky above the picture that only the water shows, picture heights."""

TILE = 512


@dataclass(frozen=True)
class Ridge:
    """A line of hills.

    Attributes
    ----------
    height, relief : float
        Mean height above the horizon and swing of the ridge, picture heights.
    cells : float
        Rises and falls across a 16:9 picture.
    colour : coded colour of the ground
    haze : float
        Share of haze over it, 0..1.
    trees : float
        Height of single trees along the ridge, picture heights.
    """

    height: float
    relief: float
    cells: float
    colour: str
    haze: float
    trees: float = 0.0


@dataclass(frozen=True)
class Mood:
    """A time of day at the lake. Colours are coded; levels are linear light.

    Attributes
    ----------
    sky : elevation above the horizon (picture heights) and coded colour, ascending
    sun : x, elevation in picture heights
    sun_colour, sun_level, glow : its colour, light of its disc and of the air about it
    haze : coded colour of distant air
    ridges : from far to near
    mist : float
        Density of the mist on the water, 0..1.
    water : coded colour of what is under the surface
    ripple : float
        Mean slope of the waves.
    clouds : float
        0 (clear) to 1.
    exposure : float
    """

    sky: tuple[tuple[float, str], ...]
    sun: tuple[float, float]
    sun_colour: str
    sun_level: float
    glow: float
    haze: str
    ridges: tuple[Ridge, ...]
    mist: float
    water: str
    ripple: float
    clouds: float
    cloud_light: str
    cloud_shade: str
    exposure: float = 1.0
    horizon: float = 0.52
    seed: int = 3
    extra: dict[str, float] = field(default_factory=dict)


MORNING = Mood(
    sky=(
        (0.0, "#E9D3C4"),
        (0.06, "#E4CFC8"),
        (0.18, "#C3C4CF"),
        (0.40, "#94A9C2"),
        (0.9, "#6586AD"),
    ),
    sun=(0.36, 0.135),
    sun_colour="#FFE9CF",
    sun_level=9.0,
    glow=0.9,
    haze="#D5CCC9",
    ridges=(
        Ridge(0.150, 0.075, 3.0, "#54657A", 0.74),
        Ridge(0.105, 0.050, 4.5, "#445A66", 0.58),
        Ridge(0.062, 0.034, 6.5, "#374C50", 0.40, 0.006),
        Ridge(0.030, 0.020, 9.0, "#2A3B39", 0.20, 0.014),
    ),
    mist=0.85,
    water="#24383F",
    ripple=0.030,
    clouds=0.45,
    cloud_light="#F6DDD0",
    cloud_shade="#A9AFBD",
    exposure=1.0,
)

EVENING = Mood(
    sky=((0.0, "#FFC574"), (0.07, "#FDB067"), (0.17, "#EE9468"), (0.32, "#B87F85"), (0.55, "#6F6F93"),
         (0.95, "#41507F")),
    sun=(-0.34, 0.085),
    sun_colour="#FFD596",
    sun_level=26.0,
    glow=1.5,
    haze="#EFA768",
    ridges=(
        Ridge(0.135, 0.070, 3.2, "#6B4E5B", 0.62),
        Ridge(0.092, 0.050, 4.6, "#553D45", 0.46),
        Ridge(0.055, 0.032, 6.8, "#3B2C30", 0.28, 0.007),
        Ridge(0.026, 0.020, 9.5, "#221A1C", 0.10, 0.016),
    ),
    mist=0.22,
    water="#2A2A35",
    ripple=0.052,
    clouds=0.75,
    cloud_light="#FFB070",
    cloud_shade="#7D6276",
    exposure=1.0,
    seed=11,
)  # fmt: skip


@dataclass(frozen=True, eq=False)
class View:
    """The picture's pixels as places.

    Attributes
    ----------
    x : (1, W) float32, picture heights from the middle
    y : (H, 1) float32, picture heights from the top
    """

    x: Floats
    y: Floats

    @property
    def shape(self) -> tuple[int, int]:
        """Rows and columns."""
        return self.y.shape[0], self.x.shape[1]


def view(width: int, height: int, top: float = 0.0, bottom: float = 1.0) -> View:
    """Return the places of the pixel centres between two heights."""
    rows = np.arange(round(top * height), round(bottom * height), dtype=np.float32)
    x = (np.arange(width, dtype=np.float32) + np.float32(0.5 - width / 2)) / np.float32(height)
    return View(x[None, :], ((rows + np.float32(0.5)) / np.float32(height))[:, None])


def above(width: int, height: int, mood: Mood, time: float = 0.0) -> Floats:
    """Sky and hills, from `HEADROOM` above the picture down to the horizon, in linear light.

    Parameters
    ----------
    width, height : int
        Pixels of the whole picture.
    mood : Mood
    time : float
        Seconds.

    Returns
    -------
    (rows, W, 3) float32
    """
    seen = view(width, height, -HEADROOM, mood.horizon)
    light = _sky(seen, mood, time)
    for index, ridge in enumerate(mood.ridges):
        _lay_ridge(light, seen, mood, ridge, index)
    _lay_mist(light, seen, mood, time)
    return light


def _sky(seen: View, mood: Mood, time: float) -> Floats:
    elevation = np.maximum(np.float32(mood.horizon) - seen.y, 0)
    heights = [height for height, _ in mood.sky]
    colours = np.array([linear(colour) for _, colour in mood.sky])
    light = np.empty((*seen.shape, 3), np.float32)
    for channel in range(3):
        light[..., channel] = np.interp(elevation[:, 0], heights, colours[:, channel])[:, None]
    _lay_clouds(light, seen, elevation, mood, time)
    dx, dy = seen.x - np.float32(mood.sun[0]), elevation - np.float32(mood.sun[1])
    away = np.sqrt(dx * dx + dy * dy)
    halo = 0.55 * np.exp(-away / 0.045) + 0.25 * np.exp(-away / 0.16) + 0.10 * np.exp(-away / 0.5)
    disc = np.clip((np.float32(0.0165) - away) * np.float32(400) + np.float32(0.5), 0, 1)
    glow = np.float32(mood.glow) * halo + np.float32(mood.sun_level) * disc
    light += glow[..., None] * linear(mood.sun_colour)
    return light


def _lay_clouds(light: Floats, seen: View, elevation: Floats, mood: Mood, time: float) -> None:
    if mood.clouds <= 0:
        return
    tile = cloud_tile(mood.seed)
    # A flat layer of cloud overhead, drawn together towards the horizon.
    depth = np.float32(0.42) / (elevation + np.float32(0.10))
    u = seen.x * depth * np.float32(210) + np.float32(4.0 * time)
    v = np.broadcast_to(depth * np.float32(330), u.shape)
    cover = sample(tile, u, v)
    shifted = sample(tile, u + np.float32(7), v - np.float32(12))
    density = np.clip((cover - np.float32(0.9 - mood.clouds)) * np.float32(0.85), 0, 1)
    density *= np.clip(elevation * 9, 0, 1) * np.float32(0.9)
    lit_side = np.clip(np.float32(0.5) + np.float32(0.55) * (cover - shifted), 0, 1)
    to_sun = np.exp(-np.hypot(seen.x - mood.sun[0], elevation - mood.sun[1]) / 0.55)
    share = np.clip(lit_side * np.float32(0.65) + to_sun * np.float32(0.6), 0, 1)[..., None]
    bright, dark = linear(mood.cloud_light), linear(mood.cloud_shade)
    paint = dark + (bright * (1 + 0.5 * to_sun[..., None]) - dark) * share
    light += (paint - light) * density[..., None]


def tile_noise(seed: int, slope: float, low: int = 1) -> Floats:
    """Noise on a tile that repeats, with a spectrum that falls as a power of frequency.

    Parameters
    ----------
    seed : int
    slope : float
        Exponent of the fall in amplitude.
    low : int
        Slowest wave that is kept, cycles a tile.

    Returns
    -------
    (TILE, TILE) float32, mean 0, spread 1
    """
    random = np.random.default_rng(seed).standard_normal((TILE, TILE), np.float32)
    down, across = np.fft.fftfreq(TILE) * TILE, np.fft.rfftfreq(TILE) * TILE
    frequency = np.hypot(down[:, None], across[None, :])
    gain = np.where(frequency < low, 0.0, np.maximum(frequency, 1.0) ** -slope)
    plane = np.fft.irfft2(np.fft.rfft2(random) * gain, s=(TILE, TILE))
    return np.asarray(plane / plane.std(), np.float32)


def cloud_tile(seed: int) -> Floats:
    """Tile of clouds, drawn out sideways."""
    return tile_noise(seed + 400, 1.55, 3)


def sample(tile: Floats, u: Floats, v: Floats) -> Floats:
    """Look up a repeating tile at fractional places (bilinear)."""
    return np.asarray(
        cv2.remap(
            tile,
            np.mod(u, np.float32(TILE)).astype(np.float32),
            np.mod(v, np.float32(TILE)).astype(np.float32),
            cv2.INTER_LINEAR,
            borderMode=cv2.BORDER_WRAP,
        ),
        np.float32,
    )


def _lay_ridge(light: Floats, seen: View, mood: Mood, ridge: Ridge, index: int) -> None:
    width = seen.shape[1]
    fine = 3
    places = np.repeat(seen.x[0], fine) + np.tile(
        (np.arange(fine) - 1) / (fine * width) * (seen.x[0, -1] - seen.x[0, 0]), width
    ).astype(np.float32)
    crest = _crest(places, mood.seed + 10 * index, ridge)
    top = np.float32(mood.horizon) - crest
    scale = np.float32(1 / (seen.y[1, 0] - seen.y[0, 0]))
    first = max(int((float(top.min()) - float(seen.y[0, 0])) * scale) - 2, 0)
    y = seen.y[first:]
    cover = np.clip((y[..., None] - top.reshape(1, width, fine)) * scale + np.float32(0.5), 0, 1)
    cover = cover.mean(axis=2)
    down = np.clip(
        (y - top.reshape(width, fine).mean(axis=1)) / np.float32(ridge.height + 0.02), 0, 1
    )
    shape = cover.shape
    texture = noise.fractal(
        shape,
        (shape[0] / scale * 30, width / scale * 26),
        mood.seed + 900 + index,
        octaves=5,
        fall=0.62,
    )
    ground = linear(ridge.colour) * (1 + np.float32(0.55 * (1 - ridge.haze)) * texture[..., None])
    haze = linear(mood.haze)
    to_sun = np.exp(-np.abs(seen.x - np.float32(mood.sun[0])) / 0.45)[..., None]
    air = haze * (np.float32(0.82) + np.float32(0.45) * to_sun)
    veil = np.clip(np.float32(ridge.haze) + np.float32(0.42) * (1 - ridge.haze) * down**1.5, 0, 1)
    paint = ground + (air - ground) * veil[..., None]
    light[first:] += (paint - light[first:]) * cover[..., None]


def _crest(x: Floats, seed: int, ridge: Ridge) -> Floats:
    """Height of a ridge along x, picture heights."""
    random = np.random.default_rng(seed)
    rise = np.zeros_like(x)
    for octave in range(6):
        frequency = ridge.cells / 1.78 * 2**octave * random.uniform(0.8, 1.2)
        wave = np.sin(2 * np.pi * frequency * x + random.uniform(0, 6.28))
        rise += np.float32(0.52**octave) * (1 - np.abs(wave) * 1.3 if octave < 3 else wave * 0.6)
    crest = ridge.height + ridge.relief * 0.5 * rise
    if ridge.trees > 0:
        crest = crest + _trees(x, random, ridge.trees)
    return np.asarray(np.maximum(crest, 0.004), np.float32)


def _trees(x: Floats, random: np.random.Generator, size: float) -> Floats:
    """Crowns of single trees: spires and domes side by side."""
    top = np.zeros_like(x)
    low, high = float(x.min()) - 0.1, float(x.max()) + 0.1
    count = int((high - low) / (size * 0.55))
    for place, tall, kind in zip(
        random.uniform(-1.3, 1.3, count), random.uniform(0.35, 1.0, count) ** 1.4, random.random(count),
        strict=True,
    ):  # fmt: skip
        broad = size * (0.30 if kind < 0.55 else 0.62)
        first, last = np.searchsorted(x, [place - broad, place + broad])
        away = np.abs(x[first:last] - np.float32(place)) / np.float32(broad)
        crown = 1 - away if kind < 0.55 else np.sqrt(np.maximum(1 - away * away, 0)) * 0.75
        top[first:last] = np.maximum(top[first:last], size * tall * crown)
    fuzz = 0.10 * size * np.sin(x * 2100) + 0.07 * size * np.sin(x * 3713 + 1)
    return np.asarray(top + np.maximum(fuzz, -top), np.float32)


def _lay_mist(light: Floats, seen: View, mood: Mood, time: float) -> None:
    """Banks of mist on the far water, drifting."""
    if mood.mist <= 0:
        return
    elevation = np.float32(mood.horizon) - seen.y
    first = int(np.searchsorted(-elevation[:, 0], -0.14))
    low = elevation[first:]
    tile = tile_noise(mood.seed + 71, 1.7, 2)
    u = seen.x * np.float32(150) + np.float32(5 * time)
    v = np.broadcast_to(low * np.float32(1500), (low.shape[0], seen.shape[1]))
    banks = np.clip(
        np.float32(0.55) + np.float32(0.42) * sample(tile, u + 0 * v, v + 0 * u), 0, 1.2
    )
    body = np.exp(-((low / np.float32(0.040)) ** 2)) + 0.35 * np.exp(-((low / 0.085) ** 2))
    density = np.clip(np.float32(mood.mist) * banks * body, 0, 1)[..., None]
    to_sun = np.exp(-np.abs(seen.x - np.float32(mood.sun[0])) / 0.40)[..., None]
    air = linear(mood.haze) * (np.float32(1.02) + np.float32(0.5) * to_sun)
    light[first:] += (air - light[first:]) * density


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
    """Slopes of wind waves in perspective, faded where they are finer than a pixel."""
    below = np.maximum(seen.y - np.float32(mood.horizon), np.float32(4e-4))
    distance = np.float32(EYE * FOCAL) / below
    side = seen.x * distance / np.float32(FOCAL)
    pixel = distance * distance / np.float32(EYE * FOCAL) * (seen.y[1, 0] - seen.y[0, 0])
    right = np.zeros(seen.shape, np.float32)
    away = np.zeros(seen.shape, np.float32)
    patches = noise.fractal(seen.shape, (5, 3), mood.seed + 55, octaves=3)
    for number, (metres, share, speed, turn) in enumerate(
        ((3.2, 0.55, 0.30, 0.25), (9.0, 0.70, 0.55, -0.35), (38.0, 0.60, 1.1, 0.1))
    ):
        tile = tile_noise(mood.seed + 200 + number, 1.15, 6)
        step = (
            np.roll(tile, -1, 1) - np.roll(tile, 1, 1),
            np.roll(tile, -1, 0) - np.roll(tile, 1, 0),
        )
        size = np.float32(TILE / metres)
        c, s = np.float32(np.cos(turn)), np.float32(np.sin(turn))
        u = (side * c + distance * s) * size + np.float32(speed * time * float(size) * 0.6)
        v = (distance * c - side * s) * size * np.float32(1.3) - np.float32(
            speed * time * float(size)
        )
        # Waves seen finer than two pixels even out.
        fade = np.float32(share) / (1 + (pixel / np.float32(0.10 * metres)) ** 1.2)
        fade = fade * (1 + np.float32(0.45) * patches)
        right += fade * sample(step[0], u, v)
        away += fade * sample(step[1], u, v)
    scale = np.float32(mood.ripple * 1.6)
    return Waves(right * scale, away * scale, below / np.sqrt(below * below + np.float32(FOCAL**2)))


def water(sky: Floats, width: int, height: int, mood: Mood, swell: Waves, seen: View) -> Floats:
    """Light that comes off the water.

    Parameters
    ----------
    sky : (rows, W, 3) float32
        As `above` returns it.
    width, height : int
        Pixels of the whole picture.
    mood : Mood
    swell : Waves
    seen : View
        Places of the rows below the horizon.

    Returns
    -------
    (rows, W, 3) float32, linear
    """
    mirrored = 2 * np.float32(mood.horizon) - seen.y
    # A slope s turns the mirrored ray by 2 s.
    to_y = mirrored - 2 * np.float32(FOCAL) * np.abs(swell.away) * np.float32(0.8)
    to_x = seen.x + np.float32(FOCAL) * swell.right * (np.float32(0.35) + swell.grazing)
    rows = (to_y + np.float32(HEADROOM)) * np.float32(height) - np.float32(0.5)
    columns = to_x * np.float32(height) + np.float32(width / 2 - 0.5)
    smeared = np.asarray(
        cv2.GaussianBlur(sky, (0, 0), 0.5, sigmaY=max(height * 0.004, 0.3)), np.float32
    )
    shown = cv2.remap(
        smeared, columns.astype(np.float32), rows.astype(np.float32), cv2.INTER_LINEAR,
        borderMode=cv2.BORDER_REFLECT_101,
    )  # fmt: skip
    # Schlick 1994 for water: 2 % straight on, all of it at a grazing angle.
    facing = np.clip(swell.grazing * np.float32(0.62) - swell.away * np.float32(0.9), 0, 1)
    mirror = np.float32(0.02) + np.float32(0.98) * (1 - facing) ** 5
    body = linear(mood.water)
    return np.asarray(body + (shown - body) * mirror[..., None], np.float32)


def film(
    light: Floats, mood: Mood, seed: int, *, vignette: float = 0.22, bloom: float = 0.16
) -> Floats:
    """Develop linear light: bloom, vignette, film curve, fine grain.

    Parameters
    ----------
    light : (H, W, 3) float32
    mood : Mood
    seed : int
    vignette, bloom : float

    Returns
    -------
    (H, W, 3) float32, coded, in [0, 1]
    """
    return develop(light, seed, exposure=mood.exposure, vignette=vignette, bloom=bloom)


def develop(
    light: Floats, seed: int, *, exposure: float = 1.0, vignette: float = 0.22, bloom: float = 0.16
) -> Floats:
    """As `film`, without a mood."""
    height, width = light.shape[:2]
    bright = np.minimum(np.maximum(light - np.float32(0.85), 0), np.float32(6))
    halo = blurred(bright, 0.012 * height) * np.float32(0.6) + blurred(bright, 0.05 * height)
    total = (light + np.float32(bloom) * halo) * np.float32(exposure)
    x = ((np.arange(width, dtype=np.float32) + 0.5) / width * 2 - 1)[None, :]
    y = ((np.arange(height, dtype=np.float32) + 0.5) / height * 2 - 1)[:, None]
    total *= (1 - np.float32(vignette) * (x * x * 0.6 + y * y * 0.4) ** 1.3)[..., None]
    # Toe and shoulder of a print: a gentle S about mid grey.
    curve = np.float32(1.22) * total / (np.float32(1) + np.float32(0.42) * total)
    curve = np.minimum(curve * (curve + np.float32(0.06)) / (curve + np.float32(0.10)), None or 4)
    coded = np.clip(curve / (1 + np.maximum(curve - 0.6, 0) * 0.55), 0, 1) ** np.float32(1 / 2.2)
    speck = noise.grain((height, width), seed, 0.6)[..., None]
    return np.asarray(np.clip(coded + np.float32(0.0045) * speck, 0, 1), np.float32)
