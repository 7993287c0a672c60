"""Signals made by the standards, what each says of them, and what is found: `docs/checking.md`.

Each row has the clause, the signal in words, what is expected by the standard,
and a function that measures it. `python -m signals.table` (with `tests` on the
path) prints the table; a test sees that it is the one in the document and that
every row is as expected.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass

import numpy as np
from signals.curves import relit
from signals.stripes import inset, receding, rings, spiral, spokes, straight, wavy

from keyer.kinds.timing import RATES
from keyer.measure.backing import survey_backing
from keyer.measure.cells import FINE, light_of, make_grid
from keyer.measure.flash import FlashMeter, judge_flashing
from keyer.measure.legibility import Contrast, contrast_ratio, judge_contrast
from keyer.measure.levels import judge_levels, measure_levels
from keyer.measure.screen import screen_light
from keyer.measure.spill import spill_of
from keyer.measure.stripes import find_stripes

GRID = make_grid(1920, 1080)
ORDER = ("holds", "watch", "fails")


@dataclass(frozen=True)
class Row:
    """One signal."""

    clause: str
    signal: str
    expected: str
    find: Callable[[], str]


def _flat(colour: tuple[int, int, int]) -> np.ndarray:
    light = light_of(np.array(colour) / 255).astype(np.float32)[:, None, None]
    shape = (3, FINE * GRID.rows, FINE * GRID.columns)
    return np.ascontiguousarray(np.broadcast_to(light, shape))


def _flashing(first, second, kind, *, period=4, rate="25", seconds=2.0) -> str:
    pair = [(light, screen_light(light)) for light in (_flat(first), _flat(second))]
    meter = FlashMeter(GRID, RATES[rate])
    worst = "holds"
    for i in range(round(seconds * RATES[rate])):
        reading = getattr(meter.add(*pair[i % period < period / 2]), kind)
        found = judge_flashing(reading, RATES[rate] if kind.endswith("picture") else None)
        worst = max(worst, found, key=ORDER.index)
    return worst


def _flashes() -> Iterator[Row]:
    greys = ((0, 88), (0, 89), (0, 90), (128, 140), (230, 255), (231, 255), (232, 255), (100, 140))
    for low, high in greys:
        change = float(light_of(np.array(high / 255)) - light_of(np.array(low / 255)))
        dark = float(light_of(np.array(low / 255)))
        yield Row(
            "WCAG 2.3.1, general flash: 0.1 of white, darker below 0.8",
            f"grey {low} to {high}, 6 a second",
            "fails" if change >= 0.1 and dark < 0.8 else "holds",
            lambda low=low, high=high: _flashing((low,) * 3, (high,) * 3, "general"),
        )
        dark, light = (200 * (code / 255) ** 2.4 for code in (low, high))
        yield Row(
            "BT.1702 on a BT.1886 screen: 20 cd/m2, darker below 160",
            f"grey {low} to {high}: {dark:.1f} to {light:.1f} cd/m2",
            "fails" if light - dark >= 20 and dark < 160 else "holds",
            lambda low=low, high=high: _flashing((low,) * 3, (high,) * 3, "general_picture"),
        )
    for first, second, wcag, screen in (
        ((255, 0, 0), (0, 0, 0), "fails", "fails"), ((255, 0, 0), (0, 0, 255), "fails", "fails"),
        ((255, 0, 0), (128, 128, 128), "fails", "fails"), ((60, 0, 0), (0, 0, 0), "holds", "fails"),
        ((60, 0, 0), (0, 0, 255), "fails", "fails"),
        ((200, 100, 90), (60, 60, 60), "holds", "holds"),
        ((60, 60, 60), (0, 0, 0), "holds", "holds"),
        ((220, 60, 60), (60, 60, 60), "fails", "fails"),
    ):  # fmt: skip
        for clause, kind, expected in (
            ("WCAG 2.0 to 2.2, red flash", "red", wcag),
            ("BT.1702, saturated red, irrespective of luminance", "red_picture", screen),
        ):
            yield Row(
                clause, f"{first} and {second}, 6 a second", expected,
                lambda a=first, b=second, kind=kind: _flashing(a, b, kind),
            )  # fmt: skip
    for rate, period, expected in (
        ("25", 8, "fails"), ("25", 9, "watch"), ("50", 16, "fails"), ("50", 18, "watch"),
        ("29.97", 10, "watch"), ("59.94", 20, "watch"), ("59.94", 18, "fails"), ("25", 13, "holds"),
    ):  # fmt: skip
        yield Row(
            "BT.1702, 360 ms at 50 Hz and 334 ms at 60 Hz between leading edges",
            f"black and white every {1000 * period / float(RATES[rate]):.0f} ms at {rate}",
            expected,
            lambda rate=rate, period=period: _flashing(
                (0, 0, 0), (255, 255, 255), "general", period=period, rate=rate, seconds=4
            ),
        )
    for seconds, expected in ((4, "holds"), (7, "watch")):
        yield Row(
            "BT.1702, flashing for more than 5 s",
            f"two flashes a second for {seconds} s",
            expected,
            lambda seconds=seconds: _flashing(
                (0, 0, 0), (255, 255, 255), "general_picture", period=13, seconds=seconds
            ),
        )  # fmt: skip


def _pairs(plane) -> str:
    found = find_stripes(plane)
    return f"{round(2 * found.pairs) / 2:g} pairs, {'seen' if found.area > 0.25 else 'not seen'}"


def _stripes() -> Iterator[Row]:
    clause = (
        "BT.1702, more than five pairs in any orientation, parallel or radial, curved or straight"
    )
    for angle in (0, 30, 45, 60, 75, 90):
        for pairs in (5, 6):
            yield Row(
                clause, f"{pairs} pairs from corner to corner at {angle} degrees",
                f"{pairs} pairs, {'seen' if pairs > 5 else 'not seen'}",
                lambda angle=angle, pairs=pairs: _pairs(straight(pairs, angle)),
            )  # fmt: skip
    for pairs in (5, 6, 12, 24, 96):
        yield Row(
            clause, f"a wheel of {pairs} pairs of spokes",
            f"{pairs} pairs, {'seen' if pairs > 5 else 'not seen'}",
            lambda pairs=pairs: _pairs(spokes(pairs)),
        )  # fmt: skip
    for name, made, pairs in (
        ("rings, sines", lambda: rings(7, "sine"), 7), ("a spiral", lambda: spiral(7, "sine"), 7),
        ("waves", lambda: wavy(7, bend=0.01), 7), ("in perspective", lambda: receding(7), 7),
        ("over the left half", lambda: inset(straight(14, 0), 0, 0, 0.5, 1), 7),
    ):  # fmt: skip
        yield Row(clause, f"{pairs} pairs, {name}", f"{pairs} pairs, seen",
                  lambda made=made: _pairs(made()))  # fmt: skip
    for low, high, seen in ((0, 49, False), (0, 52, True), (100, 118, False), (100, 122, True)):
        yield Row(
            "BT.1702, light stripes of 50 cd/m2 or more; 20 cd/m2 between them (ours)",
            f"12 pairs of {low} and {high} cd/m2",
            "12 pairs, seen" if seen else "0 pairs, not seen",
            lambda low=low, high=high: _pairs(straight(12, 0, low=low / 200, high=high / 200)),
        )


def _others() -> Iterator[Row]:
    green = np.array((0.16, 0.68, 0.22))
    for stops in (0.4, 0.45, 0.6, 1.0, 1.5):

        def find(stops=stops):
            slope = stops / 0.98 * np.linspace(-0.5, 0.5, 320)
            plate = relit(np.broadcast_to(green[:, None, None], (3, 180, 320)), slope)
            return f"{survey_backing(plate.astype(np.float32), 'bt709').evenness_stops:.1f} stops"

        clause = "BT.709-6 item 1.2; a stop is twice the light"
        yield Row(clause, f"{stops:g} stops across a backing",
                  f"{stops:.1f} stops", find)  # fmt: skip
    for name, colour, expected in (
        ("green 10 % over red and blue", (0.4, 0.5, 0.4), 10), ("own yellow", (0.8, 0.8, 0.1), 0),
        ("own cyan", (0.1, 0.7, 0.7), 0), ("skin", (0.8, 0.6, 0.5), 0),
    ):  # fmt: skip

        def spilt(colour=colour):
            spill = spill_of(np.array(colour, np.float32)[:, None], 231.0, "bt709")
            return f"{100 * spill[0]:.0f} %"

        yield Row("common practice: spill is G - max(R, B)", name, f"{expected} %", spilt)
    for first, second, verdict in (
        ("#767676", "#FFFFFF", "holds"), ("#777777", "#FFFFFF", "watch"),
        ("#949494", "#FFFFFF", "watch"), ("#959595", "#FFFFFF", "fails"),
    ):  # fmt: skip

        def judged(first=first, second=second):
            light = [
                np.dot([0.2126, 0.7152, 0.0722],
                       light_of(np.array([int(c[i : i + 2], 16) for i in (1, 3, 5)]) / 255))
                for c in (first, second)
            ]  # fmt: skip
            return judge_contrast(Contrast(contrast_ratio(*map(float, light)), 0, 0)).verdict

        yield Row("WCAG 1.4.3, 4.5:1 and 3:1", f"{first} on {second}", verdict, judged)
    for code, expected in ((984, "holds"), (985, "fails"), (20, "holds"), (19, "fails")):

        def level(code=code):
            plane = np.full((3, 40, 60), (code - 64) / 876, np.float32)
            return judge_levels(measure_levels(plane, "bt709")).verdict

        yield Row("EBU R 103 v3.0, 20 to 984 of ten bits", f"grey of code {code}", expected, level)
    for rows, share, expected in ((27, 0.9, "holds"), (39, 1.3, "fails")):

        def area(rows=rows):
            plane = np.full((3, 300, 400), 0.5, np.float32)
            plane[:, 100 : 100 + rows, 100:140] = 1.2
            return judge_levels(measure_levels(plane, "bt709")).verdict

        yield Row("EBU R 103, 1 % of the picture", f"120 % on {share} % of it", expected, area)


def rows() -> list[Row]:
    """Every signal."""
    return [*_flashes(), *_stripes(), *_others()]


def markdown(found: list[str]) -> str:
    """Write the table, with what was found."""
    lines = ["| clause | signal | expected | found |", "| --- | --- | --- | --- |"]
    for row, value in zip(rows(), found, strict=True):
        lines.append(f"| {row.clause} | {row.signal} | {row.expected} | {value} |")
    return "\n".join(lines)


if __name__ == "__main__":
    print(markdown([row.find() for row in rows()]))
