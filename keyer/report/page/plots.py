"""Measurements over time as SVG: lines over the whole length of the spot, with their limits."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import pairwise
from typing import TypeGuard

from keyer.kinds.check_names import subject_name
from keyer.kinds.limits import LIMITS
from keyer.report.checks.findings import Series
from keyer.report.traces import TOLERANCE
from keyer.sheet.sheet import Sheet

HEIGHT = 100.0
COLOURS = ("#0b6b75", "#c2571a", "#5a4b9c", "#8a6d00")
"""Of the curves; when they are used up they come again, dashed."""


@dataclass(frozen=True)
class Mark:
    """A level written at the side of a plot; `down` in percent from the top."""

    down: float
    words: str
    limit: bool = False


@dataclass(frozen=True)
class Curve:
    """A line of a plot with its name."""

    name: str
    colour: str
    dash: bool
    path: str


@dataclass(frozen=True)
class Plot:
    """A plot, ready for the page.

    Attributes
    ----------
    title, unit : str
    length : int
        Units of its width: frames of the sheet.
    curves : list of Curve
    marks : list of Mark
    said : str
        The worst value in words.
    shots : list of (start, length)
        Every other shot, to be shaded.
    """

    title: str
    unit: str
    length: int
    curves: list[Curve]
    marks: list[Mark]
    said: str
    shots: list[tuple[int, int]]


@dataclass(frozen=True)
class Group:
    """Series that stand in one plot.

    Attributes
    ----------
    title, unit : str
    series : list of (name, Series)
    low, high : float
        Least range of the plot.
    limits : tuple of float
    lower_is_worse : bool
    """

    title: str
    unit: str
    series: list[tuple[str, Series]]
    low: float = 0.0
    high: float = 1.0
    limits: tuple[float, ...] = ()
    lower_is_worse: bool = False


def plots(sheet: Sheet, series: Sequence[Series]) -> list[Plot]:
    """Plot the measures of a check over time.

    Returns
    -------
    list of Plot
        What never leaves 0 and need not be seen is left out.
    """
    found = {one.name: one for one in series}
    groups = [*_of_picture(found), *_of_subjects(series)]
    return [_plot(sheet, group) for group in groups]


def _of_picture(found: dict[str, Series]) -> Iterator[Group]:
    keys = (("highest", "levels.highest_luma"), ("lowest", "levels.lowest_luma"))
    if luma := [(name, found[key]) for name, key in keys if key in found]:
        yield Group("Level of luma", "%", luma, 0.0, 100.0, TOLERANCE)
    if _seen(outside := found.get("levels.outside")):
        yield Group("Outside R 103 levels", "%", [("", outside)], 0, 2, _limits(outside))
    keys = (("all", "flash.general"), ("saturated red", "flash.red"))
    if flashes := [(name, found[key]) for name, key in keys if key in found]:
        yield Group("Flashes in a second", "", flashes, 0, 4, _limits(flashes[0][1]))
    if _seen(stripes := found.get("stripes.area")):
        yield Group("Picture under stripes", "%", [("", stripes)], 0, 50, _limits(stripes))
    if light := found.get("light.mean"):
        yield Group("Mean light", "% of white", [("", light)], 0, 50)


def _of_subjects(series: Sequence[Series]) -> Iterator[Group]:
    """Put a measure of all keys, or of all titles, into one plot."""

    def of(measure: str) -> list[tuple[str, Series]]:
        parts = ((one.name.partition(": "), one) for one in series)
        return [(subject_name(head), one) for (head, _, tail), one in parts if tail == measure]

    limit = LIMITS["coverage.holes"].fails
    for title, measure in (
        ("Holes in the matte", "coverage.holes"),
        ("Specks in the matte", "coverage.specks"),
    ):
        if found := of(measure):
            yield Group(title, "% of picture", found, 0, limit, (limit,))
    found = of("coverage.openings")
    if any(_seen(one) for _, one in found):
        yield Group("Openings in the matte", "% of picture", found, 0, 0.1)
    if found := of("coverage.edge_width"):
        yield Group("Edge of the matte", "px", found, 0, 4)
    limit = LIMITS["spill.after_p95"].fails
    for title, measure in (
        ("Spill left on the subject, 95th percentile", "spill.after_p95"),
        ("Spill left at the rim, 95th percentile", "spill.rim_p95"),
    ):
        if found := of(measure):
            yield Group(title, "% of white", found, 0, limit, (limit,))
    if found := of("title.contrast"):
        limits = _limits(found[0][1])
        yield Group("Contrast of titles", ":1", found, 1, 10, limits, lower_is_worse=True)


def _seen(series: Series | None) -> TypeGuard[Series]:
    """Whether a measure is there and ever leaves 0."""
    return series is not None and any(series.values)


def _limits(series: Series | None) -> tuple[float, ...]:
    return () if series is None or series.limit is None else (series.limit,)


def _plot(sheet: Sheet, group: Group) -> Plot:
    values = [value for _, one in group.series for value in one.values]
    low, high = min([group.low, *values]), max([group.high, *values])
    if any(limit < low for limit in group.limits):
        low = min(group.limits) - 0.05 * (high - low)
    high = max([high, *(1.03 * limit for limit in group.limits)])
    curves = [
        Curve(name, COLOURS[n % len(COLOURS)], n >= len(COLOURS), _path(one, low, high))
        for n, (name, one) in enumerate(group.series)
    ]
    marks = [Mark(_down(limit, low, high), f"{limit:g}", limit=True) for limit in group.limits]
    for value in (group.low, high if not group.limits else group.high):
        down = _down(value, low, high)
        if 0 <= down <= 100 and all(abs(down - mark.down) > 16 for mark in marks):
            marks.append(Mark(down, f"{value:.3g}"))
    return Plot(group.title, group.unit, sheet.length, curves, marks, _worst(group), _shots(sheet))


def _shots(sheet: Sheet) -> list[tuple[int, int]]:
    starts = [cue.at for cue in sheet.cues]
    spans = zip(starts, [*starts[1:], sheet.length], strict=True)
    return [(start, end - start) for n, (start, end) in enumerate(spans) if n % 2]


def _down(value: float, low: float, high: float) -> float:
    return round(100 * (high - value) / (high - low), 2)


def _worst(group: Group) -> str:
    """Say the worst value of each line."""
    unit = group.unit if group.unit.startswith(":") else f" {group.unit}"
    if group.series[0][0] == "highest":
        lows, highs = group.series[-1][1].values, group.series[0][1].values
        return f"{min(lows):.3g} to {max(highs):.3g}{unit}"
    pick, word = (min, "at least") if group.lower_is_worse else (max, "at most")
    if len(group.series) == 1:
        return f"{word} {pick(group.series[0][1].values):.3g}{unit}".rstrip()
    said = ", ".join(f"{name} {pick(one.values):.3g}" for name, one in group.series)
    return f"{word}: {said}{unit}".rstrip()


def _path(series: Series, low: float, high: float) -> str:
    """Draw a line through the middles of the frames, broken where nothing was measured."""
    frames, values = series.frames, series.values
    gaps = sorted(after - before for before, after in pairwise(frames))
    most = 2 * gaps[len(gaps) // 2] if gaps else 1
    parts, pen = [], "M"
    for n, (frame, value) in enumerate(zip(frames, values, strict=True)):
        before = values[n - 1] if n else None
        after = values[n + 1] if n + 1 < len(values) else None
        level_goes_on = before == value == after and pen == "L"
        if level_goes_on and frames[n + 1] - frame <= most:
            continue
        parts.append(f"{pen}{frame + 0.5:g} {_down(value, low, high):g}")
        broken = n + 1 < len(frames) and frames[n + 1] - frame > most
        if pen == "M" and (broken or len(frames) == 1):
            parts.append("h0.01")
        pen = "M" if broken else "L"
    return "".join(parts)
