"""What came of a batch, for people and as JSON."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

from keyer.batch.manifest import Entry
from keyer.batch.preflight import RowFault
from keyer.batch.run import Outcome
from keyer.batch.summary import summary


@dataclass(frozen=True)
class BatchReport:
    """Result of a batch: rows made, kept and refused, and its contact sheets.

    Attributes
    ----------
    rows : int
        Rows in the table.
    outcome : Outcome or None
        None where nothing was to be rendered.
    faults : tuple of RowFault
    notices : tuple of str
        What the user should know of the table.
    contact : tuple of Path
        The contact sheets.
    workers : mapping
        Address of a cluster's worker to the rows that it has rendered; empty on one machine.
    """

    rows: int
    outcome: Outcome | None
    faults: tuple[RowFault, ...] = ()
    notices: tuple[str, ...] = ()
    contact: tuple[Path, ...] = ()
    workers: Mapping[str, int] = field(default_factory=dict)

    @property
    def bad(self) -> frozenset[int]:
        """Numbers of the rows that have faults."""
        return frozenset(row for fault in self.faults for row in fault.rows)

    @property
    def failed(self) -> tuple[Entry, ...]:
        """Rows that were rendered and do not pass a check."""
        entries = self.outcome.entries if self.outcome else ()
        return tuple(e for e in entries if any(v["verdict"] == "fails" for v in e.verdicts))

    def as_dict(self) -> dict[str, Any]:
        """As plain data for JSON."""
        entries = self.outcome.entries if self.outcome else ()
        rendered = self.outcome.rendered if self.outcome else 0
        judged = [v for entry in entries for v in entry.verdicts]
        return {
            "rows": self.rows,
            "done": len(entries),
            "rendered": rendered,
            "kept": len(entries) - rendered,
            "faults": [
                {"rows": list(fault.rows), "message": fault.message} for fault in self.faults
            ],
            "notices": list(self.notices),
            "workers": dict(self.workers),
            "outputs": [name for entry in entries for name, _ in entry.outputs],
            "verdicts": {
                verdict: sum(v["verdict"] == verdict for v in judged)
                for verdict in ("holds", "watch", "fails")
            },
            "summary": [kind.as_dict() for kind in summary(entries)],
            "to_look_at": [
                {"row": entry.row, "name": entry.name, **v}
                for entry in entries
                for v in entry.verdicts
                if v["verdict"] != "holds"
            ],
        }
