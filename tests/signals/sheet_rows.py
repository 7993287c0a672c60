"""Titles and timing, by whole sheets."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np
from signals.row import Row
from signals.sheet_signals import cuts, title, titled, verdicts

from keyer.measure.legibility import Contrast, contrast_ratio, judge_contrast, relative_luminance

CONTRAST = "WCAG 1.4.3, 4.5:1 and 3:1"
READING = "BBC R&D quoting Ofcom: 160 words a minute, over 200 is hard"
LEAST = "common practice: a title stays for 2 s, 1.5 s at least"
SAFE = "SMPTE ST 2046-1: title 90 %, action 93 % (from memory)"
HEIGHT = "common practice: letters of 4 % of the picture height; 2.5 % ours"
LENGTH = "common practice: 10 s to the frame; 30 labels a second at 29.97"
BLACK = "ours: half a second of black, no cell above 5 % of the signal"
STRAY = "common practice: a single stray frame at a cut is an error"
LAST = "a transition's n frames are mixed ones: n / (n + 1) on the last"
OFTEN = {"25": 25, "29.97": 30, "50": 50, "23.976": 24}
"""Labels a second at a rate (SMPTE ST 12-1)."""

LETTER = (712 + 205) / 1000
"""Top of a "d" to foot of a "p" in Source Sans Pro, of the font size (from the font's outlines)."""

BEARING = 90 / 1000
"""What lies to the left of an "H" in it, of the font size."""


def sheet_rows() -> Iterator[Row]:
    """Every signal of this module."""
    yield from _contrast()
    yield from _titles()
    yield from _timing()


def _contrast() -> Iterator[Row]:
    for first, second, expected in (
        ("#767676", "#FFFFFF", "holds"), ("#777777", "#FFFFFF", "watch"),
        ("#949494", "#FFFFFF", "watch"), ("#959595", "#FFFFFF", "fails"),
    ):  # fmt: skip

        def judged(first=first, second=second):
            lights = (_luminance(colour) for colour in (first, second))
            return judge_contrast(Contrast(contrast_ratio(*lights), 0, 0)).verdict

        yield Row(CONTRAST, f"{first} on {second}", expected, judged)
    for ground, ink, ratio, expected in (
        ("white", "#6E6E6E", 5.1, "holds"), ("white", "#808080", 3.9, "watch"),
        ("white", "#A0A0A0", 2.6, "fails"), ("grey", "#FFFFFF", 5.0, "holds"),
    ):  # fmt: skip
        yield Row(
            CONTRAST,
            f"large letters of {ink} in a sheet, over {ground}: {ratio}:1",
            expected,
            lambda ground=ground, ink=ink: titled(
                title("IHI", size=60, ink=ink), "contrast", ground=ground
            ),
        )


def _luminance(colour):
    codes = [int(colour[at : at + 2], 16) / 255 for at in (1, 3, 5)]
    return float(relative_luminance(np.array(codes, np.float32)[:, None, None])[0, 0])


def _titles() -> Iterator[Row]:
    words = "one two six ten red sea sun oak"
    for frames, pace, expected in ((75, 160, "holds"), (74, 162, "watch"), (60, 200, "watch"),
                                   (59, 203, "fails")):  # fmt: skip
        yield Row(
            READING,
            f"eight words in {frames} frames at 25: {pace} a minute",
            expected,
            lambda frames=frames: titled(title(words, size=5), "reading_time", frames=frames),
        )
    for frames, expected in ((50, "holds"), (49, "watch"), (38, "watch"), (37, "fails")):
        yield Row(
            LEAST,
            f"one word for {frames} frames at 25",
            expected,
            lambda frames=frames: titled(title(), "reading_time", frames=frames),
        )
    for inset, expected in ((5.2, "holds"), (4.6, "watch"), (3.8, "watch"), (3.2, "fails")):
        x = (inset - 5) * 16 / 9 - 12 * BEARING  # percent of the height, from 5 % of the width on
        yield Row(
            SAFE,
            f"letters {inset} % of the width in from the left",
            expected,
            lambda x=x: titled(title("HIH", place="left", x=x), "safe_area", large=True),
        )
    for height, expected in ((4.1, "holds"), (3.9, "watch"), (2.6, "watch"), (2.4, "fails")):
        yield Row(
            HEIGHT,
            f"letters {height} % high from the top of a d to the foot of a p",
            expected,
            lambda height=height: titled(title(size=height / LETTER), "letter_height", large=True),
        )


def _timing() -> Iterator[Row]:
    for rate, length, expected in (
        ("25", 250, "holds"), ("25", 251, "watch"), ("25", 238, "watch"), ("25", 237, "holds"),
        ("29.97", 300, "holds"), ("29.97", 299, "watch"), ("50", 500, "holds"),
        ("23.976", 240, "holds"),
    ):  # fmt: skip
        form = f"96x54@{rate}"
        yield Row(
            LENGTH,
            f"{length} frames at {rate}: {length / OFTEN[rate]:.2f} s",
            expected,
            lambda form=form, length=length: verdicts(cuts(("blue", 0)), form=form, length=length)[
                "timing.length"
            ],
        )

    def timed(check, name, clause, expected, *order, length=50, mix=""):
        body = cuts(("blue", 0), *order) + mix
        check = f"timing.{check}"
        find = lambda: verdicts(body, length=length).get(check, "none")  # noqa: E731
        return Row(clause, name, expected, find)

    for frames, name, verdict in ((1, "one frame", "fails"), (12, "12 frames at 25", "fails"),
                                  (13, "13 frames at 25", "watch")):  # fmt: skip
        signal = f"4.7 % of the signal for {name}: {frames / 25:.2f} s"
        yield timed("black", signal, BLACK, verdict, ("dark", 20), ("blue", 20 + frames))
    signal = "5.5 % of the signal for 12 frames"
    yield timed("black", signal, BLACK, "holds", ("dim", 20), ("blue", 32))
    for name, verdict, *order in (
        ("another picture for one frame at a cut", "fails", ("white", 20), ("grey", 21)),
        ("another picture for two frames", "holds", ("white", 20), ("grey", 22)),
        ("white for a frame, then as before", "watch", ("white", 20), ("blue", 21)),
        ("a cut", "holds", ("white", 20)),
    ):
        yield timed("stray_frame", name, STRAY, verdict, *order)
    mix = 'transition = { kind = "mix", length = 9 }\n'
    for length, name, verdict in ((49, "with the sheet", "watch"), (50, "a frame before", "none")):
        signal = f"a mix of 9 frames that ends {name}"
        yield timed("last_frame", signal, LAST, verdict, ("grey", 40), length=length, mix=mix)
