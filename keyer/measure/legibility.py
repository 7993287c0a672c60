"""Whether a title can be read: contrast, letter height, place, time on screen.

Contrast is WCAG's ratio [wcag] between the letters and what lies directly
around them in the finished picture - panel, outline, shadow and the picture
itself - in the worst place. The other measures judge against customs of the
trade, from memory except where a source is named.
"""

from __future__ import annotations

import math
import unicodedata
from dataclasses import dataclass
from fractions import Fraction
from functools import cache

import cv2
import numpy as np
from numpy.typing import NDArray

from keyer.kinds.arrays import Planes
from keyer.kinds.limits import LIMITS
from keyer.kinds.verdicts import Judgement, Verdict, judge
from keyer.measure.safe_areas import Area, SafeArea, inset

Coverage = NDArray[np.float32]

EASY_WORDS_A_MINUTE = 160
"""Reading speed that suits most viewers (BBC R&D, quoting Ofcom: 160 to 180)."""
HARD_WORDS_A_MINUTE = 200
"""Above this subtitles are hard for many (BBC R&D, quoting Ofcom)."""
SHORTEST_TITLE = LIMITS["title.reading_time"].fails
"""Seconds under which no title goes, however short; common practice."""
SHORT_TITLE = LIMITS["title.reading_time"].watch
"""Seconds that even a short title is given; common practice."""

_SOLID = 0.9
_CLEAR = 0.1
_LEAST_WEIGHT = 0.04
_IDEOGRAPHS_A_WORD = 2


def relative_luminance(planes: Planes) -> Coverage:
    """Relative luminance of R'G'B' coded as sRGB (WCAG, "relative luminance").

    Parameters
    ----------
    planes : (3, ...) float32, nominal 0..1

    Returns
    -------
    (...) float32, 0..1
    """
    codes = np.clip(planes * np.float32(65535) + np.float32(0.5), 0, 65535).astype(np.uint16)
    red, green, blue = _light_table()[codes]
    luminance: Coverage = (
        np.float32(0.2126) * red + np.float32(0.7152) * green + np.float32(0.0722) * blue
    )
    return luminance


@cache
def _light_table() -> NDArray[np.float32]:
    """Light of each 16-bit code: a table is ten times as fast as the power, and as exact."""
    coded = np.arange(65536) / 65535
    light = np.where(coded <= 0.04045, coded / 12.92, ((coded + 0.055) / 1.055) ** 2.4)
    return light.astype(np.float32)


def contrast_ratio(first: float | Coverage, second: float | Coverage) -> Coverage:
    """WCAG contrast ratio of relative luminances, 1..21.

    Examples
    --------
    >>> float(contrast_ratio(1.0, 0.0))
    21.0
    """
    ratio: Coverage = (np.maximum(first, second) + 0.05) / (np.minimum(first, second) + 0.05)
    return ratio


@dataclass(frozen=True)
class Contrast:
    """Contrast of lettering where it is worst.

    Attributes
    ----------
    ratio : float
        WCAG ratio, 1..21.
    x, y : int
        Pixel at the middle of the worst part.
    """

    ratio: float
    x: int
    y: int


def worst_contrast(
    ink: float | Coverage, behind: Planes, letters: Coverage, letter_height: float
) -> Contrast | None:
    """Find where letters stand out least from what lies around them.

    In a window half a letter high, moved over every letter, the mean
    luminance of the letters is held against that of their surroundings: the
    pixels within a sixth of a letter's height, seen without the lettering. So
    an outline or a panel counts as surroundings, and a busy picture by the
    part that comes nearest to the letters.

    Parameters
    ----------
    ink : float or (H, W) float32
        Relative luminance of the letters; where they are see-through, of the
        finished picture.
    behind : (3, H, W) float32
        R'G'B' of the finished picture without the letters themselves, but with
        panels, outlines and shadows.
    letters : (H, W) float32
        Coverage of the letters.
    letter_height : float
        In pixels.

    Returns
    -------
    Contrast or None
        None where there are no letters.
    """
    solid = (letters > _SOLID).astype(np.float32)
    if not solid.any():
        solid = (letters > letters.max(initial=0) * 0.6).astype(np.float32)
    if not solid.any() or letters.max(initial=0) <= 0:
        return None
    reach = max(1, round(letter_height / 6))
    near = cv2.dilate(solid, np.ones((2 * reach + 1, 2 * reach + 1), np.uint8))
    around = ((letters < _CLEAR) & (near > 0)).astype(np.float32)
    side = max(3, 2 * round(letter_height / 4) + 1)

    own: float | Coverage = ink
    if not isinstance(ink, float):
        own, _ = _mean(ink, solid, side)
    light = np.zeros_like(letters)
    light[around > 0] = relative_luminance(behind[:, around > 0])
    ground, ground_share = _mean(light, around, side)
    enough = (solid > 0) & (ground_share > _LEAST_WEIGHT)
    if not enough.any():
        enough = (solid > 0) & (ground_share > 0)
        if not enough.any():
            return None
    ratio = np.where(enough, contrast_ratio(own, ground), np.inf)
    y, x = divmod(int(ratio.argmin()), ratio.shape[1])
    return Contrast(float(ratio[y, x]), x, y)


def _mean(light: Coverage, weight: Coverage, side: int) -> tuple[Coverage, Coverage]:
    """Mean of some pixels in a window about each pixel, and their share of the window."""
    share, total = np.empty_like(weight), np.empty_like(weight)
    cv2.blur(weight, (side, side), share, borderType=cv2.BORDER_CONSTANT)
    cv2.blur(light * weight, (side, side), total, borderType=cv2.BORDER_CONSTANT)
    np.divide(total, np.maximum(share, np.float32(1e-9)), out=total)
    return total, share


def judge_contrast(contrast: Contrast) -> Verdict:
    """Judge the worst contrast against WCAG 1.4.3 (level AA): for any text, and for large text."""
    place = f"at x {contrast.x}, y {contrast.y}"
    cure = f"Worst {place}: darken or fill in the panel, add an outline or shadow, or move it."
    return judge("title.contrast", contrast.ratio, cure)


def judge_letter_height(percent: float, smallest: float | None = None) -> Verdict:
    """Judge the smallest letters, from the top of a "d" to the foot of a "p".

    Parameters
    ----------
    percent : float
        Of the picture height.
    smallest : float, optional
        Below which somebody's own rules let them fail, in place of the usual limits.
    """
    least = LIMITS["title.letter_height"].watch if smallest is None else smallest
    remedy = f"Make the smallest text at least {least:g} % high, or leave it out."
    if smallest is None:
        return judge("title.letter_height", percent, remedy)
    if percent < smallest:
        return Verdict("title.letter_height", percent, "%", "fails", remedy)
    return Verdict("title.letter_height", percent, "%", "holds")


def judge_largest_letters(percent: float, largest: float) -> Verdict:
    """Judge the largest letters, measured as the smallest ones are.

    Parameters
    ----------
    percent : float
        Of the picture height.
    largest : float
        Above which somebody's own rules let them fail.
    """
    verdict: Judgement = "fails" if percent > largest else "holds"
    remedy = f"Make the largest text at most {largest:g} % high." if verdict == "fails" else ""
    return Verdict("title.largest_letters", percent, "%", verdict, remedy)


def judge_safe_area(
    alpha: Coverage, left: int, top: int, size: tuple[int, int], safe: str | SafeArea
) -> Verdict:
    """Judge whether letters keep inside the title-safe area.

    Parameters
    ----------
    alpha : (h, w) float32
        Coverage of the letters.
    left, top : int
        Its place in the picture.
    size : (width, height)
        Of the picture, in pixels.
    safe : str or SafeArea
        A key of `SAFE_AREAS`, or an area of one's own.

    Returns
    -------
    Verdict
        The value is the share of the letters that lies outside, in percent.
        Letters beyond the title area must be looked at (`watch`), those
        beyond the action area fail.
    """
    total = float(alpha.sum())
    outside = {}
    areas: tuple[Area, ...] = ("title", "action")
    for area in areas:
        edge = inset(safe, area, *size)
        x0, x1 = (round(edge.x) - left, round(size[0] - edge.x) - left)
        y0, y1 = (round(edge.y) - top, round(size[1] - edge.y) - top)
        inside = float(alpha[max(y0, 0) : max(y1, 0), max(x0, 0) : max(x1, 0)].sum())
        outside[area] = 100 * (1 - inside / total) if total else 0.0
    value = round(outside["title"], 2)
    if value < 0.005:
        return Verdict("title.safe_area", 0.0, "%", "holds")
    verdict: Judgement = "fails" if outside["action"] > 0.005 else "watch"
    remedy = "Move the title inwards, shorten it, or let it shrink or wrap."
    return Verdict("title.safe_area", value, "%", verdict, remedy)


def count_words(text: str) -> float:
    """Count words; two ideographs or syllable signs count as one (from memory).

    Examples
    --------
    >>> count_words("one two, three - 4")
    4.0
    """
    dense = [c for c in text if unicodedata.east_asian_width(c) in {"W", "F"} and c.isalpha()]
    spaced = "".join(" " if c in set(dense) else c for c in text)
    words = sum(any(c.isalnum() for c in word) for word in spaced.split())
    return words + len(dense) / _IDEOGRAPHS_A_WORD


def reading_seconds(text: str) -> float:
    """Return the seconds that a text takes to read at the easy speed, at least the usual ones."""
    return max(SHORT_TITLE, count_words(text) * 60 / EASY_WORDS_A_MINUTE)


def judge_reading_time(text: str, on_screen: Fraction | float) -> Verdict:
    """Judge whether a title is up long enough to be read.

    Parameters
    ----------
    text : str
        All that there is to read.
    on_screen : Fraction or float
        Seconds in which it is fully there.

    Returns
    -------
    Verdict
        The value is the seconds on screen. Holds where the easy speed and the
        usual seconds are kept; fails beyond the hard speed or the fewest seconds.
    """
    seconds = float(on_screen)
    easy = reading_seconds(text)
    hard = max(SHORTEST_TITLE, count_words(text) * 60 / HARD_WORDS_A_MINUTE)
    verdict: Judgement = "holds"
    if seconds < hard - 1e-9:
        verdict = "fails"
    elif seconds < easy - 1e-9:
        verdict = "watch"
    needed = math.ceil(easy * 10) / 10
    aloud = math.ceil(count_words(text) / 3 * 2 * 10) / 10
    remedy = f"Hold it for {needed:.1f} s"
    remedy += f" ({aloud:.1f} s to be read aloud twice)" if aloud > needed else ""
    remedy = "" if verdict == "holds" else f"{remedy}, or shorten it."
    return Verdict("title.reading_time", seconds, "s", verdict, remedy)


def judge_passage(frames: int, needed: int) -> Verdict:
    """Judge whether a crawl or roll has the frames that it needs to pass.

    Parameters
    ----------
    frames : int
        That it is on air.
    needed : int
        Until everything has passed.

    Returns
    -------
    Verdict
        The value is the frames that it lacks.
    """
    lacks = max(0, needed - frames)
    if not lacks:
        return Verdict("title.passage", 0, "frames", "holds")
    remedy = f"Give it {needed} frames, or more pixels a frame."
    return Verdict("title.passage", lacks, "frames", "fails", remedy)
