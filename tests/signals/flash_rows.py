"""Flashes by WCAG 2.3.1 and ITU-R BT.1702: levels, rates, areas, courses in time, reds."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np
from measured import fine_light
from signals.curves import bt1886_light, srgb_light
from signals.row import ORDER, Row

from keyer.kinds.timing import RATES
from keyer.measure.cells import make_grid
from keyer.measure.flash import FlashMeter, judge_flashing
from keyer.measure.screen import screen_light

SCREEN = make_grid(1024, 768)
"""That of WCAG: a field of 10 degrees is 341 x 256 pixels, a quarter of it 21,824."""

SMALL = make_grid(64, 36)
"""For what is flat: the size does not matter."""

LEVELS = "WCAG 2.3.1, general flash: 0.1 of white, darker below 0.8"
CANDELAS = "BT.1702 on a BT.1886 screen: 20 cd/m2, darker below 160"
FIELD = "WCAG 2.3.1: a quarter of any 341 x 256 of 1024 x 768, 21,824 px"
QUARTER = "BT.1702: a quarter of the picture"
SPACING = "BT.1702, 360 ms at 50 Hz and 334 ms at 60 Hz between leading edges"
COURSE = "WCAG 2.3.1: more than three flashes in any second; opposing changes of 0.1 of white"
RED = "WCAG 2.0 to 2.2, red flash"
ANY_RED = "BT.1702, saturated red, irrespective of luminance"
BLACK, WHITE = (0, 0, 0), (255, 255, 255)

_XYZ = np.array(
    [
        [0.4124564, 0.3575761, 0.1804375],
        [0.2126729, 0.7151522, 0.072175],
        [0.0193339, 0.119192, 0.9503041],
    ]
)
"""XYZ of linear sRGB, as WCAG 2.2 prints it ("general flash and red flash thresholds")."""


def flat(colour, grid=SMALL):
    """R'G'B' 0..1 of one colour of eight bits."""
    planes = np.array(colour, np.float32)[:, None, None] / 255
    return np.broadcast_to(planes, (3, grid.height, grid.width)).copy()


def turns(first, second, period, frames):
    """Two pictures in turns, each for half a period."""
    return [(first, second)[i % period < period / 2] for i in range(frames)]


def watched(frames, kind, *, rate="25", grid=SMALL):
    """Worst verdict over pictures; the same array is measured once."""
    meter, worst, lights = FlashMeter(grid, RATES[rate]), "holds", {}
    for frame in frames:
        if id(frame) not in lights:
            light = fine_light(frame, grid)
            lights[id(frame)] = light, screen_light(light)
        reading = getattr(meter.add(*lights[id(frame)]), kind)
        found = judge_flashing(reading, RATES[rate] if kind.endswith("picture") else None)
        worst = max(worst, found, key=ORDER.index)
    return worst


def flashing(first, second, kind, *, period=4, rate="25", seconds=2.0):
    """Worst verdict of two colours in turns."""
    frames = round(seconds * RATES[rate])
    return watched(turns(flat(first), flat(second), period, frames), kind, rate=rate)


def flash_rows() -> Iterator[Row]:
    """Every signal of this module."""
    yield from _levels()
    yield from _reds()
    yield from _rates()
    yield from _areas()
    yield from _courses()


def _levels() -> Iterator[Row]:
    greys = ((0, 88), (0, 89), (0, 90), (128, 140), (230, 255), (231, 255), (232, 255), (100, 140))
    for low, high in greys:
        pair = (low,) * 3, (high,) * 3
        dark, light = srgb_light(np.array((low, high)) / 255)
        yield Row(
            LEVELS,
            f"grey {low} to {high}, 6 a second",
            "fails" if light - dark >= 0.1 and dark < 0.8 else "holds",
            lambda pair=pair: flashing(*pair, "general"),
        )
        dark, light = 200 * bt1886_light(np.array((low, high)) / 255)
        yield Row(
            CANDELAS,
            f"grey {low} to {high}: {dark:.1f} to {light:.1f} cd/m2",
            "fails" if light - dark >= 20 and dark < 160 else "holds",
            lambda pair=pair: flashing(*pair, "general_picture"),
        )


def _reds() -> Iterator[Row]:
    for first, second, wcag, screen in (
        ((255, 0, 0), BLACK, "fails", "fails"),
        ((255, 0, 0), (0, 0, 255), "fails", "fails"),
        ((255, 0, 0), (128, 128, 128), "fails", "fails"),
        ((60, 0, 0), BLACK, "holds", "fails"),
        ((60, 0, 0), (0, 0, 255), "fails", "fails"),
        ((200, 100, 90), (60, 60, 60), "holds", "holds"),
        ((60, 60, 60), BLACK, "holds", "holds"),
        ((220, 60, 60), (60, 60, 60), "fails", "fails"),
    ):
        for clause, kind, expected in ((RED, "red", wcag), (ANY_RED, "red_picture", screen)):
            yield Row(
                clause,
                f"{first} and {second}, 6 a second",
                expected,
                lambda a=first, b=second, kind=kind: flashing(a, b, kind),
            )
    pairs = random_reds(50)

    def find():
        found = (flashing(a, b, "red", seconds=1.2) == "fails" for a, b, _ in pairs)
        wrong = sum(one != flash for one, (_, _, flash) in zip(found, pairs, strict=True))
        return f"{wrong} differ"

    flash = sum(pair[2] for pair in pairs)
    signal = f"{len(pairs)} pairs at random, {flash} of which flash red, 6 a second"
    yield Row(f"{RED}: 20 of 320, or 0.2 in u'v'", signal, "0 differ", find)


def _uv(light):
    x, y, z = _XYZ @ light
    return np.array([4 * x, 9 * y]) / (x + 15 * y + 3 * z)


def _red_flash(lights):
    """Whether two lights flash red by either definition, and how near that is to a limit."""
    sums = [light.sum() for light in lights]
    ratios = [light[0] / max(total, 1e-9) for light, total in zip(lights, sums, strict=True)]
    change = 320 * abs(np.subtract(*(max(0, r - g - b) for r, g, b in lights)))
    apart = np.hypot(*(_uv(lights[0]) - _uv(lights[1]))) if min(sums) > 0 else 0.0
    near = min(abs(change / 20 - 1), abs(apart / 0.2 - 1), *(abs(r / 0.8 - 1) for r in ratios))
    return max(ratios) >= 0.8 and (change > 20 or apart > 0.2), near


def random_reds(count, seed=11):
    """Pairs of codes, one or both of them reddish, none at a limit or all but black."""
    rng, pairs = np.random.default_rng(seed), []
    while len(pairs) < count:
        red = rng.integers(60, 256)
        first = (red, *rng.integers(0, red // 2, 2))
        second = (red, *rng.integers(0, red, 2)) if rng.random() < 0.5 else rng.integers(0, 256, 3)
        lights = [srgb_light(np.array(colour) / 255) for colour in (first, second)]
        flash, near = _red_flash(lights)
        if near > 0.02 and min(light.sum() for light in lights) > 0.02:
            pairs.append((first, tuple(second), bool(flash)))
    return pairs


def _rates() -> Iterator[Row]:
    for rate, period, expected in (
        ("25", 8, "fails"), ("25", 9, "watch"), ("50", 16, "fails"), ("50", 18, "watch"),
        ("29.97", 10, "watch"), ("59.94", 20, "watch"), ("59.94", 18, "fails"), ("25", 13, "holds"),
    ):  # fmt: skip
        yield Row(
            SPACING,
            f"black and white every {1000 * period / float(RATES[rate]):.0f} ms at {rate}",
            expected,
            lambda rate=rate, period=period: flashing(
                BLACK, WHITE, "general", period=period, rate=rate, seconds=4
            ),
        )
    for seconds, expected in ((4, "holds"), (7, "watch")):
        yield Row(
            "BT.1702, flashing for more than 5 s",
            f"two flashes a second for {seconds} s",
            expected,
            lambda seconds=seconds: flashing(
                BLACK, WHITE, "general_picture", period=13, seconds=seconds
            ),
        )
    periods = [(name, period) for name in RATES for period in range(5, 41, 7)]
    signal = f"{len(periods)} ways of flashing at {len(RATES)} frame rates, counted by hand"
    yield Row(COURSE, signal, "0 differ", lambda: f"{sum(map(_miscounted, periods))} differ")


def _miscounted(way):
    """Whether a rate is judged unlike by hand: half of the changes less than a second apart."""
    name, period = way
    frames = turns(flat(WHITE), flat(BLACK), period, int(2.5 * RATES[name]))
    changes = [i for i in range(1, len(frames)) if frames[i] is not frames[i - 1]]
    second = int(RATES[name])
    most = max(sum(first <= i < first + second for i in changes) for first in changes) / 2
    expected = "fails" if most > 3 else "watch" if most == 3 else "holds"
    return watched(frames, "general", rate=name) != expected


def _boxes(*where):
    """White boxes (left, top, width, height) on black, and black alone."""
    dark = flat(BLACK, SCREEN)
    light = dark.copy()
    for left, top, width, height in where:
        light[:, top : top + height, left : left + width] = 1
    return light, dark


def _spread(share):
    """A hundred boxes over the whole picture."""
    width, height = (round(side / 10 * np.sqrt(share)) for side in (1024, 768))
    places = [(i, j) for i in range(10) for j in range(10)]
    return [(round(102.4 * i), round(76.8 * j), width, height) for i, j in places]


def _areas() -> Iterator[Row]:
    near = [(300, 300, 108, 108), (500, 400, 108, 108)]
    far = [(100, 300, 108, 108), (700, 400, 108, 108)]
    for name, where, field, quarter in (
        ("a box of 144 x 144 (20,736 px)", [(400, 300, 144, 144)], "not over", "not over"),
        ("a box of 152 x 152 (23,104 px)", [(400, 300, 152, 152)], "fails", "not over"),
        ("the same in the corner", [(872, 616, 152, 152)], "fails", "not over"),
        ("two boxes of 108 x 108 in one field", near, "fails", "not over"),
        ("two boxes of 108 x 108 farther apart", far, "not over", "not over"),
        ("100 boxes, 24 % of the picture", _spread(0.24), None, "not over"),
        ("100 boxes, 26 % of the picture", _spread(0.26), None, "fails"),
    ):
        for clause, kind, expected in (
            (FIELD, "general", field),
            (QUARTER, "general_picture", quarter),
        ):

            def find(where=where, kind=kind):
                found = watched(turns(*_boxes(*where), 4, 30), kind, grid=SCREEN)
                return "fails" if found == "fails" else "not over"

            if expected is not None:
                yield Row(clause, f"{name}, 6 a second", expected, find)


def _courses() -> Iterator[Row]:
    table = srgb_light(np.arange(256) / 255)

    def greys(lights):
        made = {}
        codes = [int(np.abs(table - light).argmin()) for light in lights]
        return [made.setdefault(code, flat((code,) * 3)) for code in codes]

    black, flash = [0] * 9, [1, 1, 1, 0, 0, 0]
    stairs = [0.12 * (i // 3 % 8) for i in range(96)]
    sine = [0.5 - 0.5 * np.cos(2 * np.pi * 4 * i / 25) for i in range(75)]
    for name, lights, expected in (
        ("three flashes within a second, then none", black + flash * 3 + black * 3, "watch"),
        ("four flashes within a second, then none", black + flash * 4 + black * 3, "fails"),
        ("a sine between black and white, 4 a second", sine, "fails"),
        ("stairs upwards in eight steps, once a second", stairs, "holds"),
        ("ripples of 0.09 of white, 6 a second", [0.4, 0.4, 0.49, 0.49] * 12, "holds"),
        ("ripples of 0.11 of white, 6 a second", [0.4, 0.4, 0.51, 0.51] * 12, "fails"),
        ("up and down by 0.11 of white with dents on the way, 6 a second",
         [0.2, 0.26, 0.23, 0.31] * 12, "fails"),
        ("white to black and back over 4 s", [abs(1 - i / 51) for i in range(102)], "holds"),
    ):  # fmt: skip
        yield Row(COURSE, name, expected, lambda s=lights: watched(greys(s), "general"))
