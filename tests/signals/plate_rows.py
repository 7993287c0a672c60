"""Plates with a known answer: the backing, shadows, the subject's hues, spill."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np
from measured import survey_subject
from signals import plate_signals as plates
from signals.row import Row

from keyer.measure.backing import survey_backing
from keyer.measure.judge_backing import judge_backing
from keyer.measure.shadows import judge_shadows, measure_shadows
from keyer.measure.spill import judge_rim, judge_spill, measure_spill, spill_of
from keyer.measure.subject import judge_subject

COLOUR = {"bt709": "BT.709-6 items 3.2 and 3.3", "bt601": "BT.601-7 item 2.5"}
STOPS = "BT.709-6 item 1.2; a stop is twice the light"
EVEN = "common practice: evenness above 0.5 stops: watch; above 1.5 stops (ours): fails"
CHROMA = "ours: chroma below 30 % of full: watch; below 15 %: fails"
NOISE = "noise is the standard deviation of grain"
NOISY = "ours: noise above 2 %: watch; above 5 %: fails"
SHADOW = "ours: shadows above 0.5 stops: watch; above 1.5 stops: fails"
CLASH = "BT.709-6 item 3.3 for the hues; a wedge of 120 degrees (ours)"
CLASHING = "ours: hues of the backing above 0.2 % of the subject: watch; above 2 %: fails"
SPILL = "common practice: spill is G - max(R, B)"
SPILT = "ours: spill above 2.5 % of white: watch; above 10 %: fails"
GREEN_BAR, BLUE_BAR = (0, 1, 0), (0, 0, 1)


def plate_rows() -> Iterator[Row]:
    """Every signal of this module."""
    yield from _backing()
    yield from _light()
    yield from _subject()
    yield from _spill()


def _judged(planes, check) -> str:
    found = judge_backing(survey_backing(planes, "bt709"))
    return next(v.verdict for v in found if v.measure == f"backing.{check}")


def _backing() -> Iterator[Row]:
    for standard, clause in COLOUR.items():
        for name, bar in (("green", GREEN_BAR), ("blue", BLUE_BAR)):
            colour = tuple(0.75 * value for value in bar)
            luma = 100 * plates.y_cb_cr(colour, standard)[0]
            angle, chroma = plates.hue(colour, standard), plates.chroma_percent(colour, standard)

            def find(colour=colour, standard=standard):
                found = survey_backing(plates.flat(colour), standard)
                chroma, luma = found.chroma_percent, found.luma_percent
                return f"{found.hue_deg:.1f} degrees, {chroma:.1f} %, {luma:.1f} %"

            expected = f"{angle:.1f} degrees, {chroma:.1f} %, {luma:.1f} %"
            yield Row(clause, f"the {name} bar at 75 %: hue, chroma, luma", expected, find)
    for chroma, expected in ((29.7, "watch"), (30.3, "holds")):
        yield Row(
            CHROMA,
            f"a green of {chroma} % of full chroma",
            expected,
            lambda chroma=chroma: _judged(plates.flat(plates.mixed_green(chroma)), "chroma"),
        )
    for percent in (0.5, 1, 3):

        def noise(percent=percent):
            found = survey_backing(plates.grainy(percent / 100), "bt709")
            return f"{found.noise_percent:.1f} %"

        yield Row(NOISE, f"Gaussian grain of {percent} % of white", f"{percent:.1f} %", noise)
    for percent, expected in ((1.93, "holds"), (2.07, "watch"), (4.85, "watch"), (5.15, "fails")):
        yield Row(
            NOISY,
            f"Gaussian grain of {percent} %",
            expected,
            lambda percent=percent: _judged(plates.grainy(percent / 100), "noise"),
        )


def _light() -> Iterator[Row]:
    for stops in (0.4, 0.6, 1.0, 1.5):

        def find(stops=stops):
            return f"{survey_backing(plates.slope(stops), 'bt709').evenness_stops:.1f} stops"

        yield Row(STOPS, f"{stops:g} stops across a backing", f"{stops:.1f} stops", find)
    for stops, expected in ((0.47, "holds"), (0.53, "watch"), (1.45, "watch"), (1.55, "fails")):
        yield Row(
            EVEN,
            f"{stops} stops across a backing",
            expected,
            lambda stops=stops: _judged(plates.slope(stops), "evenness"),
        )
    for stops, expected in ((0.45, "holds"), (0.55, "watch"), (1.44, "watch"), (1.56, "fails")):

        def depth(stops=stops):
            planes, _ = plates.shaded(stops)
            backing = survey_backing(planes, "bt709")
            return judge_shadows(measure_shadows(planes, backing, "bt709")).verdict

        yield Row(SHADOW, f"a soft round shadow {stops} stops deep", expected, depth)


def _subject() -> Iterator[Row]:
    def clash(share, degrees):
        planes = plates.with_subject(share, plates.turned(degrees))
        return survey_subject(planes, "bt709", survey_backing(planes, "bt709"))

    for degrees, share, expected in (
        (40, 5, 5),
        (-40, 5, 5),
        (75, 5, 0),
        (180, 5, 0),
        (40, 1, 1),
    ):
        yield Row(
            CLASH,
            f"a patch {degrees} degrees from the backing on {share} % of the subject",
            f"{expected} %",
            lambda share=share, degrees=degrees: f"{clash(share, degrees).clash_percent:.0f} %",
        )
    for share, expected in ((0.15, "holds"), (0.3, "watch"), (1.8, "watch"), (2.3, "fails")):
        yield Row(
            CLASHING,
            f"a patch 40 degrees from the backing on {share} % of the subject",
            expected,
            lambda share=share: judge_subject(clash(share, 40)).verdict,
        )


def _spill() -> Iterator[Row]:
    for name, colour, expected in (
        ("green 10 % over red and blue", (0.4, 0.5, 0.4), 10), ("own yellow", (0.8, 0.8, 0.1), 0),
        ("own cyan", (0.1, 0.7, 0.7), 0), ("skin", (0.8, 0.6, 0.5), 0),
    ):  # fmt: skip

        def pixel(colour=colour):
            found = spill_of(np.array(colour, np.float32)[:, None], 231.0, "bt709")
            return f"{100 * found[0]:.0f} %"

        yield Row(SPILL, name, f"{expected} %", pixel)
    spread = np.linspace(0, 0.2, 2000, dtype=np.float32)
    figures = spread.mean(), np.quantile(spread, 0.95), (spread > 0.025).mean()
    for index, name, bar in ((1, "green", GREEN_BAR), (2, "blue", BLUE_BAR)):
        colour = np.full((3, 20, 2000), 0.4, np.float32)
        colour[index] += spread

        def figure(colour=colour, bar=bar):
            matte = np.ones(colour.shape[1:], np.float32)
            found = measure_spill(colour, matte, plates.hue(bar), "bt709")
            return f"{found.mean_percent:.1f}, {found.p95_percent:.1f}, {found.area_percent:.1f} %"

        signal = f"{name} spill of 0 to 20 %: mean, 95th percentile, area above 2.5 %"
        yield Row(
            SPILL, signal, "{:.1f}, {:.1f}, {:.1f} %".format(*np.multiply(100, figures)), figure
        )
    for percent, expected in ((2.4, "holds"), (2.6, "watch"), (9.9, "watch"), (10.1, "fails")):

        def whole(percent=percent):
            colour = plates.flat((0.4, 0.4 + percent / 100, 0.4), 20, 20)
            matte = np.ones((20, 20), np.float32)
            return judge_spill(measure_spill(colour, matte, plates.hue(GREEN_BAR), "bt709")).verdict

        def rim(percent=percent):
            return judge_rim(
                measure_spill(*plates.rim(percent), plates.hue(GREEN_BAR), "bt709")
            ).verdict

        yield Row(SPILT, f"green {percent} % over red and blue", expected, whole)
        yield Row(SPILT, f"a rim of a matte of 0.5 that shows {percent} % over grey", expected, rim)
