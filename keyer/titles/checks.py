"""Every check of a drawn title, over the picture that actually lies behind it."""

from __future__ import annotations

from collections.abc import Sequence
from fractions import Fraction
from typing import NamedTuple

import numpy as np

from keyer.kinds.arrays import Planes
from keyer.kinds.verdicts import Verdict
from keyer.measure.legibility import (
    Contrast,
    judge_contrast,
    judge_largest_letters,
    judge_letter_height,
    judge_reading_time,
    judge_safe_area,
    relative_luminance,
    worst_contrast,
)
from keyer.measure.safe_areas import SafeArea
from keyer.measure.title_rules import NO_RULES, TitleRules, Zone
from keyer.titles.ink import Canvas, Coverage
from keyer.titles.layers import Drawn, Layer, bounds, flatten
from keyer.titles.moving import TimedTitle

_SEEN = 1 / 64
"""Coverage from which something is seen in a zone that has to stay free; ours."""


def check_title(
    drawn: Drawn,
    background: Planes | None,
    *,
    safe: str,
    rules: TitleRules = NO_RULES,
    text: str = "",
    on_screen: Fraction | float | None = None,
) -> list[Verdict]:
    """Check a title.

    Parameters
    ----------
    drawn : Drawn
    background : (3, H, W) float32 or None
        The picture behind it, of the canvas's size, R'G'B' nominal 0..1; None
        leaves the contrast out.
    safe : str
        A key of `SAFE_AREAS`.
    rules : TitleRules
        What somebody asks besides; their safe area goes before `safe`.
    text : str
        All that there is to read.
    on_screen : Fraction or float, optional
        Seconds in which the title is fully there; None leaves reading time out.
    """
    letters = [layer for layer in drawn.layers if layer.role == "letters" and layer.opacity > 0]
    stands = check_place(drawn, rules.safe or safe, rules)
    if not letters:
        return stands
    verdicts = []
    if background is not None:
        contrast = title_contrast(drawn, letters, background)
        verdicts += [judge_contrast(contrast)] if contrast else []
    sizes = [layer.size for layer in letters]
    verdicts.append(judge_letter_height(min(sizes), rules.smallest))
    if rules.largest is not None:
        verdicts.append(judge_largest_letters(max(sizes), rules.largest))
    verdicts += stands
    if on_screen is not None:
        verdicts.append(judge_reading_time(text, on_screen))
    return verdicts


def check_place(drawn: Drawn, safe: str | SafeArea, rules: TitleRules) -> list[Verdict]:
    """Check where a title stands: in the safe area, and out of what has to stay free.

    Parameters
    ----------
    drawn : Drawn
    safe : str or SafeArea
    rules : TitleRules
    """
    inside = None if drawn.moving else check_safe_area(drawn, safe)
    return [one for one in (inside, check_zones(drawn, rules)) if one]


class Reading(NamedTuple):
    """What there is to read at a stretch: words, and the frames of the title that it is there."""

    words: str
    first: int
    last: int

    def seconds(self, rate: Fraction) -> Fraction:
        """Seconds that it is there; 0 where the last frame lies before the first."""
        return Fraction(max(self.last - self.first + 1, 0)) / rate


def readings(title: TimedTitle, on_air: int, ends: tuple[int, int]) -> list[Reading]:
    """List the stretches of a title in which there is something to read.

    Parameters
    ----------
    title : TimedTitle
    on_air : int
        Frames that it is shown.
    ends : tuple of two ints
        Of those, at the start and the end, in which a transition of the sheet
        brings it in and takes it out.

    Returns
    -------
    list of Reading
        A line can be read from when it is fully there: it and all that come
        after it have to be read until the first of them goes.
    """
    return [
        Reading(words, max(first, ends[0]), min(last, on_air - ends[1] - 1))
        for words, first, last in title.readings(on_air)
    ]


def hardest(found: Sequence[Reading], rate: Fraction) -> Reading:
    """Choose the stretch that leaves the least time to read it; an empty one without any."""

    def hardness(one: Reading) -> tuple[int, float]:
        seconds = one.seconds(rate)
        verdict = judge_reading_time(one.words, seconds).verdict
        return ("holds", "watch", "fails").index(verdict), -float(seconds)

    return max(found, key=hardness, default=Reading("", 0, -1))


def check_safe_area(drawn: Drawn, safe: str | SafeArea) -> Verdict | None:
    """Check that letters and pictures of a title lie in the safe area.

    Parameters
    ----------
    drawn : Drawn
    safe : str or SafeArea
        A key of `SAFE_AREAS`, or an area of one's own.

    Returns
    -------
    Verdict or None
        That of what lies farthest outside; None where nothing is to be seen. A
        picture that reaches the edge of the frame is taken for a ground.
    """
    canvas = drawn.canvas
    verdicts = [
        judge_safe_area(
            layer.mark.coverage,
            layer.mark.left,
            layer.mark.top,
            (canvas.width, canvas.height),
            safe,
        )
        for layer in drawn.layers
        if layer.opacity > 0
        and (layer.role == "letters" or (layer.role == "picture" and not _bleeds(layer, canvas)))
    ]
    return max(verdicts, key=lambda verdict: verdict.value, default=None)


def check_zones(drawn: Drawn, rules: TitleRules) -> Verdict | None:
    """Check that a title keeps free what has to stay free.

    Returns
    -------
    Verdict or None
        How much of the zone is covered that is covered most; None without
        zones. What fills all of the picture is a ground, and a shadow is not seen.
    """
    covered = {zone.name: _covered(drawn, zone) for zone in rules.zones}
    if not covered:
        return None
    worst = round(max(covered.values()), 2)
    if not worst:
        return Verdict("title.zone", 0.0, "% of the zone", "holds")
    names = " and ".join(name for name, share in covered.items() if share)
    remedy = f"Keep the {names} free: move the title, shorten it, or let it wrap."
    return Verdict("title.zone", worst, "% of the zone", "fails", remedy)


def _covered(drawn: Drawn, zone: Zone) -> float:
    """Percent of a zone that a title covers."""
    canvas, place = drawn.canvas, zone.place
    left, right = (
        round(part * canvas.width / 100) for part in (place.left, place.left + place.width)
    )
    top, bottom = (
        round(part * canvas.height / 100) for part in (place.top, place.top + place.height)
    )
    seen = np.zeros((max(bottom - top, 1), max(right - left, 1)), np.bool_)
    for layer in drawn.layers:
        rows, columns = layer.mark.coverage.shape
        ground = rows >= canvas.height and columns >= canvas.width
        if layer.role != "shadow" and layer.opacity > 0 and not (ground and layer.role == "panel"):
            seen |= _cover(layer, (left, top, left + seen.shape[1], top + seen.shape[0])) > _SEEN
    return 100 * float(seen.mean())


def _bleeds(layer: Layer, canvas: Canvas) -> bool:
    """Whether a layer reaches the edge of the frame."""
    mark = layer.mark
    rows, columns = mark.coverage.shape
    bottom, right = mark.top + rows, mark.left + columns
    return mark.left <= 0 or mark.top <= 0 or right >= canvas.width or bottom >= canvas.height


def title_contrast(drawn: Drawn, letters: list[Layer], background: Planes) -> Contrast | None:
    """Find the worst contrast of all letters, each against what lies around it.

    Parameters
    ----------
    drawn : Drawn
    letters : list of Layer
    background : (3, H, W) float32

    Returns
    -------
    Contrast or None
        Its place counts from the picture's top left corner.
    """
    found = []
    ground = [layer for layer in drawn.layers if layer.role != "letters"]
    for layer in letters:
        height = layer.size * drawn.canvas.unit
        left, top, right, bottom = bounds([layer.mark], drawn.canvas)
        margin = round(height / 2)
        box = (
            max(left - margin, 0),
            max(top - margin, 0),
            min(right + margin, drawn.canvas.width),
            min(bottom + margin, drawn.canvas.height),
        )
        under = np.array(background[:, box[1] : box[3], box[0] : box[2]], dtype=np.float32)
        behind = _over(ground, box, under)
        cover = _cover(layer, box)
        worst = worst_contrast(_luminance(layer, behind, cover), behind, cover, height)
        if worst:
            found.append(Contrast(worst.ratio, worst.x + box[0], worst.y + box[1]))
    return min(found, key=lambda contrast: contrast.ratio, default=None)


def _luminance(layer: Layer, behind: Planes, cover: Coverage) -> float | Coverage:
    """Relative luminance of letters; see-through ones let what is behind them shine through."""
    colour = np.array(layer.colour, np.float32)[:, np.newaxis, np.newaxis]
    if layer.opacity == 1:
        return float(relative_luminance(colour)[0, 0])
    return relative_luminance(behind + np.float32(layer.opacity) * cover * (colour - behind))


def _cover(layer: Layer, box: tuple[int, int, int, int]) -> Coverage:
    """Coverage of a layer in a part of the picture."""
    left, top, right, bottom = box
    cover = np.zeros((bottom - top, right - left), np.float32)
    mark = layer.mark
    rows, columns = mark.coverage.shape
    y0, y1 = max(mark.top, top), min(mark.top + rows, bottom)
    x0, x1 = max(mark.left, left), min(mark.left + columns, right)
    if y0 < y1 and x0 < x1:
        part = mark.coverage[y0 - mark.top : y1 - mark.top, x0 - mark.left : x1 - mark.left]
        cover[y0 - top : y1 - top, x0 - left : x1 - left] = part
    return cover


def _over(layers: list[Layer], box: tuple[int, int, int, int], under: Planes) -> Planes:
    planes, alpha = flatten(layers, box)
    laid: Planes = under + alpha * (planes - under)
    return laid
