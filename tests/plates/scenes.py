"""Pictures without a wall to key: landscapes, photographs, test pictures, people in green.

Made from pictures that are free to use, as in `plates.walls`; a seed settles all.
"""

from __future__ import annotations

import zlib
from collections.abc import Callable

import cv2
import numpy as np
from plates.textures import texture
from plates.walls import (
    HEIGHT,
    WIDTH,
    Colour,
    Plane,
    Planes,
    Shot,
    figure,
    folds,
    grid,
    light_of,
    moved,
    photograph,
    record,
    stops_map,
)
from skimage import data
from support import demo_picture

from keyer.pixel.colour.transfer import decode_signal


def _as_light(picture: Planes) -> Planes:
    return decode_signal(np.clip(picture, 0, 1)).astype(np.float32)


def _mix(top: Colour, bottom: Colour, share: Plane) -> Planes:
    return (1 - share) * light_of(top) + share * light_of(bottom)


def clouds(rng: np.random.Generator, sizes: tuple[int, ...], *, flat: float = 1.0) -> Plane:
    """Noise of several sizes with a spread of 1, stretched from side to side by `flat`."""
    total = np.zeros((HEIGHT, WIDTH), np.float32)
    for size in sizes:
        noise = rng.normal(0, 1, (HEIGHT, WIDTH)).astype(np.float32)
        soft = cv2.GaussianBlur(noise, (0, 0), sigmaX=size * flat, sigmaY=size)
        total += soft / soft.std()
    return total / total.std()


ZENITHS: tuple[Colour, ...] = (
    (0.22, 0.42, 0.76),
    (0.14, 0.32, 0.66),
    (0.30, 0.52, 0.82),
    (0.10, 0.24, 0.56),
)
HORIZONS: tuple[Colour, ...] = ((0.72, 0.84, 0.92), (0.80, 0.86, 0.90), (0.88, 0.80, 0.70))


def _pick(rng: np.random.Generator, colours: tuple[Colour, ...]) -> Colour:
    return colours[rng.integers(len(colours))]


def sky(rng: np.random.Generator, horizon: float = 1.0) -> Planes:
    """A sky that grows paler towards the horizon, as skies do (from memory: Minnaert)."""
    rows, cols = grid()
    height = np.clip(rows / horizon + 0.15 * rng.uniform(-1, 1) * (cols - 0.5), 0, 1)
    return _mix(_pick(rng, ZENITHS), _pick(rng, HORIZONS), height ** rng.uniform(0.8, 2.0))


def _sky(rng: np.random.Generator) -> Planes:
    return sky(rng, rng.uniform(0.8, 1.4))


def _cloudy(rng: np.random.Generator) -> Planes:
    light = sky(rng, 1.2)
    cover = np.clip(clouds(rng, (4, 12, 30), flat=2.0) * 0.8 - rng.uniform(0.0, 0.6), 0, 1)
    return (1 - cover) * light + cover * light_of((0.93, 0.93, 0.94))


def grass(rng: np.random.Generator) -> Planes:
    """Greens that vary from blade to blade and from patch to patch."""
    greens: tuple[Colour, ...] = ((0.32, 0.46, 0.16), (0.24, 0.42, 0.14), (0.38, 0.52, 0.22))
    grain = texture_of_grass(rng)
    patches = np.exp2(0.3 * clouds(rng, (10, 40), flat=2.5))
    drift = np.exp2(0.12 * clouds(rng, (30,)))
    tint = np.stack([drift, np.ones_like(drift), 1 / drift])
    return light_of(_pick(rng, greens)) * grain * patches * tint


def texture_of_grass(rng: np.random.Generator) -> Plane:
    """Blades, from scikit-image's photograph of grass (CC0), as relative light."""
    blades = data.grass().astype(np.float32) / 255
    scale = rng.uniform(0.5, 1.0)
    size = max(WIDTH, int(512 * scale)), max(HEIGHT, int(512 * scale))
    light = decode_signal(cv2.resize(blades, size, interpolation=cv2.INTER_AREA))
    light = light[:HEIGHT, :WIDTH]
    return np.asarray(light / light.mean(), np.float32)


def below(top: Planes, bottom: Planes, level: float, rng: np.random.Generator) -> Planes:
    """One thing over another, with an uneven line between them."""
    rows, _ = grid()
    line = level + 0.02 * np.cumsum(rng.normal(0, 0.08, WIDTH)).astype(np.float32)
    soft = np.clip((rows - line) * 80, 0, 1)
    return (1 - soft) * top + soft * bottom


def _meadow(rng: np.random.Generator) -> Planes:
    return grass(rng)


def _meadow_under_sky(rng: np.random.Generator) -> Planes:
    level = rng.uniform(0.3, 0.7)
    return below(sky(rng, level), grass(rng), level, rng)


def _pitch(rng: np.random.Generator) -> Planes:
    """A playing field from the stand: mown stripes, lines, small players, a crowd behind."""
    rows, cols = grid()
    stripes = np.exp2(0.25 * np.sign(np.sin(cols * rng.uniform(20, 40) + 3 * rows)))
    turf = light_of((0.28, 0.46, 0.17)) * stripes * (0.5 + 0.5 * texture_of_grass(rng))
    for _ in range(8):
        left, top = rng.integers(20, WIDTH - 20), rng.integers(HEIGHT // 3, HEIGHT - 30)
        turf[:, top : top + 22, left : left + 8] = light_of(_pick(rng, SHIRTS))
    cv2.line(turf[1], (0, HEIGHT // 2), (WIDTH, HEIGHT // 2 + 20), 0.7, 2)
    crowd = np.abs(rng.normal(0.2, 0.15, (3, HEIGHT // 4, WIDTH // 4))).astype(np.float32)
    crowd = np.stack([cv2.resize(part, (WIDTH, HEIGHT)) for part in crowd])
    return below(crowd, turf, rng.uniform(0.15, 0.35), rng)


SHIRTS: tuple[Colour, ...] = ((0.8, 0.1, 0.1), (0.9, 0.9, 0.9), (0.1, 0.15, 0.5), (0.9, 0.8, 0.1))


def _forest(rng: np.random.Generator) -> Planes:
    size = int(rng.integers(1, 40))
    green = light_of(_pick(rng, ((0.2, 0.4, 0.15), (0.14, 0.3, 0.16), (0.3, 0.48, 0.2))))
    light = green * np.exp2(rng.uniform(0.6, 1.3) * clouds(rng, (size, size * 2)))
    tint = np.stack([0.2 * clouds(rng, (size * 2,)) for _ in range(3)])
    return light * np.exp2(tint)


def _sea(rng: np.random.Generator) -> Planes:
    """Water under a sky: waves, glitter, paler towards the horizon."""
    level = rng.uniform(0.2, 0.5)
    rows, _ = grid()
    deep = _mix((0.55, 0.68, 0.76), _pick(rng, ((0.08, 0.26, 0.42), (0.06, 0.34, 0.42))), rows)
    waves = np.exp2(0.5 * clouds(rng, (1, 3), flat=6.0))
    glitter = np.clip(clouds(rng, (1,), flat=3.0) - 2.0, 0, 1)
    return below(sky(rng, level), deep * waves + glitter, level, rng)


BARS = ((1, 1, 1), (1, 1, 0), (0, 1, 1), (0, 1, 0), (1, 0, 1), (1, 0, 0), (0, 0, 1), (0, 0, 0))


def _bars(rng: np.random.Generator) -> Planes:
    """Colour bars as EBU and SMPTE have them: 75 or 100 %, whole or over other rows of blocks."""
    level = float(rng.choice([0.75, 1.0]))
    count = int(rng.integers(7, 9))
    picture = np.zeros((3, HEIGHT, WIDTH), np.float32)
    for index, colour in enumerate(BARS[:count]):
        left, right = index * WIDTH // count, (index + 1) * WIDTH // count
        picture[:, :, left:right] = level * np.array(colour, np.float32)[:, None, None]
    how = rng.integers(4)
    if how == 1:  # castellations and a ramp below
        picture[:, 2 * HEIGHT // 3 : 3 * HEIGHT // 4] = picture[:, :1, ::-1]
        picture[:, 3 * HEIGHT // 4 :] = np.linspace(0, 1, WIDTH)
    if how == 2:
        small = [cv2.resize(part, (HEIGHT, WIDTH)) for part in picture]
        picture = np.stack([np.rot90(part) for part in small])
    if how == 3:  # on a monitor in a dark room
        small = [cv2.resize(part, (WIDTH // 2, HEIGHT // 2)) for part in picture]
        picture = np.full((3, HEIGHT, WIDTH), 0.06, np.float32)
        top, left = HEIGHT // 4, WIDTH // 4
        picture[:, top : top + HEIGHT // 2, left : left + WIDTH // 2] = np.stack(small)
    return _as_light(np.ascontiguousarray(picture))


def _chart(rng: np.random.Generator) -> Planes:
    """A chart of patches on grey, some of them saturated."""
    picture = np.full((3, HEIGHT, WIDTH), rng.uniform(0.1, 0.5), np.float32)
    rows, columns = int(rng.integers(3, 6)), int(rng.integers(4, 8))
    for row in range(rows):
        for column in range(columns):
            top, left = (row * HEIGHT) // rows + 6, (column * WIDTH) // columns + 6
            bottom, right = ((row + 1) * HEIGHT) // rows - 6, ((column + 1) * WIDTH) // columns - 6
            picture[:, top:bottom, left:right] = rng.uniform(0.05, 0.9, 3)[:, None, None]
    return _as_light(picture)


JACKETS: tuple[Colour, ...] = (
    (0.14, 0.55, 0.22),
    (0.10, 0.35, 0.18),
    (0.12, 0.22, 0.58),
    (0.20, 0.60, 0.42),
)


def _jacket(rng: np.random.Generator) -> Planes:
    """Somebody in a green or blue jacket before something that is no wall."""
    grounds = (
        lambda: photograph(rng, str(rng.choice(["machine", "cup", "cat", "night"]))),
        lambda: light_of((0.6, 0.58, 0.55)) * np.exp2(stops_map(rng, 1.0)),
        lambda: light_of((0.15, 0.14, 0.13)) * np.exp2(folds(rng, 1.0)),
        lambda: np.stack([cv2.GaussianBlur(part, (0, 0), 8) for part in photograph(rng)]),
    )
    ground = np.ascontiguousarray(grounds[rng.integers(len(grounds))]())
    matte = moved(figure(rng), rng.uniform(-0.15, 0.15), 0.0, rng.uniform(0.7, 1.15))
    coat = light_of(_pick(rng, JACKETS)) * np.exp2(folds(rng, rng.uniform(0.8, 2.0)))
    rows, cols = grid()
    coat = coat * np.exp2(stops_map(rng, 1.0))
    skin = np.clip((0.5 - rows) * 12, 0, 1)
    shirt = np.clip((0.05 - np.abs(cols - 0.5 - 0.1 * (rows - 0.5))) * 60, 0, 1)
    coat = shirt * light_of((0.85, 0.85, 0.86)) + (1 - shirt) * coat
    return matte * (skin * light_of((0.66, 0.52, 0.45)) + (1 - skin) * coat) + (1 - matte) * ground


def turned(picture: Planes, degrees: float) -> Planes:
    """Turn the hues of a coded picture about grey."""
    middle = picture.mean(0)
    one = np.float32(1 / np.sqrt(3))
    cos, sin = np.float32(np.cos(np.radians(degrees))), np.float32(np.sin(np.radians(degrees)))
    off = picture - middle
    across = one * np.stack([off[2] - off[1], off[0] - off[2], off[1] - off[0]])
    return np.asarray(np.clip(middle + cos * off + sin * across, 0, 1), np.float32)


def _suit_in_green(rng: np.random.Generator) -> Planes:
    """The astronaut with all hues turned, so that the orange suit is green or blue."""
    picture = texture("suit", WIDTH, WIDTH)
    top = rng.integers(0, WIDTH - HEIGHT)
    return _as_light(turned(picture, rng.uniform(90, 220))[:, top : top + HEIGHT])


def _photograph(rng: np.random.Generator) -> Planes:
    """A photograph, cropped, at another exposure and white balance."""
    names = ("astronaut", "coffee", "chelsea", "rocket", "immunohistochemistry", "motorcycle")
    names += ("retina", "hubble_deep_field")
    name = str(rng.choice(names))
    whole = data.stereo_motorcycle()[0] if name == "motorcycle" else getattr(data, name)()
    rows, cols = whole.shape[:2]
    part = rng.uniform(0.4, 1.0)
    down, across = int(rows * part), int(cols * part)
    top, left = rng.integers(0, rows - down + 1), rng.integers(0, cols - across + 1)
    crop = whole[top : top + down, left : left + across, :3].astype(np.float32) / 255
    crop = cv2.resize(crop, (WIDTH, HEIGHT), interpolation=cv2.INTER_AREA).transpose(2, 0, 1)
    balance = np.exp2(rng.uniform(-0.2, 0.2, 3) + rng.uniform(-0.7, 0.5))
    return _as_light(crop) * balance[:, None, None].astype(np.float32)


def _drawn_scene(rng: np.random.Generator) -> Planes:
    name = str(rng.choice(["morning", "evening", "workshop", "shopfront", "wheel"]))
    scene = demo_picture(f"{name}.png", (WIDTH, HEIGHT)).transpose(2, 0, 1)
    return _as_light(np.ascontiguousarray(scene / np.float32(255)))


def _thing(rng: np.random.Generator) -> Planes:
    """A green or blue thing on a table: a bottle, a ball, a box, a leaf."""
    ground = light_of(_pick(rng, ((0.5, 0.4, 0.3), (0.75, 0.74, 0.72), (0.2, 0.2, 0.22))))
    light = ground * np.exp2(stops_map(rng, 1.5))
    for _ in range(rng.integers(1, 4)):
        matte = moved(
            figure(rng, shape="blob", strands=0),
            rng.uniform(-0.3, 0.3),
            rng.uniform(-0.35, 0.0),
            rng.uniform(0.3, 0.6),
        )
        rows, cols = grid()
        round_light = np.exp2(-3 * ((cols - 0.4) ** 2 + (rows - 0.4) ** 2) * rng.uniform(1, 4))
        thing = light_of(_pick(rng, JACKETS)) * round_light
        light = matte * thing + (1 - matte) * light
    return light


def _blue_hour(rng: np.random.Generator) -> Planes:
    """A photograph taken in blue light: everything has the tint, nothing is a wall."""
    light = photograph(rng, str(rng.choice(["machine", "cat", "night", "cup"])))
    grey = 0.2126 * light[0] + 0.7152 * light[1] + 0.0722 * light[2]
    tint = np.array([rng.uniform(0.25, 0.6), rng.uniform(0.6, 0.9), 1.3])[:, None, None]
    return (0.5 * light + 0.5 * grey) * tint.astype(np.float32)


def _plain(rng: np.random.Generator) -> Planes:
    """Grey, white, black, skin, wood: nothing that has a hue to key."""
    colours = ((0.5, 0.5, 0.5), (0.98, 0.98, 0.98), (0.02, 0.02, 0.02), (0.8, 0.6, 0.5))
    colours += ((0.42, 0.30, 0.20), (0.45, 0.47, 0.50))
    return light_of(_pick(rng, colours)) * np.exp2(stops_map(rng, rng.uniform(0, 2)))


KINDS: dict[str, Callable[[np.random.Generator], Planes]] = {
    "sky": _sky,
    "sky with clouds": _cloudy,
    "meadow": _meadow,
    "meadow under a sky": _meadow_under_sky,
    "playing field": _pitch,
    "forest": _forest,
    "sea": _sea,
    "colour bars": _bars,
    "chart": _chart,
    "jacket": _jacket,
    "suit in green": _suit_in_green,
    "photograph": _photograph,
    "drawn scene": _drawn_scene,
    "green thing": _thing,
    "blue hour": _blue_hour,
    "plain": _plain,
}
"""Kinds of pictures without a wall; each makes one, in light, from a random generator."""


def unwalled(kind: str, seed: int) -> Planes:
    """Make one picture without a wall as recorded, (3, H, W) R'G'B' 0..1."""
    rng = np.random.default_rng([seed, zlib.crc32(kind.encode())])
    light = np.ascontiguousarray(KINDS[kind](rng), np.float32)
    nowhere = np.zeros((HEIGHT, WIDTH), np.bool_)
    recorder = str(rng.choice(["444", "444", "jpeg"]))
    shot = Shot(rng, (0.0, 0.0, 0.0), light, nowhere, rng.uniform(0.002, 0.012), recorder)
    return record(shot)
