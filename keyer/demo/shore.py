"""What stands on the near side of the lake: a jetty, reeds, a bank with hired bicycles."""

from __future__ import annotations

from dataclasses import replace

import cv2
import numpy as np
from numpy.typing import NDArray

from keyer.demo import bicycle, raster, tiles
from keyer.demo.lake import EYE, FOCAL
from keyer.demo.light import Lamps, encode, linear
from keyer.demo.moods import Mood
from keyer.demo.parts import cushion, strands, tube, wash
from keyer.demo.stage import Stage, spline, taper
from keyer.demo.water import Waves

Floats = NDArray[np.float32]
Points = NDArray[np.float64]

DECK = 0.55
"""Height of the jetty above the water, metres."""

PLANK = 0.17
"""Width of a plank with its gap, metres."""

_NEAR, _FAR = 3.2, 27.0
_WIDE = 1.7


def day_lamps(mood: Mood) -> Lamps:
    """Light of the day on things nearby, with the sun ahead and low."""
    side = 1.0 if mood.sun[0] > 0 else -1.0
    sky, sun = linear(mood.ambient), linear(mood.lamp)
    return Lamps(
        key=(0.75 * side, -0.45, -0.05),
        key_colour=_three(sun * 0.55),
        rim=(0.80 * side, -0.55, 0.05),
        rim_colour=_three(sun * 2.6),
        above=_three(sky * 0.85),
        below=_three(sky * 0.22),
    )


def _three(colour: Floats) -> tuple[float, float, float]:
    return float(colour[0]), float(colour[1]), float(colour[2])


def over(below: Floats, stage: Stage) -> Floats:
    """Lay a finished stage over linear light."""
    colour, alpha = stage.finish()
    cover = alpha[..., None]
    bright = (colour / np.maximum(cover, np.float32(1e-3))) ** np.float32(2.2)
    return np.asarray(below + (bright - below) * cover, np.float32)


def project(mood: Mood, across: Floats | float, up: float, away: Floats | float) -> Points:
    """Take metres to the right, above the water and away to places on the picture."""
    x = FOCAL * np.asarray(across, np.float64) / np.asarray(away, np.float64)
    y = mood.horizon + FOCAL * (EYE - up) / np.asarray(away, np.float64)
    return np.stack(np.broadcast_arrays(x, y), axis=-1)


def _side(away: Floats | float, edge: float) -> Points:
    """Metres to the right of the jetty's edge, -1 left to 1 right, at a distance."""
    return np.asarray(-2.35 - 0.13 * np.asarray(away, np.float64) + edge * _WIDE / 2)


def _posts() -> list[tuple[float, float]]:
    """Distance and edge of every post, far to near."""
    return [(z, edge) for z in (26.5, 22.0, 18.0, 14.5, 11.5, 9.0, 6.9, 5.2) for edge in (-1.0, 1.0)]


def jetty_mirrored(
    surface: Floats, width: int, height: int, mood: Mood, swell: Waves
) -> Floats:
    """Darken the water where it mirrors the jetty.

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
    stage = Stage(width, height, fine=1)
    dark = encode(linear(mood.water) * np.float32(0.9) + linear(mood.ambient) * np.float32(0.03))
    away = np.linspace(_FAR, _NEAR, 40)
    under = np.concatenate([project(mood, _side(away, 1), -DECK, away),
                            project(mood, _side(away, -1), -DECK + 0.25, away)[::-1]])  # fmt: skip
    wash(stage, [under], dark, 0.92, on_subject=False)
    for z, edge in _posts():
        ends = np.array([project(mood, _side(z, edge), up, z) for up in (0.0, -1.15)])
        ends[:, 0] += 0.10 * edge * FOCAL / z
        wood = encode(linear("#64554A") * linear(mood.ambient) * np.float32(0.55 if edge > 0 else 0.2))
        strands(stage, [ends], [np.full(2, 0.15 * FOCAL / z)], wood, 0.95)
    colour, alpha = stage.finish()
    layer = np.dstack([colour, alpha])
    rows = surface.shape[0]
    first = height - rows
    down = np.arange(rows, dtype=np.float32)[:, None] + np.float32(first)
    right = np.arange(width, dtype=np.float32)[None, :]
    reach = np.float32(0.30 * height)
    moved = cv2.remap(
        layer,
        (right + reach * np.float32(0.6) * swell.right).astype(np.float32),
        (down + reach * swell.away).astype(np.float32),
        cv2.INTER_LINEAR,
    )
    cover = moved[..., 3:]
    paint = (moved[..., :3] / np.maximum(cover, np.float32(1e-3))) ** np.float32(2.2)
    return np.asarray(surface + (paint - surface) * cover, np.float32)


def jetty(below: Floats, width: int, height: int, mood: Mood) -> Floats:
    """Lay the jetty, its posts and a bicycle on it over the picture's linear light."""
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
    return over(below, stage)


def _deck(stage: Stage, mood: Mood) -> None:
    away = np.linspace(_FAR, _NEAR, 60)
    left, right = project(mood, _side(away, -1), DECK, away), project(mood, _side(away, 1), DECK, away)
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
    worn = tiles.sample(tiles.tile(81, 1.0, 3), across * 26 + toned * 300, distance * np.float32(300))
    stain = tiles.sample(tiles.tile(82, 1.7, 2), across * 40, distance * np.float32(40))
    share = np.clip(0.42 + 0.35 * (toned - 0.5) + 0.13 * worn + 0.10 * stain, 0, 1)
    wood = linear("#4A3B31") + (linear("#B39A82") - linear("#4A3B31")) * share[..., None]
    gap = np.clip((np.abs(within - np.float32(0.5)) - np.float32(0.45)) / np.maximum(pixel, 0.02) + 0.5, 0, 1)
    gap = gap / (1 + pixel * pixel * 4)
    round_ = (within - np.float32(0.5)) * np.float32(0.35)
    tilt = np.broadcast_to(round_, share.shape) + np.float32(0.10) * (toned - 0.5)
    to_sun = np.exp(-((x - np.float32(mood.sun[0])) / 0.75) ** 2)
    glance = np.clip(1 + tilt * 3, 0, 2) * (np.float32(0.25) + np.float32(0.75) * to_sun)
    lamp, sky = linear(mood.lamp), linear(mood.ambient)
    bright = wood * (sky * np.float32(0.85) + lamp * (np.float32(0.55) * glance)[..., None])
    bright += (lamp * np.float32(0.10) * (glance * (0.6 + 0.5 * share))[..., None])
    bright *= (1 - np.float32(0.9) * gap)[..., None]
    far = np.clip((distance - 8) / 40, 0, 0.5)[..., None] * np.float32(mood.mist)
    bright = bright + (linear(mood.haze) * np.float32(0.7) - bright) * far
    mask = raster.polygon([window.to_mask(outline)], window.mask_shape)
    stage.lay(window, bright ** np.float32(1 / 2.2), mask)
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
            tiles.tile(84, 1.1, 3), across / np.float32(radius) * 40 + 90 * z, along / np.float32(radius) * 4
        )
        damp = np.clip((along - np.float32(tall - wet)) / np.float32(0.3 * wet), 0, 1) * (edge > 0)
        tone = (np.float32(1) + np.float32(0.22) * streaks) * (1 - np.float32(0.6) * damp)
        return np.asarray(wood * tone[..., None], np.float32)

    ends = np.array([top, foot])
    tube(stage, ends, np.full(2, radius), grain, lamps=lamps, sheen=0.04)
    turn = np.linspace(0, 2 * np.pi, 32, endpoint=False)
    open_ = (EYE - 1.0) / z
    cap = top + np.stack([radius * np.cos(turn), radius * open_ * np.sin(turn)], axis=1)
    sky = linear(mood.ambient) * np.float32(0.8) + linear(mood.lamp) * np.float32(0.35)
    wash(stage, [cap], encode(wood * np.float32(1.4) * sky), 1.0, on_subject=False)


def _post_shadow(stage: Stage, mood: Mood, z: float) -> None:
    """Shadow of a right-hand post on the deck, towards the eye and away from the sun."""
    right = float(_side(z, 1)) + 0.03
    way = -0.85 * float(np.sign(mood.sun[0]))
    ground = [(right - 0.07, z), (right + 0.07, z), (right + 0.10 + way, z - 1.5), (right - 0.10 + way, z - 1.5)]
    outline = np.array([project(mood, x, DECK, away) for x, away in ground])
    wash(stage, [outline], np.array([0.05, 0.05, 0.07], np.float32), 0.5, 0.016 / z)


def _parked(stage: Stage, mood: Mood, lamps: Lamps, z: float) -> None:
    size = 0.34 * FOCAL / z
    foot = project(mood, _side(z, 0.55), DECK, z)
    soft = foot + np.array([[-1.0, 0.0], [1.2, 0.0], [0.3, 0.25], [-1.7, 0.25]]) * size * 1.6
    wash(stage, [soft], np.zeros(3, np.float32), 0.45, 0.10 * size)
    bicycle.put(
        bicycle.Placed(
            stage, (float(foot[0]), float(foot[1]) - size), size, paint="#A83A2C", turn=0.4, lamps=lamps
        )
    )


def reeds(
    below: Floats, width: int, height: int, mood: Mood, time: float, *, side: float, seed: int
) -> Floats:
    """Lay reeds in front, out of focus and moving in the wind.

    Parameters
    ----------
    below : (H, W, 3) float32, linear light
    width, height : int
    mood : Mood
    time : float
        Seconds.
    side : float
        1 on the right, -1 on the left.
    seed : int

    Returns
    -------
    (H, W, 3) float32
    """
    stage = Stage(width, height, fine=1)
    random = np.random.default_rng(seed)
    sky, sun = linear(mood.ambient), linear(mood.lamp)
    half = width / height / 2
    for row, (count, tall, tone) in enumerate(((70, 0.40, 0.9), (64, 0.36, 0.55), (44, 0.30, 0.28))):
        leaves: list[Points] = []
        widths: list[Points] = []
        for _ in range(count):
            start = side * (half + 0.03 - abs(random.normal(0.0, 0.17)) * (1.1 - 0.15 * row))
            rise = tall * random.uniform(0.45, 1.1) * np.exp(-((half - abs(start)) / 0.42) ** 2)
            beat = 0.35 * np.sin(1.1 * time + 3 * start + random.uniform(0, 0.8))
            lean = random.normal(-0.10 * side, 0.16) + 0.05 * beat
            t = np.linspace(0, 1, 16)
            curve = rise * (lean * t**2 + 0.03 * beat * t**3)
            leaves.append(np.stack([start + curve, 1.03 - rise * t * (1 - 0.10 * lean * t)], axis=1))
            widths.append(random.uniform(0.0045, 0.0090) * (1 - t**2.2) * (0.35 + t) + 0.0006)
        ground = linear("#4B4A2C") * np.float32(tone)
        strands(stage, leaves, widths, encode(ground * (sky * 0.8 + 0.10)), 0.98)
        edges = [leaf + np.array([0.0014 * np.sign(mood.sun[0]), 0.0]) for leaf in leaves]
        strands(stage, edges, [w * 0.28 for w in widths], encode(linear("#C8A45A") * sun * tone * 0.8), 0.7)
        for _ in range((3, 5, 2)[row]):
            foot = side * (half + 0.02 - abs(random.normal(0.0, 0.15)))
            top = 1.0 - tall * random.uniform(0.75, 1.12) * np.exp(-((half - abs(foot)) / 0.42) ** 2)
            sway = 0.010 * np.sin(1.1 * time + 3 * foot)
            stem = spline([(foot, 1.03), (foot - 0.004 * side, (1.03 + top) / 2), (foot + sway, top)])
            strands(stage, [stem], [np.full(len(stem), 0.0030)], encode(ground * sky), 1.0)
            head = np.array([[foot + sway, top + 0.012], [foot + 1.1 * sway, top + random.uniform(0.045, 0.062)]])
            tube(stage, head, np.full(2, random.uniform(0.0062, 0.0080)), linear("#5A3A22") * np.float32(tone),
                 lamps=day_lamps(mood), sheen=0.12)  # fmt: skip
    colour, alpha = stage.finish(1.6 * height / 1080)
    cover = alpha[..., None]
    bright = (colour / np.maximum(cover, np.float32(1e-3))) ** np.float32(2.2)
    return np.asarray(below + (bright - below) * cover, np.float32)


def bank(below: Floats, width: int, height: int, mood: Mood) -> Floats:
    """Lay a dark bank with a rack of hired bicycles against the light."""
    stage = Stage(width, height, fine=2)
    half = width / height / 2
    lamps = replace(day_lamps(mood), above=_three(linear(mood.ambient) * 0.30))
    lamps = replace(lamps, below=_three(linear(mood.ambient) * 0.10))
    edge = spline([(-0.10, 1.06), (0.06, 0.995), (0.22, 0.952), (0.45, 0.925), (0.70, 0.912),
                   (half + 0.08, 0.905)])  # fmt: skip
    ground = np.concatenate([edge, [[half + 0.08, 1.08], [-0.10, 1.08]]])
    _grass(stage, edge, mood, 0.016, 91)
    for x, y, size, paint in (
        (0.800, 0.912, 0.062, "#8C3A30"), (0.640, 0.918, 0.068, "#C9B48C"), (0.455, 0.928, 0.074, "#A8402E"),
    ):  # fmt: skip
        bicycle.put(bicycle.Placed(stage, (x, y - size), size, paint=paint, turn=x * 5, lamps=lamps))
    _rail(stage, mood, lamps)

    def turf(x: Floats, y: Floats) -> Floats:
        rough = tiles.sample(tiles.tile(83, 1.0, 4), x * 260, y * np.float32(700))
        share = np.clip(0.5 + 0.25 * rough, 0, 1)[..., None]
        return linear("#1C1A16") + (linear("#4A3C28") - linear("#1C1A16")) * share

    cushion(stage, [ground], turf, round_at=0.02, lamps=lamps)
    _grass(stage, edge + np.array([0.0, 0.008]), mood, 0.020, 92)
    return over(below, stage)


def _grass(stage: Stage, edge: Points, mood: Mood, tall: float, seed: int) -> None:
    random = np.random.default_rng(seed)
    blades, widths = [], []
    for _ in range(420):
        place = random.integers(0, len(edge) - 1)
        foot = edge[place] + (edge[place + 1] - edge[place]) * random.random() + [0.0, 0.004]
        t = np.linspace(0, 1, 6)[:, None]
        tip = np.array([random.normal(0.004, 0.008), -tall * random.uniform(0.25, 1.0)])
        blades.append(foot + tip * t + np.array([0.006, 0.0]) * t**2)
        widths.append(0.0022 * (1 - 0.85 * t[:, 0]))
    strands(stage, blades[::2], widths[::2], encode(linear("#1A1712")), 1.0)
    lit = encode(linear(mood.lamp) * linear("#8A6A3A"))
    strands(stage, blades[1::2], widths[1::2], lit, 0.8)


def _rail(stage: Stage, mood: Mood, lamps: Lamps) -> None:
    """The rack's hoops, and a post with the hire's board."""
    steel = linear("#6A625E")
    for x, y in ((0.36, 0.934), (0.53, 0.922), (0.70, 0.914)):
        hoop = spline([(x, y), (x + 0.001, y - 0.085), (x + 0.022, y - 0.105), (x + 0.043, y - 0.085),
                       (x + 0.044, y)])  # fmt: skip
        tube(stage, hoop, taper([0.0036], len(hoop)), steel, gloss=0.3, lamps=lamps)
    post = np.array([[0.235, 0.96], [0.235, 0.60]])
    tube(stage, post, np.full(2, 0.0075), linear("#3A2D25"), lamps=lamps)
    arm = np.array([[0.228, 0.625], [0.352, 0.625]])
    tube(stage, arm, np.full(2, 0.0045), linear("#3A2D25"), lamps=lamps)
    for x in (0.268, 0.330):
        strands(stage, [np.array([[x, 0.625], [x, 0.648]])], [np.full(2, 0.002)], encode(steel * 0.3), 1.0)
    board = spline([(0.250, 0.648), (0.348, 0.648), (0.348, 0.700), (0.250, 0.700)], closed=True, steps=1)
    cushion(stage, [board], linear("#5A2A20"), round_at=0.006, lamps=lamps)
    rim = np.concatenate([board, board[:1]])
    strands(stage, [rim], [np.full(5, 0.0022)], encode(linear(mood.lamp) * np.float32(0.7)), 0.9)
    for radius in (0.016,):
        for x in (0.276, 0.322):
            ring = bicycle.circle((x, 0.677), radius)
            strands(stage, [np.concatenate([ring, ring[:1]])], [np.full(57, 0.0026)],
                    encode(linear(mood.lamp) * np.float32(0.8)), 0.9)  # fmt: skip
    light_line = np.array([[0.276, 0.677], [0.292, 0.660], [0.312, 0.660], [0.322, 0.677]])
    strands(stage, [light_line], [np.full(4, 0.0026)], encode(linear(mood.lamp) * np.float32(0.8)), 0.9)
