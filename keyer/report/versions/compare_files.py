"""Comparisons made as they are asked for, and written as a board or as a page."""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from contextlib import closing
from pathlib import Path

import cv2
import numpy as np

from keyer.errors import OutputError
from keyer.kinds.formats import VideoFormat
from keyer.media.files import Files
from keyer.media.write import write_bytes
from keyer.paper.cells import Caption, Cell
from keyer.paper.grid import Heading, draw_heading, lay_board
from keyer.paper.page import Page, paper_size
from keyer.render.inputs import sheet_inputs
from keyer.render.plan import Plan
from keyer.render.recipe import program
from keyer.render.session import Session
from keyer.report.boards.page_files import write_pages
from keyer.report.page.compare_page import compare_page
from keyer.report.versions.approval import Approval, find_approval, read_approval
from keyer.report.versions.compare import Comparison, Pair, Pixels, Planned, compare
from keyer.report.versions.compare_words import (
    change_lines,
    count_words,
    difference_words,
    length_words,
)
from keyer.report.versions.kept import Kept, Reduced, approved_sheet, file_changes
from keyer.report.words import SHORT_DIGEST
from keyer.sheet.load import load_sheet
from keyer.sheet.sheet import Sheet
from keyer.sheet.variables import Value

_MOST_LINES = 9
_MOST_CAPTIONS = 3
_GROUND = 225
"""Grey code beside a picture of another shape."""


def compare_files(
    old: str,
    new: Path,
    output: Path | None,
    *,
    paper: str = "A3",
    force: bool = False,
    variables: Mapping[str, Value] | None = None,
) -> Comparison:
    """Compare a sheet file with a version before it.

    Parameters
    ----------
    old : str
        A sheet, the file of an approved version, or the digest of one that lies beside the new
        sheet.
    new : Path
    output : Path, optional
        `.png`, `.pdf` or `.html`.
    paper : {"A3", "A4"}
    force : bool
        Overwrite the output.
    variables : mapping of str to text, number or switch, optional
        As for `load_sheet`.

    Raises
    ------
    KeyerError
    """
    files = Files((new,), force=force)
    if output is not None:
        if output.suffix.lower() not in {".png", ".pdf", ".html"}:
            msg = f"output must end in .png, .pdf or .html for a comparison, got {output}."
            raise OutputError(msg)
        files.write(output)
    size = paper_size(paper)
    approval = _approval(old, new)
    files.read(Path(old) if approval is None else approval.path)
    now = load_sheet(new, variables=variables)
    before = load_sheet(old) if approval is None else approved_sheet(approval, now)
    files.read(*sheet_inputs(before), *sheet_inputs(now))
    if approval is None:
        made = _both_planned(before, now, before.name)
    else:
        made = _with_approved(approval, before, now)
    if output is not None:
        write_comparison(made, output, size, files)
    return made


def _approval(old: str, new: Path) -> Approval | None:
    """Find the approved version that is meant; None for a sheet."""
    path = Path(old)
    if path.suffix.lower() == ".zip":
        return read_approval(path)
    if path.exists() or path.suffix or not re.fullmatch(r"[0-9A-Fa-f]{1,64}", old):
        return None
    return find_approval(old, new)


def _both_planned(before: Sheet, now: Sheet, called: str) -> Comparison:
    with closing(Session()) as session, Plan(before, session) as was, Plan(now, session) as now_is:
        return compare(Planned(was), Planned(now_is), called)


def _with_approved(approval: Approval, before: Sheet, now: Sheet) -> Comparison:
    """Compare with an approved version: rendered anew, or by its own pictures if it has changed."""
    called = f"approved {approval.words}"
    changed = tuple(file_changes(approval, now))
    if not changed and before.digest == approval.digest:
        return _both_planned(before, now, called)
    with closing(Kept(approval, before)) as kept, Plan(now) as plan:
        return compare(kept, Reduced(plan), called, changed)


def write_comparison(
    made: Comparison, output: Path, size: tuple[float, float], files: Files
) -> None:
    """Write a comparison as a page, a PDF, or a PNG for each page of its board."""
    if output.suffix.lower() == ".html":
        write_bytes(output, compare_page(made).encode(), files)
        return
    write_pages(compare_board(made, size), output, made.new, files)


def compare_board(made: Comparison, size: tuple[float, float]) -> list[Page]:
    """Lay a comparison out: what has changed, and pairs of pictures side by side.

    Parameters
    ----------
    made : Comparison
    size : tuple of two floats
        Of the paper, in mm.
    """
    new = made.new
    heading = Heading("Compared", new.title or new.name, _facts(made), _foot(made))
    aspect = float(new.format.display_aspect)
    cells = [cell for n, pair in enumerate(made.pairs, 1) for cell in _cells(n, pair, made)]
    if not cells:
        page = Page(*size)
        draw_heading(page, heading)
        return [page]
    return lay_board(cells, heading, size, aspect, together=2)


def _facts(made: Comparison) -> tuple[str, ...]:
    lines = change_lines(made.changes)
    if len(lines) > _MOST_LINES + 1:
        rest = len(lines) - _MOST_LINES
        lines = [*lines[:_MOST_LINES], f"and {rest} more changes: 'keyer compare' lists them"]
    counted = " ".join(text for text in (count_words(made), length_words(made)) if text)
    return (f"From {made.called} to {made.new.name}  ·  {counted}", *lines)


def _foot(made: Comparison) -> str:
    digests = " and ".join(one.digest[:SHORT_DIGEST] for one in (made.old, made.new))
    return f"The same moment before and now, where it shows most.  ·  {program()}, sheets {digests}"


def _cells(number: int, pair: Pair, made: Comparison) -> Sequence[Cell]:
    label = made.new.label(pair.frame)
    said = [Caption(difference_words(pair.difference).capitalize(), strong=True)]
    said += [Caption(str(change)) for change in pair.changes[:_MOST_CAPTIONS]]
    before = fitted(pair.before, made.old.format, made.new.format)
    return (
        Cell(number, before, (Caption(f"Before: {made.called}", strong=True),), label, "before"),
        Cell(number, pair.now, tuple(said), label, "now", told=True),
    )


def fitted(pixels: Pixels, own: VideoFormat, other: VideoFormat) -> Pixels:
    """Put a picture on a ground of another format's shape, all of it seen.

    Parameters
    ----------
    pixels : (H, W, 3) uint8
    own, other : VideoFormat

    Returns
    -------
    (H, W, 3) uint8
        As it is where both have one shape.
    """
    if own.display_aspect == other.display_aspect:
        return pixels
    height = pixels.shape[0]
    wide = round(height * float(own.display_aspect))  # with square pixels
    pixels = np.asarray(cv2.resize(pixels, (wide, height)), np.uint8)
    aspect = float(other.display_aspect)
    rows, columns = max(height, round(wide / aspect)), max(wide, round(height * aspect))
    ground = np.full((rows, columns, 3), _GROUND, np.uint8)
    top, left = (rows - height) // 2, (columns - wide) // 2
    ground[top : top + height, left : left + wide] = pixels
    return ground
