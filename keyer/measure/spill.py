"""How much of the backing's colour the subject carries.

Definitions, formulas and sources: `docs/measures.md`.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from keyer.kinds.picture import Matrix, Planes
from keyer.kinds.verdicts import Verdict, judge
from keyer.pixel.colour import FULL_CHROMA
from keyer.pixel.spill import spill_of

SUBJECT = 0.5
"""Matte from which a pixel counts as subject."""

VISIBLE_PERCENT = 3.0
"""Spill of a pixel, in percent of full chroma, from which it counts as tinted."""

FAILS_PERCENT = 12.0
"""Percent of full chroma beyond which spill fails; ours."""


@dataclass(frozen=True)
class Spill:
    """Spill on a subject, in percent of full chroma.

    Attributes
    ----------
    mean_percent : float
        Mean over the subject, weighted by the matte.
    p95_percent : float
        95th percentile over the subject.
    area_percent : float
        Percent of the subject's area that is visibly tinted.
    """

    mean_percent: float
    p95_percent: float
    area_percent: float


def measure_spill(
    colour: Planes, matte: NDArray[np.float32], hue_deg: float, matrix: Matrix
) -> Spill:
    """Measure the spill on a subject.

    Parameters
    ----------
    colour : (3, H, W) float32
        Straight R'G'B'.
    matte : (H, W) float32 in [0, 1]
        1 = subject.
    hue_deg : float
        Key hue on the vectorscope.
    matrix : {"bt601", "bt709"}

    Returns
    -------
    Spill
        All zero where there is no subject.
    """
    here = np.flatnonzero(matte >= SUBJECT)
    if here.size == 0:
        return Spill(0.0, 0.0, 0.0)
    spill = spill_of(colour.reshape(3, 1, -1).take(here, 2), hue_deg, matrix)[0]
    percent = np.float32(100.0 / FULL_CHROMA) * spill
    weight = matte.reshape(-1)[here]
    return Spill(
        mean_percent=float(np.average(percent, weights=weight)),
        p95_percent=float(np.percentile(percent, 95)),
        area_percent=float(100.0 * np.mean(percent > VISIBLE_PERCENT)),
    )


def judge_spill(spill: Spill, name: str = "spill.after") -> Verdict:
    """Judge the spill that is left on a subject by its 95th percentile.

    Parameters
    ----------
    spill : Spill
    name : str
        Name of the measure in the verdict.

    Returns
    -------
    Verdict
    """
    return judge(
        name,
        spill.p95_percent,
        "% of full chroma",
        watch=VISIBLE_PERCENT,
        fails=FAILS_PERCENT,
        remedy="Raise the spill amount; move the subject two to three metres from the backing and "
        "light the backing less.",
    )
