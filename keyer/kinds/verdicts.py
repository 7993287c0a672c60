"""What a measure says: a number, a verdict, and what to do about it."""

from __future__ import annotations

from dataclasses import asdict, dataclass
from typing import Any, Literal

Judgement = Literal["holds", "watch", "fails"]


@dataclass(frozen=True)
class Verdict:
    """One judged measure.

    Attributes
    ----------
    measure : str
        Dotted name, e.g. `"coverage.holes"`.
    value : float
        The number that was judged.
    unit : str
        Its unit, e.g. `"%"` or `"px"`.
    verdict : {"holds", "watch", "fails"}
    remedy : str
        What to do, in the words of the trade; empty when it holds.
    """

    measure: str
    value: float
    unit: str
    verdict: Judgement
    remedy: str = ""

    def as_dict(self) -> dict[str, Any]:
        """As plain data for JSON."""
        return asdict(self)


def judge(
    measure: str,
    value: float,
    unit: str,
    *,
    watch: float,
    fails: float,
    remedy: str,
) -> Verdict:
    """Judge a value against two limits.

    Parameters
    ----------
    measure, value, unit
        As in `Verdict`.
    watch, fails : float
        Beyond `watch` it wants watching, beyond `fails` it fails. More is
        worse, unless `fails` is the lower limit of the two.
    remedy : str
        What to do about it; dropped when the value holds.
    """
    sign = 1.0 if fails >= watch else -1.0
    if sign * value > sign * fails:
        return Verdict(measure, value, unit, "fails", remedy)
    if sign * value > sign * watch:
        return Verdict(measure, value, unit, "watch", remedy)
    return Verdict(measure, value, unit, "holds")
