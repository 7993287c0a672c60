"""Stripes and rows of elements by ITU-R BT.1702 and Wilkins et al. 2005."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np
from signals import stripes
from signals.row import ORDER, Row

from keyer.kinds.timing import RATES
from keyer.measure.repeat_meter import RepeatMeter, judge_repeats
from keyer.measure.stripe_meter import StripeMeter, judge_stripes
from keyer.measure.stripes import find_stripes

PAIRS = "BT.1702, more than five pairs in any orientation, parallel or radial, curved or straight"
LIGHT = "BT.1702, light stripes of 50 cd/m2 or more; 20 cd/m2 between them (ours)"
AREA = "BT.1702: 40 % where they stand or drift, 25 % where they change"
SECONDS = "Wilkins et al. 2005: longer than half a second"
ELEMENTS = "BT.1702, stripes may be formed by rows of repetitive elements"
FINE = "ours: what is finer than can be counted is not measured: watch"


def stripe_rows() -> Iterator[Row]:
    """Every signal of this module."""
    yield from _counts()
    yield from _courses()
    yield from _elements()


def _pairs(plane) -> str:
    found = find_stripes(plane)
    return f"{round(2 * found.pairs) / 2:g} pairs, {'seen' if found.area > 0.25 else 'not seen'}"


def _counts() -> Iterator[Row]:
    for angle in (0, 30, 45, 60, 75, 90):
        for pairs in (5, 6):
            yield Row(
                PAIRS,
                f"{pairs} pairs from corner to corner at {angle} degrees",
                f"{pairs} pairs, {'seen' if pairs > 5 else 'not seen'}",
                lambda angle=angle, pairs=pairs: _pairs(stripes.straight(pairs, angle)),
            )
    for pairs in (5, 6, 12, 24, 96):
        yield Row(
            PAIRS,
            f"a wheel of {pairs} pairs of spokes",
            f"{pairs} pairs, {'seen' if pairs > 5 else 'not seen'}",
            lambda pairs=pairs: _pairs(stripes.spokes(pairs)),
        )
    for name, made in (
        ("rings, sines", lambda: stripes.rings(7, "sine")),
        ("a spiral", lambda: stripes.spiral(7, "sine")),
        ("waves", lambda: stripes.wavy(7, bend=0.01)),
        ("in perspective", lambda: stripes.receding(7)),
        ("over the left half", lambda: stripes.inset(stripes.straight(14, 0), 0, 0, 0.5, 1)),
    ):
        yield Row(PAIRS, f"7 pairs, {name}", "7 pairs, seen", lambda made=made: _pairs(made()))
    for low, high, seen in ((0, 49, False), (0, 52, True), (100, 118, False), (100, 122, True)):
        yield Row(
            LIGHT,
            f"12 pairs of {low} and {high} cd/m2",
            "12 pairs, seen" if seen else "0 pairs, not seen",
            lambda low=low, high=high: _pairs(
                stripes.straight(12, 0, low=low / 200, high=high / 200)
            ),
        )


def _worst(frames) -> str:
    meter = StripeMeter(RATES["25"])
    found = (judge_stripes(meter.add(frame), RATES["25"]) for frame in frames)
    return max(found, key=ORDER.index)


def _courses() -> Iterator[Row]:
    def part(share, phase=0.0):
        return stripes.within(stripes.straight(20, 0, phase=phase), share, around=0.4)

    plain = np.full((stripes.ROWS, stripes.COLUMNS), 0.4, np.float32)
    for name, clause, made, expected in (
        ("on 20 %, standing", AREA, lambda: [part(0.2)] * 20, "holds"),
        ("on 30 %, standing (to be looked at: ours)", AREA, lambda: [part(0.3)] * 20, "watch"),
        ("on 45 %, standing", AREA, lambda: [part(0.45)] * 20, "fails"),
        ("on 30 %, drifting one way (to be looked at: ours)", AREA,
         lambda: [part(0.3, 0.05 * i) for i in range(20)], "watch"),
        ("on 45 %, drifting one way", AREA,
         lambda: [part(0.45, 0.05 * i) for i in range(20)], "fails"),
        ("on 30 %, reversing each third frame", AREA,
         lambda: [part(0.3, 0.5 * (i // 3 % 2)) for i in range(24)], "fails"),
        ("on 30 %, back and forth", AREA,
         lambda: [part(0.3, 0.3 * np.sin(i / 2)) for i in range(40)], "fails"),
        ("on 30 %, there and away each third frame", AREA,
         lambda: [(part(0.3), plain)[i // 3 % 2] for i in range(40)], "fails"),
        ("on 20 %, reversing", AREA,
         lambda: [part(0.2, 0.5 * (i // 3 % 2)) for i in range(24)], "holds"),
        ("all over for 12 frames at 25: 0.48 s", SECONDS,
         lambda: [plain] + [stripes.straight(20)] * 12 + [plain] * 5, "holds"),
        ("all over for 13 frames at 25: 0.52 s", SECONDS,
         lambda: [plain] + [stripes.straight(20)] * 13 + [plain] * 5, "fails"),
    ):  # fmt: skip
        yield Row(clause, f"20 pairs {name}", expected, lambda made=made: _worst(made()))


def _repeating(light, planes) -> str:
    meter = RepeatMeter(RATES["25"])
    found = (judge_repeats(meter.add(light, planes), RATES["25"]) for _ in range(16))
    return max(found, key=ORDER.index)


def _elements() -> Iterator[Row]:
    small = np.full((3, 2, 2), 0.5, np.float32)
    for name, made, expected in (
        ("squares of a checkerboard, 45 to the width", lambda: stripes.checks(10), "fails"),
        ("squares of a checkerboard, 16 to the width", lambda: stripes.checks(28), "fails"),
        ("squares of a checkerboard, 7 to the width", lambda: stripes.checks(450 / 7), "holds"),
        ("dots, 15 to the width", lambda: stripes.dots(30), "fails"),
        ("dots, 32 to the width, in offset rows", lambda: stripes.dots(14, offset=0.5), "fails"),
        ("bricks, 15 to the width", lambda: stripes.bricks(30, 12), "fails"),
        ("squares on 15 %", lambda: stripes.within(stripes.checks(9), 0.15), "holds"),
        ("squares on 30 % (to be looked at: ours)",
         lambda: stripes.within(stripes.checks(9), 0.3), "watch"),
        ("squares of 0 and 49 cd/m2", lambda: stripes.checks(10) * np.float32(49 / 200), "holds"),
        ("squares of 0 and 55 cd/m2", lambda: stripes.checks(10) * np.float32(55 / 200), "fails"),
    ):  # fmt: skip
        yield Row(ELEMENTS, name, expected, lambda made=made: _repeating(made(), small))
    y, x = np.mgrid[:540, :960]
    even = np.full((stripes.ROWS, stripes.COLUMNS), 0.4, np.float32)
    for name, picture, expected in (
        ("columns of one pixel of 960", x % 2, "watch"),
        ("rows of one pixel of 540", y % 2, "watch"),
        ("pixels, light and dark in turns", (x + y) % 2, "watch"),
        ("pairs of six pixels at 45 degrees", (x + y) % 6 < 3, "watch"),
        ("noise, each pixel for itself", np.random.default_rng(1).random((540, 960)), "holds"),
    ):
        planes = np.repeat(np.asarray(picture, np.float32)[np.newaxis], 3, axis=0)
        yield Row(FINE, name, expected, lambda planes=planes: _repeating(even, planes))
