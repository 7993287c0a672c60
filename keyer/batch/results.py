"""A results table: many rows of a table in one picture, or in as many as they take."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from keyer.batch.one_title import ReadyTitle, TitleOrder, filled, prepare_filled
from keyer.batch.rows import Rows
from keyer.errors import InputFileError
from keyer.media.files import Files
from keyer.media.write import together
from keyer.titles.ink import Canvas
from keyer.titles.tables import table_pages

_SEVERITY = ("fails", "watch", "holds")


@dataclass(frozen=True)
class ReadyTable:
    """Pages of a results table, drawn and not yet written."""

    pages: tuple[ReadyTitle, ...]
    files: Files

    def write(self) -> dict[str, Any]:
        """Write all pages, or none.

        Returns
        -------
        dict
            `outputs`; `verdicts`, of each measure the worst of all pages; `notes`.

        Raises
        ------
        OutputError
        """
        with together(self.files):
            reports = [page.write() for page in self.pages]
        worst: dict[str, dict[str, Any]] = {}
        for report in reports:
            for verdict in (one.as_dict() for one in report.verdicts):
                known = worst.setdefault(verdict["measure"], verdict)
                if _rank(verdict) < _rank(known):
                    worst[verdict["measure"]] = verdict
        return {
            "outputs": [str(path) for report in reports for path in report.outputs],
            "verdicts": list(worst.values()),
            "notes": list(dict.fromkeys(note for report in reports for note in report.notes)),
        }


def _rank(verdict: dict[str, Any]) -> int:
    return _SEVERITY.index(verdict["verdict"])


def page_names(output: Path, count: int) -> list[Path]:
    """Name so many pages: one as asked, of several all with their number."""
    if count == 1:
        return [output]
    return [output.with_name(f"{output.stem}-{n}{output.suffix}") for n in range(1, count + 1)]


def prepare_table(
    order: TitleOrder, rows: Rows, output: Path, inputs: Sequence[Path] = (), *, force: bool = False
) -> ReadyTable:
    """Draw the pages of a results table.

    Parameters
    ----------
    order : TitleOrder
        Its design has a `[table]`.
    rows : Rows
        Those that are wanted.
    output : Path
        A PNG; see `page_names`.
    inputs : sequence of Path
        What else is read.
    force : bool
        Replace outputs that exist.

    Raises
    ------
    KeyerError
        If it cannot be drawn, or the files cannot be written.
    """
    design, fields, notices = filled(order)
    table = design.design.table
    shown = {one.column for one in table.columns} if table else set()
    doubts = [
        doubt.message
        for row in rows.rows
        for column, doubt in row.doubts.items()
        if column in shown
    ]
    if doubts:
        raise InputFileError(" ".join(doubts))
    video = order.format
    canvas = Canvas(video.width, video.height, float(video.pixel_aspect))
    cells = [[row.cells[name] for name in rows.columns] for row in rows.rows]
    pages = table_pages(design, rows.columns, cells, fields, canvas)
    files = Files(inputs, force=force)
    names = page_names(output, len(pages))
    ready = [
        prepare_filled(order, name, (made, values, notices), files)
        for name, (made, values) in zip(names, pages, strict=True)
    ]
    return ReadyTable(tuple(ready), files)
