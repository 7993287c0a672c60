"""What the page says of a row while it is being set: whether its key or its title holds."""

from __future__ import annotations

import contextlib
import json
from typing import Any

from keyer.errors import NoBackingError
from keyer.kinds.check_names import NAMES
from keyer.kinds.figures import figures
from keyer.kinds.verdicts import Verdict
from keyer.measure.key_trials import Trial, change_words
from keyer.render.key_trials import trials
from keyer.render.levels import Level
from keyer.render.plan import Plan
from keyer.render.showings import showings
from keyer.report.checks.findings import Finding
from keyer.report.checks.key_checks import LIMITS, judge_key
from keyer.report.checks.sound_checks import check_sound
from keyer.report.checks.title_checks import TitleCheck
from keyer.report.checks.view import Viewer
from keyer.report.page.finding_cards import value_words
from keyer.report.page.scopes import vectorscope_svg, waveform_svg
from keyer.sheet.sheet import Overlay, Sheet


def row_numbers(plan: Plan, path: str, frame: int) -> bytes:
    """Measure a row by one picture.

    Parameters
    ----------
    plan : Plan
        At full size: what is measured in pixels counts there.
    path : str
        Of the row, `overlays[0]`.
    frame : int
        Of the sheet, on which it is seen.

    Returns
    -------
    bytes
        JSON: reasons, the settings used, verdicts with remedies, and for a key the scopes of the
        picture as recorded.
    """
    said: dict[str, Any] = {"reasons": [], "used": {}, "verdicts": [], "scopes": []}
    for overlay in plan.sheet.overlays:
        if f"overlays[{overlay.index}]" == path and overlay.key is not None:
            said |= _of_key(plan, overlay, frame)
    said["verdicts"] += _of_title(plan, path, frame)
    return json.dumps(said).encode()


def _of_key(plan: Plan, overlay: Overlay, frame: int) -> dict[str, Any]:
    said: dict[str, Any] = {"verdicts": []}
    try:
        if overlay.key is not None and overlay.key.kind == "chroma":
            choice = plan.key_choice(overlay)
            said["reasons"], said["used"] = list(choice.reasons), dict(choice.used)
        found = judge_key(plan, overlay, frame)
        said["verdicts"] = [_verdict(one) for one in found]
    except NoBackingError as error:
        said["error"] = str(error)
    planes, matrix = plan.colour(plan.recorded(overlay, frame)), plan.matrix(overlay)
    said["scopes"] = [vectorscope_svg(planes, matrix), waveform_svg(planes, matrix)]
    return said


WRITTEN = {
    "gain": "gain",
    "clip_percent": "clip",
    "acceptance_deg": "acceptance",
    "fill_holes": "fill_holes",
    "drop_specks": "drop_specks",
}
"""Keys of a sheet by the names that trials have for them."""


def key_remedies(plan: Plan, path: str, frame: int) -> bytes:
    """Try settings on a row's key, where its matte does not hold.

    Parameters
    ----------
    plan : Plan
        At full size.
    path : str
        Of the row, `overlays[0]`.
    frame : int
        Of the sheet, on which it is seen.

    Returns
    -------
    bytes
        JSON: by measure, `words` of what helps, and the `edits` of the sheet that do it; none
        where nothing that was tried helps.
    """
    said: dict[str, Any] = {}
    for overlay in plan.sheet.overlays:
        if f"overlays[{overlay.index}]" != path or overlay.key is None:
            continue
        with contextlib.suppress(NoBackingError):
            verdicts = judge_key(plan, overlay, frame)
            for index, _, trial in trials(plan, overlay, frame, verdicts):
                said[verdicts[index].measure] = _trial(path, trial)
    return json.dumps(said).encode()


def _trial(path: str, trial: Trial | None) -> dict[str, Any]:
    if trial is None:
        return {"words": "", "edits": []}
    edits = [
        {"act": "set", "path": f"{path}.key.{WRITTEN[name]}", "value": value}
        for name, value in trial.change.items()
    ]
    return {"words": change_words(trial.change), "edits": edits}


def _verdict(one: Verdict) -> dict[str, Any]:
    return {
        "measure": one.measure,
        "name": NAMES.get(one.measure, one.measure),
        "value": f"{figures(one.measure, one.value)} {one.unit}",
        "verdict": one.verdict,
        "remedy": one.remedy,
        "limit": LIMITS[one.measure].text,
    }


def _of_title(plan: Plan, path: str, frame: int) -> list[dict[str, Any]]:
    """Judge a title on one of the frames on which it is fully there."""
    sheet = plan.sheet
    found: list[Finding] = []
    level = Level(sheet)
    for showing in showings(level):
        title = plan.title(showing.source)
        if title is None or showing.subject.partition(" ")[0] != path:
            continue
        at = min(max(frame, showing.first), max(showing.last, showing.first))
        viewer = Viewer(sheet.format, plan.evaluator)
        check = TitleCheck(level, plan, title, showing)
        check.look(viewer.view(at, plan.frame(at)))
        found += check.findings()
    return [_finding(one) for one in found]


def _finding(one: Finding) -> dict[str, Any]:
    return {
        "measure": one.check,
        "name": NAMES.get(one.check, one.check),
        "value": value_words(one),
        "verdict": one.verdict,
        "remedy": one.remedy,
        "limit": one.limit.text,
    }


def sound_numbers(sheet: Sheet) -> list[dict[str, Any]]:
    """Judge the mix of a sheet's sound: loudness, peaks, silence, ends.

    Returns
    -------
    list of dict
        Findings, as `row_numbers` gives verdicts.

    Raises
    ------
    KeyerError
        If a sound cannot be used.
    """
    return [_finding(one) for one in check_sound(sheet)[0]]
