"""The titles that a proof is made of: those of a sheet, of a table's rows, of a range of pages."""

from __future__ import annotations

import dataclasses
from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path

from keyer.batch.choose_rows import choose_rows
from keyer.batch.grid import spans
from keyer.batch.job import make_job, sheet_titles
from keyer.batch.names import safe_name
from keyer.batch.proof import Airing, Proof, ProofTitle, proof_title
from keyer.batch.rows import Row, read_rows
from keyer.batch.scene import title_fields
from keyer.errors import KeyerError
from keyer.kinds.check_names import subject_name
from keyer.kinds.formats import VideoFormat
from keyer.measure.title_rules import NO_RULES
from keyer.render.inputs import sheet_inputs
from keyer.render.lettering import shown_pictures, title_parts
from keyer.render.levels import levels
from keyer.render.showings import showings
from keyer.sheet.load import load_sheet
from keyer.sheet.sheet import Sheet
from keyer.sheet.source import Title
from keyer.sheet.station import load_station
from keyer.sheet.variables import Value
from keyer.titles.pages import load_page, page_file
from keyer.titles.read import DesignFile

Told = Callable[[int, int], None]
"""Called with titles done and titles in all."""


@dataclass(frozen=True)
class RowsProof:
    """Which rows of a table are proofed with a sheet; as for a batch."""

    sheet: Path
    rows: Path
    file_column: str = "file"
    worksheet: str | None = None
    encoding: str | None = None
    as_in_sheet: tuple[str, ...] = ()
    only: str = ""
    where: tuple[str, ...] = ()


def proof_sheet(path: Path, variables: Mapping[str, Value] | None = None) -> Proof:
    """Proof every title that a sheet shows.

    Parameters
    ----------
    path : Path
    variables : mapping, optional
        As for `load_sheet`.

    Raises
    ------
    KeyerError
        If the sheet or a design does not hold.
    """
    sheet = load_sheet(path, variables=variables)
    shown = [Airing(level, one) for level in levels(sheet) for one in showings(level)]
    seen = sorted((one for one in shown if one.shown), key=lambda one: one.shown[0])
    titles = [
        _proofed(number, subject_name(one.showing.subject), one, _title(one))
        for number, one in enumerate(seen, 1)
    ]
    what = sheet.title or path.name
    return Proof(
        what, "title", _repeats(titles, "title"), sheet.format, sheet.title_rules,
        tuple(sheet_inputs(sheet)),
    )  # fmt: skip


def proof_rows(order: RowsProof, told: Told = lambda _done, _all: None) -> Proof:
    """Proof the titles of each row of a table.

    Returns
    -------
    Proof
        A row that cannot be drawn is a title with a fault.

    Raises
    ------
    KeyerError
        If sheet or table cannot be read, or a column sets nothing.
    """
    table = choose_rows(
        read_rows(order.rows, order.worksheet, order.encoding), order.only, order.where
    ).table
    job = make_job(
        order.sheet, table.columns, file_column=order.file_column, as_in_sheet=order.as_in_sheet
    )
    shown: dict[object, list[tuple[Airing, DesignFile]]] = {}
    titles: list[ProofTitle] = []
    inputs: dict[Path, None] = {order.rows: None}

    def of_row(row: Row) -> Iterator[ProofTitle]:
        name = safe_name(row.cells.get(order.file_column, ""))
        try:
            for doubt in job.doubts(row):
                yield _broken(row.number, name, row, doubt)
                return
            filled = job.filled(row.cells)
            if filled.variables not in shown:
                sheet = load_sheet(order.sheet, variables=dict(filled.variables))
                inputs.update(dict.fromkeys(sheet_inputs(sheet)))
                shown[filled.variables] = list(_over(sheet))
            fields = title_fields(filled)
            for air, design in shown[filled.variables]:
                own = fields[air.showing.source]
                inputs.update(dict.fromkeys(shown_pictures(design, own)))
                video, rules = air.level.sheet.format, air.level.spot.title_rules
                yield proof_title(row.number, name, design, own, video, rules, air)
        except KeyerError as error:
            yield _broken(row.number, name, row, str(error))

    for done, row in enumerate(table.rows):
        told(done, len(table.rows))
        titles += of_row(row)
    told(len(table.rows), len(table.rows))
    sheet = load_sheet(order.sheet)
    return Proof(
        f"{sheet.title or order.sheet.name}: {table.name}", "row", _repeats(titles, "row"),
        sheet.format, sheet.title_rules, tuple(inputs), table.notices,
    )  # fmt: skip


def proof_pages(
    store: Path,
    numbers: Sequence[int],
    video: VideoFormat,
    rules: Path | None = None,
    told: Told = lambda _done, _all: None,
) -> Proof:
    """Proof pages of a store.

    Parameters
    ----------
    store : Path
    numbers : sequence of int
    video : VideoFormat
    rules : Path, optional
        A station's rules.
    told : callable, optional

    Returns
    -------
    Proof
        A damaged page is a title with a fault.

    Raises
    ------
    KeyerError
        If the rules do not hold.
    """
    held = NO_RULES if rules is None else load_station(rules, video.rate).titles
    inputs = dict.fromkeys(page_file(store, number) for number in numbers)
    notices: list[str] = []
    titles: list[ProofTitle] = []
    for done, number in enumerate(numbers):
        told(done, len(numbers))
        try:
            page = load_page(store, number)
        except KeyerError as error:
            titles.append(ProofTitle(number, "", "", (), 0, 0, 0.0, fault=_one_line(error)))
            continue
        notices += page.notices
        inputs.update(dict.fromkeys(page.design.files()))
        titles.append(proof_title(number, page.note, page.design, page.fields, video, held))
    told(len(numbers), len(numbers))
    found = _repeats(titles, "page")
    return Proof(f"Pages {spans(numbers)}", "page", found, video, held,
                 (*inputs, *([rules] if rules else ())), tuple(notices))  # fmt: skip


def _over(sheet: Sheet) -> Iterator[tuple[Airing, DesignFile]]:
    """Yield the titles that a batch fills, as the sheet shows them."""
    over = sheet_titles(sheet)
    designs = {name: title_parts(title)[0] for name, title in over.items()}
    for level in (one for one in levels(sheet) if not one.home):
        for showing in showings(level):
            air = Airing(level, showing)
            if showing.overlay is not None and showing.source in over and air.shown:
                yield air, designs[showing.source]


def _one_line(error: KeyerError) -> str:
    return " ".join(str(error).split())


def _broken(number: int, name: str, row: Row, fault: str) -> ProofTitle:
    """Make the title of a row of which no sheet can be made: its cells, and what is wrong."""
    cells = tuple(text for text in row.cells.values() if text.strip())
    return ProofTitle(number, name, "", cells, 0, 0, 0.0, fault=" ".join(fault.split()))


def _title(air: Airing) -> Title:
    content = air.level.sheet.sources[air.showing.source].content
    if not isinstance(content, Title):
        msg = "a showing is of a title"
        raise TypeError(msg)
    return content


def _proofed(number: int, name: str, air: Airing, content: Title) -> ProofTitle:
    try:
        design, fields, _ = title_parts(content)
    except KeyerError as error:
        return ProofTitle(number, name, air.when, (), 0, 0, 0.0, fault=_one_line(error))
    video, rules = air.level.sheet.format, air.level.spot.title_rules
    return proof_title(number, name, design, fields, video, rules, air)


def _repeats(titles: Sequence[ProofTitle], noun: str) -> tuple[ProofTitle, ...]:
    """Note which titles say what another one says."""
    first: dict[tuple[str, ...], int] = {}
    found = []
    for one in titles:
        other = first.setdefault(one.lines, one.number)
        if one.lines and other != one.number:
            note = f"says the same as {noun} {other}"
            found.append(dataclasses.replace(one, notes=(note, *one.notes)))
        else:
            found.append(one)
    return tuple(found)
