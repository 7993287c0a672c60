"""Settings tried on a key of a plan, so that a remedy is one that helps this very key."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from keyer.kinds.verdicts import Verdict
from keyer.measure.key_trials import TRIED, Settings, Trial, best_trial, candidates, proven
from keyer.render.finishing import opacity
from keyer.render.key_measures import judge_matte, keyed_from
from keyer.render.plan import Plan
from keyer.render.sinks.pictures import subject
from keyer.sheet.effect import Key
from keyer.sheet.sheet import Overlay

_FINISH = ("fill_holes", "drop_specks")


def try_settings(
    plan: Plan, overlay: Overlay, frame: int, verdicts: Sequence[Verdict], when: str
) -> list[Verdict]:
    """Add to the remedies on an overlay's matte what helps on one of its frames.

    Parameters
    ----------
    plan : Plan
    overlay : Overlay
        With a key.
    frame : int
        Of the sheet.
    verdicts : sequence of Verdict
        Those of `keyer.measure.key_trials.TRIED` that do not hold are looked after, if they do
        not hold on this frame before the subject is placed.
    when : str
        Which frame it is, for the words.
    """
    found = list(verdicts)
    for index, now, trial in trials(plan, overlay, frame, verdicts):
        found[index] = replace(verdicts[index], remedy=proven(now, trial, when).remedy)
    return found


def trials(
    plan: Plan, overlay: Overlay, frame: int, verdicts: Sequence[Verdict]
) -> Iterator[tuple[int, Verdict, Trial | None]]:
    """Find the settings that help an overlay's matte on one of its frames.

    Parameters
    ----------
    plan : Plan
    overlay : Overlay
        With a key.
    frame : int
        Of the sheet.
    verdicts : sequence of Verdict
        As for `try_settings`.

    Yields
    ------
    index : int
        Of the verdict.
    now : Verdict
        Of the same measure on this frame, before the subject is placed.
    trial : Trial or None
        What helps.
    """
    key = overlay.key
    if key is None or not any(map(_looked_after, verdicts)):
        return

    plate = keyed_from(plan, overlay, frame)
    height = plan.recorded(overlay, frame).height

    def judged(changes: Settings) -> list[Verdict]:
        changed = replace(overlay, key=changed_key(key, changes))
        return judge_matte(_matte(plan, changed, frame), plate)

    now = {one.measure: one for one in judged({})}
    used = settings_of(plan, overlay, key)
    for index, verdict in enumerate(verdicts):
        if not _looked_after(verdict) or now[verdict.measure].verdict == "holds":
            continue
        bad, changes = now[verdict.measure], candidates(verdict.measure, key.way, used, height)
        yield index, bad, best_trial(bad, list(now.values()), changes, judged)


def _looked_after(verdict: Verdict) -> bool:
    return verdict.measure in TRIED and verdict.verdict != "holds"


def _matte(plan: Plan, overlay: Overlay, frame: int) -> NDArray[np.float32]:
    """Key an overlay's picture anew; what is the same is not worked out again."""
    with Plan(replace(plan.sheet, overlays=(overlay,)), plan.session) as other:
        return opacity(subject(other.keyed(overlay, frame), other.evaluator))


def changed_key(key: Key, changes: Settings) -> Key:
    """Change some settings of a key.

    Parameters
    ----------
    key : Key
    changes : mapping
        By the names that `keyer.measure.key_trials` has for them.
    """
    finish = {name: value for name, value in changes.items() if name in _FINISH}
    others = {name: value for name, value in changes.items() if name not in _FINISH}
    return replace(key, finish=replace(key.finish, **finish), **others)  # type: ignore[arg-type]


def settings_of(plan: Plan, overlay: Overlay, key: Key) -> dict[str, float]:
    """List the settings of a key as they are: asked for, chosen, or what stands without a word.

    Parameters
    ----------
    plan : Plan
    overlay : Overlay
    key : Key
        Its own.

    Returns
    -------
    dict
        By the names that `keyer.measure.key_trials` has for them.
    """
    finish = {name: getattr(key.finish, name) for name in _FINISH}
    if key.kind == "chroma":
        return {**plan.key_choice(overlay).used, **finish}
    clip = 0.0 if key.clip_percent is None else key.clip_percent
    return {"clip_percent": clip, "gain": 1.0 if key.gain is None else key.gain, **finish}
