"""Findings for people: alike ones together, in plain words, with the frame that shows them."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass

from keyer.kinds.figures import figures
from keyer.measure.cells import WHOLE, Place
from keyer.report.checks.findings import SEVERITY, Finding

NAMES = {
    "levels.range": "Signal levels",
    "flash.general": "Flashes",
    "flash.red": "Flashes of saturated red",
    "flash.general_picture": "Flashes, over the whole picture",
    "flash.red_picture": "Flashes of saturated red, over the whole picture",
    "stripes.pattern": "Stripes",
    "timing.length": "Length",
    "timing.black": "Black",
    "timing.head_black": "Black at the head",
    "timing.tail_black": "Black at the tail",
    "timing.stray_frame": "Stray frame",
    "timing.last_frame": "Last frame",
    "timing.source_end": "Source runs out",
    "overlay.seen": "Overlay out of sight",
    "overlay.stays": "Overlay that stays on",
    "title.contrast": "Contrast of the title",
    "title.letter_height": "Size of the letters",
    "title.largest_letters": "Size of the largest letters",
    "title.safe_area": "Safe area",
    "title.zone": "Zones kept free",
    "title.reading_time": "Reading time",
    "title.passage": "Crawl or roll",
    "sound.loudness": "Loudness of the mix",
    "sound.true_peak": "True peak of the mix",
    "sound.silence": "Silence",
    "sound.end": "End of the sound",
    "key.backing": "No backing to key",
    "backing.evenness": "Evenness of the backing",
    "backing.shadows": "Shadows on the backing",
    "backing.noise": "Noise of the backing",
    "backing.chroma": "Colour of the backing",
    "coverage.holes": "Holes in the matte",
    "coverage.openings": "Openings in the matte",
    "coverage.specks": "Specks in the matte",
    "coverage.edge_width": "Edge of the matte",
    "coverage.balance": "Matte all clear or all solid",
    "subject.clash": "Subject in the backing's hues",
    "spill.after_p95": "Spill on the subject, 95th percentile",
    "spill.rim_p95": "Spill at the rim, 95th percentile",
}
"""What each check is called on the page."""

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


_ROW = re.compile(
    r"(?:(?P<sheets>.+?): )?(?:effects\.(?P<effect>.+?)\.)?"
    r"(?P<kind>cue|overlay|sound)s?\[(?P<index>\d+)\] (?P<name>.+)"
)
"""How checks name a row; see `keyer.render.levels.Level.named`."""


def subject_name(subject: str) -> str:
    """Call a cue or an overlay as people do: by its name, and where it stands within effects."""
    row = _ROW.fullmatch(subject)
    if row is None:
        return subject
    within = [f'effect "{row["effect"]}"'] if row["effect"] else []
    within += [f'sheet of "{name}"' for name in reversed((row["sheets"] or "").split(": ")) if name]
    if not within:
        return row["name"]
    return f"{row['name']} ({', '.join(within)}, {row['kind']} {int(row['index']) + 1})"


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
