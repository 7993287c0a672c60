"""Verdicts on a backing, in the words of the trade.

Limits and their sources: `docs/measures.md`.
"""

from __future__ import annotations

from keyer.kinds.verdicts import Verdict, judge
from keyer.measure.backing import Backing


def judge_backing(backing: Backing) -> list[Verdict]:
    """Judge a backing's light, noise and colour."""
    return [
        judge(
            "backing.evenness",
            backing.evenness_stops,
            "Light the backing more evenly, to a third of a stop: spread the lights, "
            "feather their edges, iron out folds.",
        ),
        judge(
            "backing.noise",
            backing.noise_percent,
            "Lower the camera's gain and give the backing more light.",
        ),
        judge(
            "backing.chroma",
            backing.chroma_percent,
            "The backing is pale or dark: light it by itself, half a stop below the "
            "subject, and use a purer paint or cloth.",
        ),
    ]
