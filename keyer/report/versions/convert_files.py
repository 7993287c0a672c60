"""A sheet file converted to another format, with what that loses shown and its titles looked at."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace
from pathlib import Path

from keyer.documents.locate import read_path
from keyer.errors import SettingError, SheetError
from keyer.kinds.formats import parse_format
from keyer.kinds.plain_file import real_path
from keyer.kinds.ranges import one_of
from keyer.media.files import Files
from keyer.media.write import write_bytes
from keyer.paper.cells import Caption, Cell
from keyer.paper.grid import Heading, lay_board
from keyer.paper.page import Page, paper_size
from keyer.render.inputs import sheet_inputs
from keyer.render.lettering import settled
from keyer.render.levels import levels
from keyer.render.plan import Plan
from keyer.report.boards.board import foot, frame_pixels
from keyer.report.boards.page_files import name_page_output, write_pages
from keyer.report.boards.story import story_frames
from keyer.report.checks.findings import Finding
from keyer.report.checks.title_checks import title_checks
from keyer.report.checks.view import Viewer
from keyer.report.versions.compare_files import fitted
from keyer.report.versions.convert import convert_sheet
from keyer.report.versions.convert_times import Rounding
from keyer.sheet.load import load_sheet
from keyer.sheet.sheet import Sheet
from keyer.sheet.variables import Value

_SHOWN = 24
"""Moments of the board, at most."""


@dataclass(frozen=True, eq=False)
class Reframed:
    """Result of converting a sheet: the new one, rounded times, what of pictures is cut off.

    Attributes
    ----------
    sheet : Sheet
    roundings : tuple of Rounding
    lost : tuple of str
        What of the pictures is no longer seen.
    titles : tuple of str
        What does not hold of the titles; looked at only where the frame is another.
    notices : tuple of str
    """

    sheet: Sheet
    roundings: tuple[Rounding, ...]
    lost: tuple[str, ...]
    titles: tuple[str, ...]
    notices: tuple[str, ...]


def convert_files(
    path: Path,
    output: Path,
    form: str,
    *,
    lengths: str = "seconds",
    board: Path | None = None,
    force: bool = False,
    variables: Mapping[str, Value] | None = None,
) -> Reframed:
    """Convert a sheet file and write the new one beside it.

    Parameters
    ----------
    path : Path
        The sheet.
    output : Path
        In the same folder, from which both find their files.
    form : str
        As `keyer.kinds.formats.parse_format` takes it.
    lengths : {"seconds", "frames"}
        What transitions and fades keep.
    board : Path, optional
        `.png` or `.pdf`: the old and the new picture side by side.
    force : bool
        Overwrite outputs.
    variables : mapping of str to text, number or switch, optional
        As for `load_sheet`.

    Raises
    ------
    KeyerError
    """
    one_of("lengths", lengths, ("seconds", "frames"))
    files = Files((path,), force=force)
    files.write(output)
    if real_path(output).parent != real_path(path).parent:
        msg = f"output must lie beside {path.name} so that both find its files, got {output}."
        raise SettingError(msg)
    if board is not None:
        name_page_output(board, files)
    sheet = load_sheet(path, variables=variables)
    files.read(*sheet_inputs(sheet))
    made = convert_sheet(sheet, parse_format(form), lengths=lengths)
    shown, titles = _showable(made.sheet)
    lost: tuple[str, ...] = ()
    if _size(sheet) != _size(made.sheet):
        lost, unfit = _looked_at(sheet, shown)
        titles += unfit
    if board is not None:
        write_pages(reframe_board(sheet, shown, lost), board, made.sheet, files)
    write_bytes(output, made.sheet.text.encode(), files)
    return Reframed(made.sheet, made.roundings, lost, titles, made.notices)


def _size(sheet: Sheet) -> tuple[object, ...]:
    video = sheet.format
    return video.width, video.height, video.pixel_aspect


def _showable(sheet: Sheet) -> tuple[Sheet, tuple[str, ...]]:
    """Leave out overlays that cannot be drawn in the new frame, such as a title that is too wide.

    Returns
    -------
    sheet : Sheet
        Without them, to be shown.
    faults : tuple of str
        What is wrong with them.
    """
    try:
        with Plan(sheet):
            return sheet, ()
    except SheetError as error:
        names = {read_path(fault.path)[1] for fault in error.faults if _of_source(fault.path)}
        kept = tuple(one for one in sheet.overlays if one.source not in names)
        if len(kept) == len(sheet.overlays):
            raise
        said = tuple(f"{fault.path}: {fault.message}" for fault in error.faults)
        shown = tuple(replace(one, index=n) for n, one in enumerate(kept))
        return replace(sheet, overlays=shown), said


def _of_source(path: str) -> bool:
    return path.startswith("sources.")


def _looked_at(old: Sheet, new: Sheet) -> tuple[tuple[str, ...], tuple[str, ...]]:
    """Say what of the pictures another frame loses, and which titles do not hold in it."""
    with Plan(old) as plan:
        known = set(plan.notices)
    with Plan(new) as plan:
        lost = (text for text in plan.notices if "cut off" in text and text not in known)
        return _together(lost), tuple(_title_words(one) for one in title_findings(new, plan))


def _together(notices: Iterable[str]) -> tuple[str, ...]:
    """Say once what is the same of several sources."""
    found: dict[str, list[str]] = {}
    for notice in notices:
        name, _, words = notice.partition(": ")
        found.setdefault(words, []).append(name)
    return tuple(f"{', '.join(names)}: {words}" for words, names in found.items())


def _title_words(one: Finding) -> str:
    return f"{one.subject}, {one.check}: {one.verdict}, {one.value:.3g} {one.unit}. {one.remedy}"


def title_findings(sheet: Sheet, plan: Plan) -> list[Finding]:
    """Look at the titles of a sheet as `keyer check` does, and at nothing else.

    Returns
    -------
    list of Finding
        Of what does not hold.
    """
    viewer = Viewer(sheet.format, plan.evaluator)
    found: list[Finding] = []
    for check in (one for level in levels(sheet) for one in title_checks(level, plan)):
        for index in check.frames:
            check.look(viewer.view(index, plan.frame(index)))
        found += [one for one in check.findings() if one.verdict != "holds"]
    return found


def reframe_board(sheet: Sheet, new: Sheet, lost: tuple[str, ...]) -> list[Page]:
    """Show the moments of a spot before and after it was converted, side by side.

    Parameters
    ----------
    sheet : Sheet
        As it was.
    new : Sheet
    lost : tuple of str
        What of the pictures is no longer seen.
    """
    ratio = sheet.format.rate / new.format.rate
    cells: list[Cell] = []
    with Plan(sheet) as was, Plan(new) as plan:
        for number, one in enumerate(_moments(new), 1):
            before = min(int(one * ratio), sheet.length - 1)
            old = fitted(frame_pixels(was, before), sheet.format, new.format)
            said = Caption(sheet.format.name, strong=True), Caption(new.format.name, strong=True)
            cells.append(Cell(number, old, said[:1], sheet.label(before), "before"))
            now = frame_pixels(plan, one)
            cells.append(Cell(number, now, said[1:], new.label(one), "now", told=True))
    facts = (f"From {sheet.format.name} to {new.format.name}", *lost[:8])
    heading = Heading("Converted", new.title or new.name, facts, foot(new))
    aspect = float(new.format.display_aspect)
    return lay_board(cells, heading, paper_size("A3"), aspect, together=2)


def _moments(sheet: Sheet) -> list[int]:
    """Choose what is shown: every shot and overlay in full, evenly fewer where there are many."""
    full = {cue.at + cue.transition.length for cue in sheet.cues}
    full |= {settled(sheet, overlay)[0] for overlay in sheet.overlays}
    frames = sorted(one.frame for one in story_frames(sheet) if one.frame in full)
    step = -(-len(frames) // _SHOWN)
    return frames[:: max(step, 1)] or [0]
