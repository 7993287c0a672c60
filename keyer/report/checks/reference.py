"""Tables of limits for the pages on measures and checks, made from what verdicts are given by."""

from __future__ import annotations

import math

from keyer.kinds.limits import LIMITS
from keyer.report.checks import key_checks, picture_checks, sound_checks, title_checks
from keyer.report.checks.findings import Limit
from keyer.report.checks.sound_checks import R128

_AS_ASKED = {
    "sound.loudness": Limit(
        f"{R128.target:g} LUFS, {R128.tolerance:g} LU either way, or what the sheet sets",
        "EBU R 128 (figures from memory), ITU-R BS.1770-5",
    ),
    "sound.true_peak": Limit(
        f"at most {R128.true_peak:g} dBTP, or what the sheet sets", "the same; BS.1770, annex 2"
    ),
    "title.safe_area": Limit(
        "the design's title area; fails beyond its action area",
        "as the design says, e.g. SMPTE ST 2046-1",
    ),
}


def measures_table(*names: str) -> str:
    """Write what verdicts on measures are given by: a row each, as Markdown."""
    rows = ["| verdict on | watch | fails | source |", "| --- | --- | --- | --- |"]
    for name in names:
        bounds = LIMITS[name]
        watch = f"{bounds.side} {bounds.shown(bounds.watch, whole=True)}"
        fails = f"{bounds.side} {bounds.shown(bounds.fails)}"
        source = f"{bounds.source}: {bounds.why}" if bounds.why else bounds.source
        fails = "never" if math.isinf(bounds.fails) else fails
        rows.append(f"| `{name}` | {watch} | {fails} | {source} |")
    return "\n".join(rows)


def checks_table(*names: str) -> str:
    """Write what checks hold a spot against: a row each, as Markdown."""
    known = _AS_ASKED.copy()
    for checks in (key_checks, picture_checks, sound_checks, title_checks):
        known |= checks.LIMITS
    rows = ["| check | limit | source |", "| --- | --- | --- |"]
    rows += [f"| `{name}` | {known[name].text} | {known[name].source} |" for name in names]
    return "\n".join(rows)
