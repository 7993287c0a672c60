"""Settings of the fast key, chosen from a plate: acceptance, clip and gain.

The clip lies just above the backing's spread (uneven light and grain), so that
the backing is clear. Acceptance and gain are chosen by trial: the plate's own
subject colours are mixed with its own backing in known parts, and the pair is
taken that reads these parts best while it keeps the core of the subject solid.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from keyer.kinds.arrays import Planes
from keyer.kinds.picture import Matrix
from keyer.kinds.settings import KeySettings
from keyer.measure.backing import Backing
from keyer.measure.plate import regions
from keyer.pixel.colour.luma_chroma import hue_axes
from keyer.pixel.keys.fast import backing_level
from keyer.pixel.keys.wedge import wedge_slope

WEDGES_DEG = (70.0, 80.0, 90.0, 100.0, 110.0, 120.0, 135.0, 150.0, 165.0, 180.0)
"""Acceptance angles that are tried."""

SOLID_POINTS = (0.98, 0.95, 0.92, 0.88, 0.84, 0.8, 0.75, 0.7, 0.65, 0.6)
"""Key signals that are tried as the level from which the matte is solid."""

SEE_THROUGH = 0.6
"""Key signal below which a core pixel is taken for see-through, not for spill."""

SAME_HUE = 0.27
"""Tangent of 15 degrees: a core pixel further from the key hue is no see-through backing."""

PARTS = np.arange(0.1, 1.0, 0.1, dtype=np.float32)
"""Known parts of the subject in the mixtures."""

TINTED = 0.8
"""Key signal above which a core pixel is taken for a subject with spill, to be made solid."""

LOOSE_CORE = 0.003
"""Share of the core that may stay below solid."""

RIM_MARGIN = 0.06
"""How much deeper the key signal dips near the edge, where spill is strongest, than in the core."""

CORE_WEIGHT = 5.0
"""How much worse an error in the core is than one at the edge."""

SAMPLES = 40_000

HUE_DECIMALS = 2
"""To which a hue is chosen, as clip and gain are: what is printed is what is used. Some pixels of a
fine key are decided one way or the other, so a hundredth of a degree is seen."""

Signal = NDArray[np.float32]


@dataclass(frozen=True)
class AutoKey:
    """Settings of a chroma key chosen from a plate, with the reasons in words.

    Attributes
    ----------
    settings : KeySettings
    reasons : tuple of str
        One sentence a setting.
    """

    settings: KeySettings
    reasons: tuple[str, ...]


def auto_settings(
    planes: Planes,
    backing: Backing,
    matrix: Matrix,
    hue_deg: float | None = None,
    spill_percent: float = 100.0,
    acceptance_deg: float | None = None,
) -> AutoKey:
    """Choose the settings of the fast key for a plate.

    Parameters
    ----------
    planes : (3, H, W) float32
        R'G'B' nominal 0..1.
    backing : Backing
        As `survey_backing` found it.
    matrix : {"bt601", "bt709"}
    hue_deg : float, optional
        Key hue; default: the backing's, to `HUE_DECIMALS`.
    spill_percent : float
        Handed on.
    acceptance_deg : float, optional
        The one angle to choose clip and gain for; default: the best of `WEDGES_DEG`.
    """
    hue = round(backing.hue_deg, HUE_DECIMALS) if hue_deg is None else hue_deg
    samples = _samples(planes, backing, hue, matrix)
    wedges = WEDGES_DEG if acceptance_deg is None else (acceptance_deg,)
    tried = [_try(samples, backing, hue, wedge, matrix) for wedge in wedges]
    best = min(tried, key=lambda trial: trial.error)
    clip, gain = round(100 * best.clip, 1), round(1 / (best.solid - best.clip), 2)
    settings = KeySettings(hue, best.wedge, clip, gain, spill_percent, backing.rgb)
    return AutoKey(settings, _reasons(best, clip, gain))


@dataclass(frozen=True, eq=False)
class _Samples:
    """Chroma along and across the key hue, (2, n), of the parts of the plate."""

    backing: Signal
    core: Signal
    mixtures: Signal
    parts: Signal
    edge_share: float


@dataclass(frozen=True)
class _Trial:
    """One wedge with the clip and solid point that serve it best."""

    wedge: float
    clip: float
    solid: float
    spread: float
    error: float
    core_error: float


def _samples(planes: Planes, backing: Backing, hue: float, matrix: Matrix) -> _Samples:
    """Take pixels with their grain from the sure backing and the core, and mix them."""
    plate = regions(planes, backing.rgb, matrix)
    stride = max(1, math.isqrt(planes[0].size // SAMPLES))
    rows = np.arange(0, planes.shape[1], stride) // plate.step
    cols = np.arange(0, planes.shape[2], stride) // plate.step
    grid = np.ix_(
        np.minimum(rows, plate.backing.shape[0] - 1), np.minimum(cols, plate.backing.shape[1] - 1)
    )
    chroma = _chroma(planes[:, ::stride, ::stride].reshape(3, -1), hue, matrix)
    sure, core, rim = (part[grid].ravel() for part in (plate.backing, plate.core, plate.rim))
    mixtures, parts = _mix(chroma[:, sure], chroma[:, rim])
    edge = float((~(sure | core)).mean())
    return _Samples(chroma[:, sure], chroma[:, core], mixtures, parts, edge / 2)


def _mix(backing: Signal, subject: Signal) -> tuple[Signal, Signal]:
    """Mix subject colours near the edge with the backing in known parts."""
    if subject.shape[1] == 0 or backing.shape[1] == 0:
        return np.zeros((2, 0), np.float32), np.zeros(0, np.float32)
    count = 3000
    pick = np.linspace(0, subject.shape[1] - 1, count).astype(np.int64)
    with_what = np.linspace(0, backing.shape[1] - 1, count).astype(np.int64) * 7919
    part = np.resize(PARTS, count)
    under = backing[:, with_what % backing.shape[1]]
    return part * subject[:, pick] + (1 - part) * under, part


def _chroma(colours: Planes, hue: float, matrix: Matrix) -> Signal:
    axes = hue_axes(hue, matrix)
    return np.array([axes.along, axes.across], np.float32) @ colours


def _try(samples: _Samples, backing: Backing, hue: float, wedge: float, matrix: Matrix) -> _Trial:
    slope = np.float32(wedge_slope(wedge))
    level = np.float32(backing_level(backing.rgb, hue, wedge, matrix))

    def signal(chroma: Signal) -> Signal:
        inside: Signal = np.maximum(chroma[0] - slope * np.abs(chroma[1]), 0)
        return 1 - inside / level

    below = signal(samples.backing)
    spread = float(np.quantile(below, 0.999)) if below.size else 0.0
    clip = min(max(spread, 0.02), 0.55)
    core, edge = signal(samples.core), signal(samples.mixtures)
    apart = np.abs(samples.core[1]) > SAME_HUE * samples.core[0]
    core = core[apart | (core > SEE_THROUGH)]
    trials = []
    tinted = core[core > TINTED]
    least = float(np.quantile(tinted, LOOSE_CORE)) - RIM_MARGIN if tinted.size else 1.0
    for solid in [point for point in SOLID_POINTS if point <= least] or SOLID_POINTS[-1:]:
        gain = 1 / max(solid - clip, 0.02)
        core_error = _square(1 - np.clip((core - clip) * gain, 0, 1))
        edge_error = _square(samples.parts - np.clip((edge - clip) * gain, 0, 1))
        core_share = samples.core.shape[1] / max(1, below.size + samples.core.shape[1])
        error = CORE_WEIGHT * core_share * core_error + samples.edge_share * edge_error
        trials.append(_Trial(wedge, clip, solid, spread, error, core_error))
    return min(trials, key=lambda trial: trial.error)


def _square(error: Signal) -> float:
    return float((error**2).mean()) if error.size else 0.0


def _reasons(best: _Trial, clip: float, gain: float) -> tuple[str, ...]:
    return (
        (
            f"Acceptance {best.wedge:.0f} degrees: of the angles tried it reads the subject's own"
            " colours mixed with the backing best."
        ),
        (
            f"Clip {clip:.0f} %: uneven light and grain of the backing reach"
            f" {100 * best.spread:.0f} % of the key signal."
        ),
        (
            f"Gain {gain:.2f}: the matte is solid from {100 * best.solid:.0f} % of the key signal,"
            " where the core of the subject lies."
        ),
    )
