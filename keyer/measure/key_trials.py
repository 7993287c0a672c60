"""Which setting helps a key whose matte does not hold: tried on the very picture, not supposed."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Literal

from keyer.kinds.verdicts import Judgement, Verdict

Way = Literal["fast", "fine", "level"]
"""What makes a matte: a fast or a fine chroma key, or the level of a picture."""

Settings = Mapping[str, float]
"""Values by name: `gain`, `clip_percent`, `acceptance_deg`, `fill_holes`, `drop_specks`."""

TRIED = ("coverage.holes", "coverage.specks", "coverage.edge_width")
"""Measures for which settings are tried."""

WORTH = 0.9
"""Share of its value to which a setting must bring a measure to be worth a word."""

_WORDS = {
    "gain": "gain {:g}",
    "clip_percent": "clip {:g} %",
    "acceptance_deg": "acceptance {:g}°",
    "fill_holes": "holes filled up to {:g} px",
    "drop_specks": "specks dropped up to {:g} px",
}
_WORSE: dict[Judgement, int] = {"holds": 0, "watch": 1, "fails": 2}
_LINES = 1080
_AREAS = (30.0, 100.0)
"""Areas at 1080 lines, in pixels, up to which holes are filled and specks dropped in a trial."""


def candidates(measure: str, way: Way, used: Settings, height: int) -> Iterator[dict[str, float]]:
    """List the changes that may help a measure, the gentle ones first.

    Parameters
    ----------
    measure : str
        One of `TRIED`.
    way : {"fast", "fine", "level"}
    used : mapping
        Settings as they are; what is missing is not a setting of this key.
    height : int
        Rows of the picture.

    Yields
    ------
    dict
        One setting and its value.
    """
    gain, clip, wedge = (used.get(name) for name in ("gain", "clip_percent", "acceptance_deg"))
    if measure == "coverage.specks":
        if clip is not None:
            yield from ({"clip_percent": round(min(clip + more, 95.0), 1)} for more in (5, 15))
        if way == "fast" and wedge is not None and wedge < 180:
            yield {"acceptance_deg": round(min(1.2 * wedge, 180.0), 0)}
        yield from _areas("drop_specks", used, height)
        return
    if gain is not None:
        yield from ({"gain": round(min(more * gain, 50.0), 2)} for more in (1.3, 2.0))
    if measure == "coverage.holes":
        if way == "fast" and wedge is not None:
            yield from (
                {"acceptance_deg": round(max(less * wedge, 10.0), 0)} for less in (0.8, 0.6)
            )
        if way == "level" and clip:
            yield from ({"clip_percent": round(less * clip, 1)} for less in (0.5, 0.0))
        yield from _areas("fill_holes", used, height)


def _areas(name: str, used: Settings, height: int) -> Iterator[dict[str, float]]:
    for area in _AREAS:
        pixels = float(max(round(area * (height / _LINES) ** 2), 1))
        if pixels > used.get(name, 0.0):
            yield {name: pixels}


@dataclass(frozen=True)
class Trial:
    """A change that helps a measure, and what the measure is with it."""

    change: Settings
    value: float


def best_trial(
    bad: Verdict,
    verdicts: Sequence[Verdict],
    changes: Iterable[Settings],
    judged: Callable[[Settings], Sequence[Verdict]],
) -> Trial | None:
    """Try changes of a key on a measure that does not hold.

    Parameters
    ----------
    bad : Verdict
        Of one of `TRIED`.
    verdicts : sequence of Verdict
        Of the same key as it is, on coverage.
    changes : iterable of mapping
        From `candidates`.
    judged : callable
        Keys the picture with some settings changed, and judges the matte's coverage.

    Returns
    -------
    Trial or None
        The first change with which the measure holds, else the one that brings it down
        most; none that brings another measure to a worse verdict.
    """
    before = {one.measure: _WORSE[one.verdict] for one in verdicts}
    best = None
    for change in changes:
        after = judged(change)
        now = next(one for one in after if one.measure == bad.measure)
        spoilt = any(_WORSE[one.verdict] > before.get(one.measure, 0) for one in after)
        if spoilt or now.value > (WORTH * bad.value if best is None else best.value):
            continue
        best = Trial(change, now.value)
        if now.verdict == "holds":
            break
    return best


def change_words(change: Settings) -> str:
    """Write a change of one setting in words: `gain 2`."""
    return ", ".join(_WORDS[name].format(value) for name, value in change.items())


def proven(bad: Verdict, trial: Trial | None, when: str = "on this picture") -> Verdict:
    """Add to the remedy of a measure what was tried and helps.

    Parameters
    ----------
    bad : Verdict
        That does not hold.
    trial : Trial or None
        From `best_trial`.
    when : str
        Which picture it is, for the words.
    """
    if trial is None:
        return replace(bad, remedy=f"{bad.remedy} No setting that was tried {when} helps.")
    words = f"with {change_words(trial.change)} it is {trial.value:.2g} {bad.unit}"
    return replace(bad, remedy=f"{bad.remedy} Tried {when}: {words}.")
