"""What checks of many found, by kind: how many rows or pages, which, and the worst of them."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import asdict, dataclass
from typing import Any, NamedTuple

from keyer.batch.grid import spans
from keyer.batch.manifest import Entry
from keyer.kinds.figures import figures

_LOW_IS_WORSE = {"title.contrast", "title.letter_height", "title.reading_time"}
_SEVERITY = ("fails", "watch")


class Judged(NamedTuple):
    """A row or a page: its number, its name, its verdicts."""

    number: int
    name: str
    verdicts: Sequence[Mapping[str, Any]]


@dataclass(frozen=True)
class Kind:
    """Rows (or pages) to which one check gave the same verdict.

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
    noun : str
        What the numbers count: rows of a table, or pages.
    """

    measure: str
    verdict: str
    rows: tuple[int, ...]
    worst: int
    name: str
    value: float
    unit: str
    remedy: str
    noun: str = "row"

    def __str__(self) -> str:
        many, s = len(self.rows), "s" if len(self.rows) > 1 else ""
        worst = f"{self.worst} {self.name}".strip()
        return (
            f"{self.measure} {self.verdict} in {many} {self.noun}{s}, worst in {self.noun} "
            f"{worst}: {self.said}. {self.remedy} "
            f"{self.noun.capitalize()}{s} {spans(self.rows)}."
        )

    @property
    def said(self) -> str:
        """The worst value with its unit, on the side of its limits on which it lies."""
        between = "" if self.unit.startswith(":") else " "
        return f"{figures(self.measure, self.value, 4)}{between}{self.unit}"

    def as_dict(self) -> dict[str, Any]:
        """As plain data for JSON."""
        plain = asdict(self)
        del plain["rows"], plain["noun"]
        return {**plain, f"{self.noun}s": list(self.rows)}


def summary(entries: Iterable[Entry]) -> list[Kind]:
    """Gather what does not hold in the rows of a batch; see `summary_of`."""
    return summary_of(Judged(entry.row or 0, entry.name, entry.verdicts) for entry in entries)


def summary_of(judged: Iterable[Judged], noun: str = "row") -> list[Kind]:
    """Gather the verdicts that do not hold, the worst first.

    Parameters
    ----------
    judged : iterable of Judged
    noun : str
        What each of them is.

    Returns
    -------
    list of Kind
        What fails first, then what concerns most of them.
    """
    found: dict[tuple[str, str], list[tuple[Judged, Mapping[str, Any]]]] = {}
    for one in judged:
        for verdict in one.verdicts:
            if verdict["verdict"] != "holds":
                cases = found.setdefault((verdict["measure"], verdict["verdict"]), [])
                cases.append((one, verdict))
    kinds = [_kind(*key, cases, noun) for key, cases in found.items()]
    return sorted(kinds, key=lambda kind: (_SEVERITY.index(kind.verdict), -len(kind.rows)))


def _kind(
    measure: str, verdict: str, cases: list[tuple[Judged, Mapping[str, Any]]], noun: str
) -> Kind:
    sign = -1 if measure in _LOW_IS_WORSE else 1
    one, worst = max(cases, key=lambda case: sign * float(case[1]["value"]))
    rows = sorted({case.number for case, _ in cases})
    return Kind(
        measure, verdict, tuple(rows), one.number, one.name, worst["value"], worst["unit"],
        worst["remedy"], noun,
    )  # fmt: skip
