"""What a batch's checks found, by kind: how many rows, which, and the worst of them."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import asdict, dataclass
from typing import Any

from keyer.batch.grid import spans
from keyer.batch.manifest import Entry

_LOW_IS_WORSE = {"title.contrast", "title.letter_height", "title.reading_time"}
_SEVERITY = ("fails", "watch")


@dataclass(frozen=True)
class Kind:
    """Rows of one check and one verdict.

    Attributes
    ----------
    measure, verdict : str
    rows : tuple of int
        In order.
    worst : int
        Row of the worst value.
    name : str
        Of that row's files.
    value : float
    unit : str
    remedy : str
        Of the worst one.
    """

    measure: str
    verdict: str
    rows: tuple[int, ...]
    worst: int
    name: str
    value: float
    unit: str
    remedy: str

    def __str__(self) -> str:
        many = len(self.rows)
        return (
            f"{self.measure} {self.verdict} in {many} row{'s' if many > 1 else ''}, worst in row "
            f"{self.worst} {self.name}: {self.value:g} {self.unit}. {self.remedy} "
            f"Row{'s' if many > 1 else ''} {spans(self.rows)}."
        )

    def as_dict(self) -> dict[str, Any]:
        """As plain data for JSON."""
        return {**asdict(self), "rows": list(self.rows)}


def summary(entries: Iterable[Entry]) -> list[Kind]:
    """Gather what does not hold.

    Returns
    -------
    list of Kind
        What fails first, then what concerns most rows.
    """
    found: dict[tuple[str, str], list[tuple[Entry, dict[str, Any]]]] = {}
    for entry in entries:
        for verdict in entry.verdicts:
            if verdict["verdict"] != "holds":
                found.setdefault((verdict["measure"], verdict["verdict"]), []).append(
                    (entry, dict(verdict))
                )
    kinds = [_kind(*key, cases) for key, cases in found.items()]
    return sorted(kinds, key=lambda kind: (_SEVERITY.index(kind.verdict), -len(kind.rows)))


def _kind(measure: str, verdict: str, cases: list[tuple[Entry, dict[str, Any]]]) -> Kind:
    sign = -1 if measure in _LOW_IS_WORSE else 1
    entry, worst = max(cases, key=lambda case: sign * float(case[1]["value"]))
    rows = sorted({case.row or 0 for case, _ in cases})
    return Kind(
        measure, verdict, tuple(rows), entry.row or 0, entry.name, worst["value"], worst["unit"],
        worst["remedy"],
    )  # fmt: skip
