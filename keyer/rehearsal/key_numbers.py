"""What the page says of a key while it is being set: what was found, and what holds."""

from __future__ import annotations

import json
from typing import Any

from keyer.errors import NoBackingError
from keyer.render.plan import Plan
from keyer.report.key_checks import LIMITS, judge_key
from keyer.report.page.finding_cards import NAMES
from keyer.report.page.scopes import vectorscope_svg, waveform_svg
from keyer.sheet.sheet import Overlay


def key_numbers(plan: Plan, path: str, frame: int) -> bytes:
    """Measure an overlay's key by one picture.

    Parameters
    ----------
    plan : Plan
        At full size: what is measured in pixels counts there.
    path : str
        Of the overlay, `overlays[0]`.
    frame : int
        Of the sheet, on which it is seen.

    Returns
    -------
    bytes
        JSON: reasons, the settings used, verdicts with remedies, and the
        scopes of the picture as recorded.
    """
    overlay = next(one for one in plan.sheet.overlays if f"overlays[{one.index}]" == path)
    said: dict[str, Any] = {"reasons": [], "used": {}, "verdicts": [], "scopes": []}
    try:
        if overlay.key is not None and overlay.key.kind == "chroma":
            choice = plan.key_choice(overlay)
            said["reasons"], said["used"] = list(choice.reasons), dict(choice.used)
            said["hue"], said["acceptance"] = (
                choice.settings.hue_deg,
                choice.settings.acceptance_deg,
            )
        said["verdicts"] = _verdicts(plan, overlay, frame)
    except NoBackingError as error:
        said["error"] = str(error)
    planes, matrix = plan.colour(plan.recorded(overlay, frame)), plan.matrix(overlay)
    said["scopes"] = [vectorscope_svg(planes, matrix), waveform_svg(planes, matrix)]
    return json.dumps(said).encode()


def _verdicts(plan: Plan, overlay: Overlay, frame: int) -> list[dict[str, Any]]:
    found = judge_key(plan, overlay, plan.subject(overlay, frame))
    return [
        {
            "measure": one.measure,
            "name": NAMES.get(one.measure, one.measure),
            "value": one.value,
            "unit": one.unit,
            "verdict": one.verdict,
            "remedy": one.remedy,
            "limit": LIMITS[one.measure].text,
        }
        for one in found
    ]
