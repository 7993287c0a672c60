"""What a measure says: a number, a verdict, and what to do about it."""

from __future__ import annotations

from dataclasses import asdict, dataclass
from typing import Any, Literal

from keyer.kinds.limits import LIMITS

Judgement = Literal["holds", "watch", "fails"]


@dataclass(frozen=True)
class Verdict:
    """A measured value, its verdict and the remedy.

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


def judge(measure: str, value: float, remedy: str, *, scale: float = 1.0) -> Verdict:
    """Judge a value against the limits of its measure.

    Parameters
    ----------
    measure : str
        A key of `LIMITS`.
    value : float
        In the unit that stands there.
    remedy : str
        What to do about it; dropped when the value holds.
    scale : float
        Times which the limits are taken, where they grow with the picture.
    """
    bounds = LIMITS[measure]
    sign = -1.0 if bounds.low_is_worse else 1.0
    if sign * value > sign * scale * bounds.fails:
        return Verdict(measure, value, bounds.unit, "fails", remedy)
    if sign * value > sign * scale * bounds.watch:
        return Verdict(measure, value, bounds.unit, "watch", remedy)
    return Verdict(measure, value, bounds.unit, "holds")
