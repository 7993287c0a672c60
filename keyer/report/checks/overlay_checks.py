"""Checks of overlays as a whole: whether anything of one is seen while it is on air."""

from __future__ import annotations

from keyer.render.finishing import opacity
from keyer.render.levels import Level, levels
from keyer.render.plan import Plan
from keyer.render.sinks.pictures import subject
from keyer.report.checks.findings import Finding, Limit, Look, Series
from keyer.report.checks.key_checks import looked_at
from keyer.report.checks.runs import Runs
from keyer.report.checks.view import View
from keyer.sheet.sheet import Overlay, Sheet

LEAST = 1 / 255
"""Cover of the base from which something is seen: one code of 8 bits."""

_SEEN = Limit("something of an overlay is in the picture while it is on air", "ours")
_STAYS = Limit("what lies over the base goes when the base goes to a colour", "ours")
_GOES = (
    "It stays on when the base has gone to its colour. Let fade_out of the sheet take everything, "
    "give it a transition_out of its own, or an earlier out."
)
_REMEDY = (
    "Nothing of it is in the picture: look at its position, which is in percent of the picture and "
    "names its middle, its scale, crop and opacity."
)


def most_cover(plan: Plan, overlay: Overlay, frame: int) -> float:
    """Find how much of the base an overlay hides where it hides the most, a wipe left out.

    Returns
    -------
    float
        0..1.
    """
    node = plan.standing(overlay, frame)
    cover = 1.0 if node.opaque else float(opacity(subject(node, plan.evaluator)).max())
    return cover * overlay.pose(frame).opacity


def check_staying(sheet: Sheet) -> list[Finding]:
    """Find overlays that stay on when the base has gone to a colour.

    Returns
    -------
    list of Finding
        The verdict is `watch`: a title over black as the last thing on air may be meant.
    """
    found: list[Finding] = []
    level = Level(sheet)
    for cue in sheet.cues:
        last = cue.at + cue.transition.length - 1
        if cue.source is not None or sheet.gone(last)[1] > 0:
            continue
        for overlay in sheet.overlays:
            there = overlay.start <= cue.at and overlay.stop > last
            if there and overlay.presence(last) is None and overlay.pose(last).opacity > 0:
                runs = Runs(sheet, "overlay.stays", "frames", _STAYS, subject=level.named(overlay))
                frames = float(overlay.stop - last)
                runs.add(Look(overlay.stop - 1, "watch", frames, remedy=_GOES, first=last))
                found += runs.findings()
    return found


class SeenCheck:
    """Overlays of which nothing is seen on any picture that is looked at, in effects as well."""

    def __init__(self, sheet: Sheet, plan: Plan) -> None:
        self._sheet, self._plan = sheet, plan
        self._unseen = [
            (level, overlay, shown)
            for level in levels(sheet)
            for overlay in level.sheet.overlays
            if (shown := looked_at(level, overlay.start, overlay.stop - 1))
        ]

    def look(self, view: View) -> None:
        """Take the next frame; an overlay that was seen once is not looked at again."""
        for one in list(self._unseen):
            level, overlay, shown = one
            if view.index not in shown:
                continue
            own = level.own(view.index)
            if most_cover(level.plan(self._plan), overlay, own) >= LEAST:
                self._unseen.remove(one)

    def findings(self) -> list[Finding]:
        """Give every overlay that was never seen; each fails."""
        found: list[Finding] = []
        for level, overlay, shown in self._unseen:
            subject = level.named(overlay)
            runs = Runs(self._sheet, "overlay.seen", "% seen", _SEEN, subject=subject)
            runs.add(Look(max(shown), "fails", 0.0, remedy=_REMEDY, first=min(shown)))
            found += runs.findings()
        return found

    def series(self) -> list[Series]:
        """Return no series: this check measures nothing over time."""
        return []
