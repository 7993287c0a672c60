"""Findings for people: alike ones together, in plain words, with the frame that shows them."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from keyer.kinds.check_names import NAMES, subject_name
from keyer.kinds.figures import figures
from keyer.measure.cells import WHOLE, Place
from keyer.report.checks.findings import SEVERITY, Finding

OF_PLATES = ("backing.", "key.backing")
"""How checks begin that speak of the plate as it was recorded, not of the finished picture."""

_MOST_TIMES = 6


@dataclass(frozen=True)
class FindingCard:
    """A card of the page: all findings of one check on one cue, overlay or picture.

    Attributes
    ----------
    verdict : str
    name, check, subject : str
    when : str
    value, limit, source : str
    remedy : str
    frame : int
        The worst one.
    timecode : str
        Of that frame.
    place : Place or None
        Where in the picture; None: all of it.
    full_subject : str
        The subject as the check names it.
    """

    verdict: str
    name: str
    check: str
    subject: str
    when: str
    value: str
    limit: str
    source: str
    remedy: str
    frame: int
    timecode: str
    place: Place | None
    full_subject: str

    @property
    def key(self) -> tuple[str, str]:
        """Check and subject, by which a card is told from others."""
        return self.check, self.full_subject


_OF_ONE = {"flashes a second": "flash a second", "frames": "frame"}
"""Units as they are said of a single thing."""


def value_words(finding: Finding) -> str:
    """Say a finding's value with its unit."""
    between = "" if finding.unit.startswith(":") or not finding.unit else " "
    whole = finding.value.is_integer()
    number = f"{finding.value:.0f}" if whole else figures(finding.check, finding.value)
    unit = _OF_ONE.get(finding.unit, finding.unit) if finding.value == 1 else finding.unit
    return f"{number}{between}{unit}"


def finding_cards(findings: Sequence[Finding]) -> list[FindingCard]:
    """Put findings of the same check and subject together; those that hold are left out.

    Returns
    -------
    list of FindingCard
        The worst first, as the check has them.
    """
    groups: dict[tuple[str, str], list[Finding]] = {}
    for finding in findings:
        if finding.verdict != "holds":
            groups.setdefault((finding.check, finding.subject), []).append(finding)
    return [_card(group) for group in groups.values()]


def _card(group: list[Finding]) -> FindingCard:
    worst = max(group, key=lambda one: SEVERITY[one.verdict])
    return FindingCard(
        worst.verdict,
        NAMES.get(worst.check, worst.check),
        worst.check,
        subject_name(worst.subject),
        _when(group),
        value_words(worst),
        worst.limit.text,
        worst.limit.source,
        worst.remedy,
        worst.worst,
        worst.worst_timecode,
        None if worst.place == WHOLE else worst.place,
        worst.subject,
    )


def _when(group: list[Finding]) -> str:
    times = [_span(one) for one in sorted(group, key=lambda one: one.first)]
    if len(times) <= _MOST_TIMES:
        return ", ".join(times)
    return f"{len(times)} times: {', '.join(times[: _MOST_TIMES - 1])} …"


def _span(finding: Finding) -> str:
    if finding.first == finding.last:
        return finding.first_timecode
    return f"{finding.first_timecode} to {finding.last_timecode}"


@dataclass(frozen=True)
class Held:
    """A check whose verdict is `holds` throughout."""

    name: str
    subject: str
    value: str


def held(findings: Sequence[Finding]) -> list[Held]:
    """List what holds throughout."""
    bad = {(one.check, one.subject) for one in findings if one.verdict != "holds"}
    found = (
        Held(NAMES.get(one.check, one.check), subject_name(one.subject), value_words(one))
        for one in findings
        if one.verdict == "holds" and (one.check, one.subject) not in bad
    )
    return list(dict.fromkeys(found))  # an effect that is shown twice may be told once


def counts(cards: Sequence[FindingCard], held_count: int) -> dict[str, int]:
    """Count checks by verdict, the worst first."""
    found = {"fails": 0, "watch": 0, "holds": held_count}
    for card in cards:
        found[card.verdict] += 1
    return found
