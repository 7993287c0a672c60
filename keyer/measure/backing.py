"""Where the backing of a key plate is, and what it is like.

The survey works on a small copy of the picture: it looks for a wall of one hue
and one purity (`keyer.measure.areas`), and measures its hue, chroma, luma,
evenness and noise. A picture without one is refused, with the area that would
be taken if the person agrees.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Any

import cv2
import numpy as np
from numpy.typing import NDArray

from keyer.errors import NoBackingError, SettingError
from keyer.kinds.arrays import Mask, Planes
from keyer.kinds.picture import Matrix
from keyer.kinds.ranges import check_setting
from keyer.kinds.settings import KeySettings, Rgb
from keyer.measure.areas import find_areas, spot_on
from keyer.measure.hues import bar_hue, hue_distance, hue_name
from keyer.measure.plate import LEAST_CHROMA, SmallCopy, inner, small_copy, sure_backing
from keyer.measure.stops import SPREAD, Light, light_on, span_in_stops
from keyer.measure.walls import why_no_wall
from keyer.pixel.colour.luma_chroma import FULL_CHROMA, hue_of, rgb_to_ycc

WARM_HUES = (60.0, 180.0)
"""Hues of skin, hair and wood: never taken for a backing unless named."""

LEAST_OFFERED = 0.02
"""Share of the picture from which an area that is no wall is offered as a sample."""

Sample = tuple[int, int, int, int]


@dataclass(frozen=True)
class Backing:
    """Colour, evenness and noise of the backing that was found in a plate.

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
        If there is no wall of one hue and one purity; its `sample` is the area that
        is most like one, if there is any.
    SettingError
        If `hue` is unknown or `sample` lies outside the picture.
    """
    copy = small_copy(planes, matrix)
    if sample is not None:
        colour, why = _sampled(planes, sample, matrix)
    else:
        colour, why = _searched(planes, copy, matrix, hue)
    mask = sure_backing(copy, colour, matrix)
    if not mask.any():
        raise NoBackingError(_none_found("no even area has the colour of the sample"))
    return _measure(planes, copy, mask, matrix, why)


def _wanted(hue: str | float, matrix: Matrix) -> tuple[float, float] | None:
    """Middle and half width of the hues asked for; None for all but the warm ones."""
    if isinstance(hue, str):
        if hue == "auto":
            return None
        if hue in ("green", "blue"):
            return bar_hue(hue, matrix), 50.0
        demand = f"must be auto, green, blue or an angle in degrees, got {hue!r}."
        raise SettingError(demand, "hue")
    return check_setting(KeySettings, "hue_deg", hue) % 360.0, 30.0


def _searched(
    planes: Planes, copy: SmallCopy, matrix: Matrix, hue: str | float
) -> tuple[Rgb, list[str]]:
    wanted = _wanted(hue, matrix)
    found = find_areas(copy, matrix)
    if wanted is None:
        low, high = WARM_HUES
        fitting = [area for area in found if not low <= area.hue_deg <= high]
    else:
        fitting = [area for area in found if hue_distance(area.hue_deg, wanted[0]) <= wanted[1]]
    faults = [why_no_wall(area, found, named=wanted is not None) for area in fitting]
    if "" not in faults:
        fault = faults[0] if faults else "no area has a saturated hue that could be one"
        likely = next((area for area in fitting + found if area.share >= LEAST_OFFERED), None)
        sample = spot_on(likely, copy, *planes.shape[1:]) if likely else None
        raise NoBackingError(_none_found(fault, sample), sample)
    best = fitting[faults.index("")]
    colour = _median(copy.rgb, inner(best.mask))
    how = "found" if wanted is None else "looked for and found"
    name = hue_name(hue_of(colour, matrix), matrix)
    return colour, [
        (
            f"Backing {how} at {hue_of(colour, matrix):.0f} degrees ({name}): the largest area of"
            f" one hue and one purity, {100 * best.share:.0f} % of the picture and"
            f" {100 * float(best.mask[copy.border].mean()):.0f} % of its border."
        )
    ]


def _sampled(planes: Planes, sample: Sample, matrix: Matrix) -> tuple[Rgb, list[str]]:
    left, top, width, height = sample
    rows, cols = planes.shape[1:]
    if width < 1 or height < 1 or left < 0 or top < 0 or left + width > cols or top + height > rows:
        demand = (
            f"must lie inside the picture of {cols} x {rows} pixels,"
            f" got {left},{top},{width},{height} (x, y, width, height)."
        )
        raise SettingError(demand, "sample")
    area = planes[:, top : top + height, left : left + width]
    colour = _median(area, np.ones(area.shape[1:], np.bool_))
    _, cb, cr = rgb_to_ycc(np.array(colour, np.float32), matrix)
    if not math.hypot(cb, cr) >= LEAST_CHROMA:
        raise NoBackingError(
            _none_found(f"the sample's chroma is {100 * math.hypot(cb, cr) / FULL_CHROMA:.0f} %")
        )
    return colour, [f"Backing taken from the sample of {width} x {height} pixels."]


def _none_found(why: str, sample: Sample | None = None) -> str:
    spot = "name a spot of it with a sample area (x, y, width, height)."
    if sample is not None:
        x, y, width, height = sample
        spot = f"name the sample area {x},{y},{width},{height} (x, y, width, height) if it is one."
    shoot = "Shoot before an evenly lit green or blue backing, or"
    return f"picture shows no backing: {why}. {shoot} {spot}"


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
    tiles = planes[:, : rows * size, : cols * size].reshape(3, rows, size, cols, size)
    blocks = tiles[:, tops[chosen] // size, :, lefts[chosen] // size].swapaxes(0, 1)
    blocks = blocks - blocks.mean(2, keepdims=True) - blocks.mean(3, keepdims=True)
    blocks += -blocks.mean((2, 3), keepdims=True)
    variance = (blocks**2).sum((2, 3)) / (size - 1) ** 2
    return float(math.sqrt(np.median(variance.mean(0))))
