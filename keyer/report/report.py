"""The report of a spot: checked, rendered where it matters, and put on one page."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from pathlib import Path

import numpy as np

from keyer.errors import OutputError
from keyer.media.files import Files
from keyer.media.write import write_bytes
from keyer.pixel.colour.load import store
from keyer.render.finishing import opacity
from keyer.render.inputs import sheet_inputs
from keyer.render.plan import Plan
from keyer.render.sinks.pictures import subject
from keyer.render.sound import heard_frames, sound_wave
from keyer.report.boards.story import story_frames
from keyer.report.checks.check import CheckReport, Progress, check_sheet
from keyer.report.checks.key_checks import without_backing
from keyer.report.cue_sheets.cues import cue_sheet
from keyer.report.page.finding_cards import OF_PLATES, finding_cards
from keyer.report.page.key_boards import key_boards, keyed_overlays
from keyer.report.page.pictures import jpeg_uri
from keyer.report.page.report_page import ReportParts, ScopePicture, StoryPicture, report_page
from keyer.report.page.scopes import vectorscope_svg, waveform_svg
from keyer.report.words import cue_name
from keyer.sheet.load import load_sheet
from keyer.sheet.sheet import Sheet
from keyer.sheet.variables import Value

_STORY, _CARD = 480, 400
"""Columns of the pictures of the storyboard and of the findings."""

_MOST_CHOSEN = 10

_WAVE = 240
"""Points of a sound's wave."""


def chosen_frames(sheet: Sheet) -> list[int]:
    """Choose the frames for waveform and vectorscope: the middles of the longest shots.

    Returns
    -------
    list of int
        At most ten, in order of time.
    """
    shots = []
    for cue in sheet.cues:
        after = sheet.until(cue)
        start = min(cue.at + cue.transition.length, after - 1)
        if cue.source is not None:
            shots.append((after - start, (start + after) // 2))
    longest = sorted(shots, key=lambda shot: (-shot[0], shot[1]))[:_MOST_CHOSEN]
    return sorted(frame for _, frame in longest)


def make_report(
    sheet: Sheet, at: Sequence[int] = (), progress: Progress | None = None
) -> tuple[str, CheckReport]:
    """Check a sheet and write the report.

    Parameters
    ----------
    sheet : Sheet
    at : sequence of int
        Frames for waveform and vectorscope; none: as `chosen_frames` says.
    progress : callable, optional
        Told of the frames that are checked.

    Returns
    -------
    page : str
        HTML, the same for the same sheet.
    check : CheckReport

    Raises
    ------
    SheetError, InputFileError
    """
    sounds = heard_frames(sheet)
    check = check_sheet(sheet, progress)
    waves = [sound_wave(sheet, sound.index, _WAVE) for sound in sheet.sounds]
    with Plan(sheet) as whole:
        _, seen = without_backing(sheet, whole)
        cues = cue_sheet(sheet, whole)
        plates = _plates(sheet, whole, check)
    with Plan(seen) as plan:
        parts = ReportParts(
            sheet,
            check,
            cues,
            _story(seen, plan),
            key_boards(seen, plan, check.findings),
            [_scope(seen, plan, frame) for frame in at or chosen_frames(seen)],
            _worst(seen, plan, check) | plates,
            sounds,
            waves,
        )
    return report_page(parts), check


def _jpeg(plan: Plan, frame: int, columns: int) -> str:
    pixels = plan.picture(frame, np.uint8).planes.transpose(1, 2, 0)
    return jpeg_uri(pixels, float(plan.sheet.format.display_aspect), columns)


def _story(sheet: Sheet, plan: Plan) -> list[StoryPicture]:
    return [
        StoryPicture(
            number, sheet.label(one.frame), one.frame, one.heads, one.settings,
            _jpeg(plan, one.frame, _STORY),
        )
        for number, one in enumerate(story_frames(sheet), 1)
    ]  # fmt: skip


def _scope(sheet: Sheet, plan: Plan, frame: int) -> ScopePicture:
    planes = plan.picture(frame, np.float32).planes
    matrix, aspect = sheet.format.matrix, float(sheet.format.display_aspect)
    return ScopePicture(
        sheet.label(frame),
        frame,
        cue_name(sheet.base_at(frame).cue),
        jpeg_uri(store(planes, np.uint8).transpose(1, 2, 0), aspect, _STORY),
        waveform_svg(planes, matrix),
        vectorscope_svg(planes, matrix),
    )


def _plates(sheet: Sheet, plan: Plan, check: CheckReport) -> dict[tuple[str, str], str]:
    """Show the plate, as it was surveyed, where a finding speaks of its backing."""
    keyed = {name: (level, overlay) for level, overlay, name in keyed_overlays(sheet)}
    found = {}
    for card in finding_cards(check.findings):
        if card.check.startswith(OF_PLATES) and card.full_subject in keyed:
            level, overlay = keyed[card.full_subject]
            own = level.plan(plan)
            plate = own.colour(own.recorded(overlay, overlay.start))
            pixels = store(plate, np.uint8).transpose(1, 2, 0)
            found[card.key] = jpeg_uri(pixels, float(sheet.format.display_aspect), _CARD)
    return found


def _worst(sheet: Sheet, plan: Plan, check: CheckReport) -> dict[tuple[str, str], str]:
    """Render what findings speak of but plates: a matte, else the picture; of length nothing."""
    keyed = {name: (level, overlay) for level, overlay, name in keyed_overlays(sheet)}
    found = {}
    for card in finding_cards(check.findings):
        if card.check.startswith(OF_PLATES):
            continue
        if card.check.startswith("coverage") and card.full_subject in keyed:
            level, overlay = keyed[card.full_subject]
            own, at = level.plan(plan), level.own(card.frame)
            layer = subject(own.subject(overlay, at), plan.evaluator)
            matte = store(opacity(layer), np.uint8)
            found[card.key] = jpeg_uri(matte, float(sheet.format.display_aspect), _CARD)
        elif card.check != "timing.length" and not card.check.startswith("sound."):
            found[card.key] = _jpeg(plan, card.frame, _CARD)
    return found


def report_file(
    path: Path,
    output: Path,
    *,
    at: Sequence[str] = (),
    force: bool,
    progress: Progress | None = None,
    variables: Mapping[str, Value] | None = None,
) -> CheckReport:
    """Write the report of a sheet file.

    Parameters
    ----------
    path : Path
        The sheet.
    output : Path
        `.html`.
    at : sequence of str
        Times for waveform and vectorscope.
    force : bool
        Overwrite the output.
    progress : callable, optional
    variables : mapping of str to text, number or switch, optional
        As for `load_sheet`.

    Raises
    ------
    KeyerError
    """
    if output.suffix.lower() != ".html":
        msg = f"output must end in .html for a report, got {output}."
        raise OutputError(msg)
    files = Files((path,), force=force)
    files.write(output)
    sheet = load_sheet(path, variables=variables)
    files.read(*sheet_inputs(sheet))
    frames = [sheet.frame(time) for time in at]
    page, check = make_report(sheet, frames, progress)
    write_bytes(output, page.encode(), files)
    return check
