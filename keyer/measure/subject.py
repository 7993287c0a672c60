"""The subject's hues against a backing: what would be keyed out with it, and what to hang instead.

Works on a key plate, where the light of the backing on the subject is taken
off first, and on any photograph of a product or a costume before the shoot.
"""

from __future__ import annotations

from dataclasses import asdict, dataclass, replace
from typing import Any

import numpy as np

from keyer.kinds.arrays import Mask, Plane, Planes
from keyer.kinds.limits import LIMITS
from keyer.kinds.picture import Matrix
from keyer.kinds.ranges import check_setting
from keyer.kinds.settings import KeySettings
from keyer.kinds.verdicts import Verdict, judge
from keyer.measure.hues import BARS, bar_hue, hue_distance, hue_name
from keyer.measure.subject_pixels import SubjectPixels
from keyer.pixel.colour.luma_chroma import hue_axes, rgb_to_ycc
from keyer.pixel.colour.weigh import weigh
from keyer.pixel.keys.wedge import wedge_slope

USUAL_ACCEPTANCE_DEG = 120.0
"""Acceptance angle in which a subject should have nothing: 60 degrees to either side."""

COLOURED = 0.04
"""Chroma from which a pixel counts as coloured (8 % of full chroma)."""

LOST = 0.03
"""Component inside the wedge from which a key begins to eat a pixel (6 % of full chroma)."""

NEAREST_SHARE = 0.002
"""Share of the subject that must be nearer for a hue to count as the nearest."""

AS_GOOD = LIMITS["subject.clash"].watch
"""Clash in percent of the subject up to which one backing is as good as another."""

BINS = 36


@dataclass(frozen=True)
class SubjectHues:
    """A subject's hues and what they mean for the backing.

    Attributes
    ----------
    hue_deg : float or None
        Hue of the backing that was asked about; None before the shoot.
    clash_percent : float
        Part of the subject inside the acceptance angle of that backing, or of
        the best one.
    nearest_hue_deg, nearest_angle_deg : float
        Hue of the subject nearest to that backing, and its distance; the
        opposite hue, 180, for a subject without hues.
    best : str
        Backing that serves this subject best: green, blue, or another hue's name.
    best_hue_deg, best_clash_percent : float
    green_clash_percent, blue_clash_percent : float
    neutral_percent : float
        Part of the subject that has no hue to speak of.
    hues_percent : tuple of 36 floats
        Part of the subject at each 10 degrees of the vectorscope.
    reasons : tuple of str
        The same in sentences.
    """

    hue_deg: float | None
    clash_percent: float
    nearest_hue_deg: float
    nearest_angle_deg: float
    best: str
    best_hue_deg: float
    best_clash_percent: float
    green_clash_percent: float
    blue_clash_percent: float
    neutral_percent: float
    hues_percent: tuple[float, ...]
    reasons: tuple[str, ...]

    @property
    def coloured(self) -> bool:
        """Whether enough of the subject has a hue for one to be the nearest."""
        return self.neutral_percent <= 100 * (1 - NEAREST_SHARE)

    def as_dict(self) -> dict[str, Any]:
        """As plain data for JSON."""
        return asdict(self)


@dataclass(frozen=True, eq=False)
class _Colours:
    """The subject's pixels: luma left out, chroma and hue."""

    cb: Plane
    cr: Plane
    chroma: Plane
    hue: Plane


def survey_pixels(
    subject: SubjectPixels,
    matrix: Matrix,
    hue_deg: float | None = None,
    acceptance_deg: float = USUAL_ACCEPTANCE_DEG,
) -> SubjectHues:
    """Look for the hues of a subject that is known pixel by pixel.

    Parameters
    ----------
    subject : SubjectPixels
    matrix : {"bt601", "bt709"}
    hue_deg : float, optional
        Hue of its backing; without it the best one is looked for.
    acceptance_deg : float
    """
    check_setting(KeySettings, "acceptance_deg", acceptance_deg)
    return _judged(_colours(subject.colours, matrix), hue_deg, acceptance_deg, matrix)


def clash_mask(
    subject: SubjectPixels,
    hue_deg: float,
    matrix: Matrix,
    acceptance_deg: float = USUAL_ACCEPTANCE_DEG,
) -> Mask:
    """Show which pixels of a subject a backing would take with it.

    Parameters
    ----------
    subject : SubjectPixels
    hue_deg : float
        Hue of the backing.
    matrix : {"bt601", "bt709"}
    acceptance_deg : float

    Returns
    -------
    (h, w) bool
    """
    shown = clash_map(subject.planes, hue_deg, matrix, acceptance_deg)
    return np.asarray((shown > 200 * LOST) & subject.inside, np.bool_)


def clash_map(
    planes: Planes, hue_deg: float, matrix: Matrix, acceptance_deg: float = USUAL_ACCEPTANCE_DEG
) -> Plane:
    """Show where a picture has the hue of a backing, e.g. to make a hold-in matte of it.

    Parameters
    ----------
    planes : (3, H, W) float32
    hue_deg : float
        Hue of the backing.
    matrix : {"bt601", "bt709"}
    acceptance_deg : float

    Returns
    -------
    (H, W) float32
        Chroma inside the wedge in percent of full chroma.
    """
    axes = hue_axes(hue_deg, matrix)
    slope = np.float32(wedge_slope(acceptance_deg))
    inside = weigh(planes, axes.along) - slope * np.abs(weigh(planes, axes.across))
    return np.asarray(np.maximum(inside, 0) * np.float32(200), np.float32)


def judge_subject(found: SubjectHues) -> Verdict:
    """Judge how much of a subject a backing would take with it."""
    instead = (
        f"hang a {found.best} backing"
        if found.best_clash_percent + AS_GOOD < found.clash_percent
        else "no other backing serves it better"
    )
    return judge(
        "subject.clash",
        found.clash_percent,
        f"Change what has the backing's hue, or {instead}; where it must stay, hold it in"
        " with a mask.",
    )


def _colours(rgb: Planes, matrix: Matrix) -> _Colours:
    _, cb, cr = rgb_to_ycc(rgb, matrix)
    hue = np.degrees(np.arctan2(cr, cb)) % 360.0
    return _Colours(cb, cr, np.hypot(cb, cr), hue)


def _clash(colours: _Colours, hue_deg: float, acceptance_deg: float) -> float:
    """Percent of the subject that lies inside the wedge about a hue."""
    if colours.chroma.size == 0:
        return 0.0
    turned = np.radians(colours.hue - np.float32(hue_deg))
    slope = np.float32(wedge_slope(acceptance_deg))
    inside = colours.chroma * (np.cos(turned) - slope * np.abs(np.sin(turned)))
    return 100 * float((inside > LOST).mean())


def _best(colours: _Colours, acceptance_deg: float, matrix: Matrix) -> tuple[str, float, float]:
    """Name, hue and clash of the backing to hang: green, else blue, else the freest hue."""
    usual = [(name, bar_hue(name, matrix)) for name in ("green", "blue")]
    clashes = [(name, hue, _clash(colours, hue, acceptance_deg)) for name, hue in usual]
    wheel = [float(angle) for angle in range(0, 360, 10)]
    freest = min(wheel, key=lambda angle: _clash(colours, angle, acceptance_deg))
    least = _clash(colours, freest, acceptance_deg)
    clashes.append((_other_name(freest, matrix), freest, least))
    return next(item for item in clashes if item[2] <= least + AS_GOOD)


def _other_name(hue_deg: float, matrix: Matrix) -> str:
    """Name a hue that is neither the usual green nor the usual blue."""
    first, second = sorted(BARS, key=lambda name: hue_distance(hue_deg, bar_hue(name, matrix)))[:2]
    return f"{first}-{second}" if first in ("green", "blue") else first


def _judged(
    colours: _Colours, hue_deg: float | None, acceptance_deg: float, matrix: Matrix
) -> SubjectHues:
    coloured = colours.chroma >= COLOURED
    bins = (colours.hue[coloured] / (360 / BINS)).astype(np.int64) % BINS
    total = max(1, colours.chroma.size)
    hues = 100 * np.bincount(bins, minlength=BINS) / total
    best, best_hue, best_clash = _best(colours, acceptance_deg, matrix)
    about = best_hue if hue_deg is None else hue_deg
    clash = _clash(colours, about, acceptance_deg)
    nearest_hue, nearest_angle = _nearest(colours.hue[coloured], about, total)
    found = SubjectHues(
        hue_deg=hue_deg,
        clash_percent=clash,
        nearest_hue_deg=nearest_hue,
        nearest_angle_deg=nearest_angle,
        best=best,
        best_hue_deg=best_hue,
        best_clash_percent=best_clash,
        green_clash_percent=_clash(colours, bar_hue("green", matrix), acceptance_deg),
        blue_clash_percent=_clash(colours, bar_hue("blue", matrix), acceptance_deg),
        neutral_percent=100 * float((~coloured).sum() / total),
        hues_percent=tuple(float(share) for share in hues),
        reasons=(),
    )
    if colours.chroma.size == 0:
        return replace(found, reasons=("No subject is in the picture.",))
    return replace(found, reasons=_sentences(found, acceptance_deg, matrix))


def _nearest(hues: Plane, about: float, total: int) -> tuple[float, float]:
    """Hue nearest to a backing that enough of the subject has, and its distance."""
    if hues.size < max(1, NEAREST_SHARE * total):
        return (about + 180.0) % 360.0, 180.0
    apart = hue_distance(hues, about)
    index = min(hues.size - 1, int(NEAREST_SHARE * total))
    order = np.argpartition(apart, index)
    return float(hues[order[index]]), float(apart[order[index]])


def _sentences(found: SubjectHues, acceptance_deg: float, matrix: Matrix) -> tuple[str, ...]:
    lines = []
    if found.hue_deg is not None:
        lines.append(
            f"{found.clash_percent:.1f} % of the subject lies within {acceptance_deg / 2:.0f}"
            f" degrees of the backing's hue; {_distance(found, matrix)}."
        )
    lines.append(
        f"A green backing would take {found.green_clash_percent:.1f} % of the subject with it,"
        f" a blue one {found.blue_clash_percent:.1f} %."
    )
    lines.append(_advice(found))
    return tuple(lines)


def _distance(found: SubjectHues, matrix: Matrix) -> str:
    if not found.coloured:
        return "it has next to no hue of its own"
    name = hue_name(found.nearest_hue_deg, matrix)
    return f"its nearest hue is {found.nearest_angle_deg:.0f} degrees away ({name})"


def _advice(found: SubjectHues) -> str:
    """Say which backing to hang, or that the one that hangs may stay."""
    if found.hue_deg is not None and found.clash_percent <= found.best_clash_percent + AS_GOOD:
        return "No other backing serves this subject better."
    named = f"{found.best} backing"
    if found.best not in ("green", "blue"):
        named += f" (about {found.best_hue_deg:.0f} degrees)"
    if found.best_clash_percent <= AS_GOOD:
        first = "" if found.best in ("green", "blue") else "Neither green nor blue will do. "
        return f"{first}Hang a {named}."
    return (
        f"No backing is free of the subject's hues; a {named} takes least"
        f" ({found.best_clash_percent:.1f} %): hold the rest in with a mask."
    )
