"""Where in effects and other sheets that is which a check has found in the whole picture."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from keyer.measure.cells import WHOLE, Place
from keyer.render.levels import Level
from keyer.report.checks.findings import Finding
from keyer.sheet.sheet import Overlay

_OF_PICTURES = ("levels.", "flash.", "stripes.", "timing.black", "timing.stray")


def named_within(finding: Finding, found: Sequence[Level]) -> Finding:
    """Name the row of an effect, or of another sheet, that shows what a finding speaks of.

    Parameters
    ----------
    finding : Finding
    found : sequence of Level
        Of the spot.

    Returns
    -------
    Finding
        As it is, where it names something already, or the sheet itself shows it.
    """
    told = finding.subject or finding.verdict == "holds"
    if told or not finding.check.startswith(_OF_PICTURES):
        return finding
    place = finding.place
    middle = None if place == WHOLE else _middle(place)
    return replace(finding, subject=_shown(found, finding.worst, middle))


def _middle(place: Place) -> tuple[float, float]:
    return place.left + place.width / 2, place.top + place.height / 2


def _shown(found: Sequence[Level], frame: int, at: tuple[float, float] | None) -> str:
    """Go down into what is shown at a place, or of the base where no place is known."""
    level = found[0]
    while True:
        base = level.sheet.base_at(level.own(frame)).cue
        inner = [one for one in found if one.outer is level and one.due[frame] >= 0]
        over = [one for one in inner if one.row is not base and _holds(one, frame, at)]
        below = [one for one in inner if one.row is base]
        if not over and not below:
            return "" if level.outer is None else level.named(base)
        level = (*below, *over)[-1]
        at = None if at is None else _own_place(level, frame, at)


def _own_place(level: Level, frame: int, at: tuple[float, float]) -> tuple[float, float]:
    """Find a place of the picture around a level in its own picture; percent."""
    standing, local = level.standing(frame)
    pose = standing.pose(local)
    share = max(pose.scale, 1e-3) / 100
    return 50 + (at[0] - pose.x) / share, 50 + (at[1] - pose.y) / share


def _holds(level: Level, frame: int, at: tuple[float, float] | None) -> bool:
    """Whether a place lies in the picture of what an overlay shows; a turn left aside."""
    if at is None or not isinstance(level.row, Overlay):  # a cue may be on its way out
        return False
    return all(0 <= part <= 100 for part in _own_place(level, frame, at))
