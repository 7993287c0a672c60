"""Where the backing of a key plate is, and what it is like.

The survey works on a small copy of the picture: it looks for a large, even
area of one saturated hue that reaches the border, and measures its hue,
chroma, luma, evenness and noise. A picture without such an area is refused.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Any

import cv2
import numpy as np
from numpy.typing import NDArray

from keyer.errors import NoBackingError, SettingError
from keyer.kinds.picture import Matrix, Planes
from keyer.kinds.settings import Rgb, in_range
from keyer.measure.hues import bar_hue, hue_distance, hue_name
from keyer.measure.plate import (
    LEAST_CHROMA,
    REACH_DEG,
    Mask,
    SmallCopy,
    inner,
    small_copy,
    sure_backing,
)
from keyer.measure.stops import SPREAD, Light, light_on, span_in_stops
from keyer.pixel.colour import FULL_CHROMA, hue_of, rgb_to_ycc

WARM_HUES = (60.0, 180.0)
"""Hues of skin, hair and wood: never taken for a backing unless named."""

MOST_STOPS = 2.5
"""Light by which a backing may vary, a shadow of two stops on it; a night sky varies by three."""

PALE, SMALL = 0.075, 0.1
"""Chroma and share of the picture below which an area is no backing if it is below both."""

Sample = tuple[int, int, int, int]


@dataclass(frozen=True)
class Backing:
    """A backing as surveyed.

    Attributes
    ----------
    hue_deg : float
        Vectorscope angle, 0..360: Cb to the right, Cr up, counter-clockwise.
    chroma_percent : float
        100 is full chroma, 0.5 of Cb or Cr; a 100 % green bar has 119.
    luma_percent : float
        100 is nominal white.
    evenness_stops : float
        Light from the darkest to the brightest part: log2 of the ratio of the
        99th to the 1st percentile of the smoothed light; 0 is perfectly even.
    evenness_percent : float
        The range of the smoothed luma in percent of its mean.
    noise_percent : float
        Root mean square over R', G' and B' of the grain, percent of white.
    rgb : tuple of three floats
        Median R'G'B' colour.
    share_percent : float
        Part of the picture that is surely backing.
    reasons : tuple of str
        What was chosen and why, in sentences.
    """

    hue_deg: float
    chroma_percent: float
    luma_percent: float
    evenness_stops: float
    evenness_percent: float
    noise_percent: float
    rgb: Rgb
    share_percent: float
    reasons: tuple[str, ...]

    def as_dict(self) -> dict[str, Any]:
        """As plain data for JSON."""
        return {
            "hue_deg": self.hue_deg,
            "chroma_percent": self.chroma_percent,
            "luma_percent": self.luma_percent,
            "evenness_stops": self.evenness_stops,
            "evenness_percent": self.evenness_percent,
            "noise_percent": self.noise_percent,
            "rgb": list(self.rgb),
            "share_percent": self.share_percent,
            "reasons": list(self.reasons),
        }


@dataclass(frozen=True)
class _Candidate:
    """An area of one hue that might be the backing."""

    hue: float
    share: float
    border: float
    evenness: float
    chroma: float
    stops: float


def survey_backing(
    planes: Planes,
    matrix: Matrix,
    hue: str | float = "auto",
    sample: Sample | None = None,
) -> Backing:
    """Find the backing of a key plate and measure it.

    Parameters
    ----------
    planes : (3, H, W) float32
        R'G'B' nominal 0..1.
    matrix : {"bt601", "bt709"}
    hue : {"auto", "green", "blue"} or float
        Where to look: anywhere but among the hues of skin and wood, near a
        colour bar, or near an angle in degrees.
    sample : (x, y, width, height), optional
        Area in pixels that is backing for certain; `hue` is then not used.

    Returns
    -------
    Backing

    Raises
    ------
    NoBackingError
        If there is no large even area of one saturated hue.
    SettingError
        If `hue` is unknown or `sample` lies outside the picture.
    """
    copy = small_copy(planes, matrix)
    if sample is not None:
        colour, why = _sampled(planes, sample, matrix)
    else:
        colour, why = _searched(copy, matrix, hue)
    mask = sure_backing(copy, colour, matrix)
    if not mask.any():
        raise NoBackingError(_none_found("no even area has the colour of the sample"))
    found = _measure(planes, copy, mask, matrix, why)
    if sample is None and found.evenness_stops > MOST_STOPS:
        fault = f"what hangs together with the best hue varies by {found.evenness_stops:.1f} stops"
        raise NoBackingError(_none_found(fault))
    return found


def _wanted(hue: str | float, matrix: Matrix) -> tuple[float, float] | None:
    """Middle and half width of the hues asked for; None for all but the warm ones."""
    if isinstance(hue, str):
        if hue == "auto":
            return None
        if hue in ("green", "blue"):
            return bar_hue(hue, matrix), 50.0
        msg = f"hue must be auto, green, blue or an angle in degrees, got {hue!r}."
        raise SettingError(msg)
    return in_range("hue", hue, -360, 360) % 360.0, 30.0


def _searched(copy: SmallCopy, matrix: Matrix, hue: str | float) -> tuple[Rgb, list[str]]:
    wanted = _wanted(hue, matrix)
    found = _candidates(copy, matrix)
    if wanted is None:
        low, high = WARM_HUES
        fitting = [item for item in found if not low <= item.hue <= high]
    else:
        fitting = [item for item in found if hue_distance(item.hue, wanted[0]) <= wanted[1]]
    if not fitting:
        raise NoBackingError(_none_found("no area has a saturated hue that could be one"))
    best = max(fitting, key=_score)
    fault = _fault(best, found)
    if fault:
        raise NoBackingError(_none_found(fault))
    near = _near(copy, best.hue) & copy.even
    colour = _median(copy.rgb, near)
    how = "found" if wanted is None else "looked for and found"
    return colour, [
        (
            f"Backing {how} at {hue_of(colour, matrix):.0f} degrees"
            f" ({hue_name(hue_of(colour, matrix), matrix)}): the largest even area of one hue,"
            f" {100 * best.share:.0f} % of the picture and {100 * best.border:.0f} % of its border."
        )
    ]


def _sampled(planes: Planes, sample: Sample, matrix: Matrix) -> tuple[Rgb, list[str]]:
    left, top, width, height = sample
    rows, cols = planes.shape[1:]
    if width < 1 or height < 1 or left < 0 or top < 0 or left + width > cols or top + height > rows:
        msg = (
            f"sample must lie inside the picture of {cols} x {rows} pixels,"
            f" got {left},{top},{width},{height} (x, y, width, height)."
        )
        raise SettingError(msg)
    area = planes[:, top : top + height, left : left + width]
    colour = _median(area, np.ones(area.shape[1:], np.bool_))
    _, cb, cr = rgb_to_ycc(np.array(colour, np.float32), matrix)
    if not math.hypot(cb, cr) >= LEAST_CHROMA:
        raise NoBackingError(
            _none_found(f"the sample's chroma is {100 * math.hypot(cb, cr) / FULL_CHROMA:.0f} %")
        )
    return colour, [f"Backing taken from the sample of {width} x {height} pixels."]


def _candidates(copy: SmallCopy, matrix: Matrix) -> list[_Candidate]:
    """Peaks of the hue histogram, weighted by chroma and by nearness to the border."""
    coloured = copy.chroma >= LEAST_CHROMA
    weight = copy.chroma * coloured * (1.0 + 2.0 * copy.border) * np.where(copy.even, 1.0, 0.1)
    bins = (copy.hue / 5.0).astype(np.int64) % 72
    histogram = np.bincount(bins.ravel(), weight.ravel().astype(np.float64), 72)
    smooth = np.sum([np.roll(histogram, shift) for shift in (-2, -1, 0, 1, 2)], axis=0)
    peaks: list[float] = []
    for index in np.argsort(-smooth)[:24]:
        hue = 5.0 * float(index) + 2.5
        alone = all(hue_distance(hue, other) > 25.0 for other in peaks)
        if smooth[index] > 0 and alone and len(peaks) < 8:
            peaks.append(hue)
    light = light_on(copy.rgb, matrix)
    return [_candidate(copy, light, hue) for hue in peaks]


def _near(copy: SmallCopy, hue: float) -> Mask:
    near: Mask = (hue_distance(copy.hue, hue) <= REACH_DEG) & (copy.chroma >= LEAST_CHROMA)
    return near


def _candidate(copy: SmallCopy, light: Light, hue: float) -> _Candidate:
    near = _near(copy, hue)
    even = near & copy.even
    stops = span_in_stops(light[even]) if even.any() else 0.0
    return _Candidate(
        hue,
        float(even.mean()),
        float(even[copy.border].mean()),
        float(even.sum() / max(1, near.sum())),
        float(np.median(copy.chroma[even])) if even.any() else 0.0,
        stops,
    )


def _score(item: _Candidate) -> float:
    return (item.share + item.border) * item.chroma * item.evenness


def _fault(best: _Candidate, found: list[_Candidate]) -> str:
    """Why the best candidate cannot be a backing; empty when it can."""
    covers = f"{100 * best.share:.1f} %"
    if best.chroma < LEAST_CHROMA + 0.01 or best.share < 0.03:
        return f"the largest even area of one saturated hue covers {covers}"
    if best.evenness < 0.5:
        return f"the {covers} of the best hue are broken up by texture"
    if best.chroma < PALE and best.share < SMALL:
        return f"the best hue is pale and covers {covers}, as in a sky"
    if best.stops > MOST_STOPS:
        return f"the area of the best hue varies by {best.stops:.1f} stops"
    if best.border < 0.15 and best.share < 0.25:
        return "the best hue neither reaches the border nor fills the picture"
    others = [
        item
        for item in found
        if item is not best and item.share >= 0.4 * best.share and item.chroma >= 0.5 * best.chroma
    ]
    many = f"{len(others) + 1} even hues share the picture, as in colour bars"
    return many if len(others) >= 3 else ""


def _none_found(why: str) -> str:
    return (
        f"picture shows no backing: {why}. Shoot before an evenly lit green or blue backing,"
        " or name a spot of it with a sample area (x, y, width, height)."
    )


def _median(planes: Planes, mask: Mask) -> Rgb:
    red, green, blue = (float(np.median(plane[mask])) for plane in planes)
    return red, green, blue


def _measure(
    planes: Planes, copy: SmallCopy, mask: Mask, matrix: Matrix, why: list[str]
) -> Backing:
    within = inner(mask)
    colour = _median(copy.rgb, within)
    luma, cb, cr = rgb_to_ycc(np.array(colour, np.float32), matrix)
    smooth: NDArray[np.float32] = np.asarray(cv2.blur(copy.luma, (3, 3)), np.float32)[within]
    light: Light = np.asarray(cv2.blur(light_on(copy.rgb, matrix), (3, 3)), np.float32)[within]
    low, high = np.quantile(smooth, SPREAD)
    return Backing(
        hue_deg=hue_of(colour, matrix),
        chroma_percent=100 * math.hypot(cb, cr) / FULL_CHROMA,
        luma_percent=100 * float(luma),
        evenness_stops=span_in_stops(light),
        evenness_percent=100 * float((high - low) / max(float(smooth.mean()), 1e-3)),
        noise_percent=100 * _noise(planes, within, copy.step),
        rgb=colour,
        share_percent=100 * float(mask.mean()),
        reasons=tuple(why),
    )


def _noise(planes: Planes, within: Mask, step: int) -> float:
    """Grain: what 8 x 8 blocks of sure backing hold beyond their rows' and columns' means."""
    size = 8
    rows, cols = planes.shape[1] // size, planes.shape[2] // size
    if rows == 0 or cols == 0:
        return 0.0
    tops, lefts = np.mgrid[0:rows, 0:cols] * size
    inside = np.ones((rows, cols), np.bool_)
    for down in (0, size - 1):
        for across in (0, size - 1):
            inside &= within[(tops + down) // step, (lefts + across) // step]
    tops, lefts = tops[inside], lefts[inside]
    if tops.size == 0:
        return 0.0
    chosen = np.linspace(0, tops.size - 1, min(600, tops.size)).astype(np.int64)
    down = tops[chosen][:, None, None] + np.arange(size)[:, None]
    across = lefts[chosen][:, None, None] + np.arange(size)
    blocks = planes[:, down, across]
    blocks = blocks - blocks.mean(2, keepdims=True) - blocks.mean(3, keepdims=True)
    blocks += -blocks.mean((2, 3), keepdims=True)
    variance = (blocks**2).sum((2, 3)) / (size - 1) ** 2
    return float(math.sqrt(np.median(variance.mean(0))))
