"""The storyboard of a spot: its frames on paper, numbered, with what the crew has to set."""

from __future__ import annotations

from contextlib import suppress
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import cv2
import numpy as np
from numpy.typing import NDArray

from keyer.errors import KeyerError, SettingError
from keyer.kinds.timing import rate_name
from keyer.paper.cells import Caption, Cell
from keyer.paper.grid import Heading, lay_board
from keyer.paper.page import Page, paper_size
from keyer.pixel.colour.load import to_array
from keyer.render.plan import Plan
from keyer.render.recipe import program
from keyer.render.sound import sound_wave
from keyer.render.zones import refuse_no_zones, with_zones
from keyer.report.boards.story import MOST_PICTURES, story_frames
from keyer.report.boards.strip import draw_strip
from keyer.report.words import SHORT_DIGEST, frames_words
from keyer.sheet.sheet import Sheet

_WAVE = 320
"""Points of the wave of the mix."""

LARGEST = 1440
"""Columns of a picture that is kept for a board: 122 mm at 300 dpi."""


@dataclass(frozen=True)
class Board:
    """A board, ready to be written.

    Attributes
    ----------
    pages : list of Page
    title : str
    sheet : Sheet
        That all its pictures come from.
    recipe : mapping
        What it takes to make the board again, as plain data.
    cells : list of mapping
        Number, frame and changes of each picture.
    notices : tuple of str
    inputs : tuple of Path
        Files that the variations are made of.
    """

    pages: list[Page]
    title: str
    sheet: Sheet
    recipe: dict[str, Any]
    cells: list[dict[str, Any]]
    notices: tuple[str, ...] = ()
    inputs: tuple[Path, ...] = ()


def frame_pixels(plan: Plan, frame: int, *, zones: bool = False) -> NDArray[np.uint8]:
    """Render a frame for print: 8 bits, no larger than a board needs.

    Parameters
    ----------
    plan : Plan
    frame : int
    zones : bool
        With what the station's rules keep free drawn into it.

    Returns
    -------
    (H, W, 3) uint8
    """
    pixels = to_array(plan.picture(frame, np.uint8))
    if pixels.shape[1] > LARGEST:
        rows = max(round(pixels.shape[0] * LARGEST / pixels.shape[1]), 1)
        pixels = np.asarray(cv2.resize(pixels, (LARGEST, rows), interpolation=cv2.INTER_AREA))
    if zones:
        sheet = plan.sheet
        pixels = with_zones(pixels, sheet.title_rules, float(sheet.format.pixel_aspect))
    return pixels


def sheet_facts(sheet: Sheet) -> str:
    """Say format, length and first timecode in one line."""
    video = sheet.format
    seconds = float(sheet.length / video.rate)
    return (
        f"{video.name}, {video.width} x {video.height}, {rate_name(video.rate)} frames a second"
        f"  ·  {frames_words(sheet.length)} ({seconds:.2f} s)"
        f"  ·  {sheet.label(0)} to {sheet.label(sheet.length)}"
    )


def storyboard(sheet: Sheet, paper: str = "A3", *, zones: bool = False) -> Board:
    """Make the storyboard of a sheet.

    Parameters
    ----------
    sheet : Sheet
    paper : {"A3", "A4"}
        Landscape.
    zones : bool
        As for `frame_pixels`.

    Raises
    ------
    SheetError, InputFileError, NoBackingError, SettingError
    """
    size = paper_size(paper)
    if zones:
        refuse_no_zones(sheet.title_rules)
    story = story_frames(sheet)
    if len(story) > MOST_PICTURES:
        msg = (
            f"a storyboard shows at most {MOST_PICTURES} pictures, and this sheet has "
            f"{len(story)} moments to show. Draw its parts from sheets of their own."
        )
        raise SettingError(msg)
    cells = []
    with Plan(sheet) as plan:
        for number, one in enumerate(story, 1):
            captions = [Caption(text, strong=True) for text in one.heads]
            captions += [Caption(said.text, swatch=said.colour) for said in one.settings]
            pixels = frame_pixels(plan, one.frame, zones=zones)
            time, mark = sheet.label(one.frame), f"frame {one.frame}"
            cells.append(Cell(number, pixels, tuple(captions), time, mark))
        notices = tuple(plan.notices)
    frames = {number: one.frame for number, one in enumerate(story, 1)}
    wave: list[float] = []
    if sheet.sounds:
        with suppress(KeyerError):  # sound that cannot be used is no matter for pictures
            wave = sound_wave(sheet, points=_WAVE)

    def strip(page: Page, place: tuple[float, float, float], numbers: range) -> float:
        return draw_strip(page, sheet, {n: frames[n] for n in numbers}, place, wave)

    title = sheet.title or sheet.name
    facts = (sheet_facts(sheet), *((sheet.note,) if sheet.note else ()))
    heading = Heading("Storyboard", title, facts, foot(sheet), strip)
    pages = lay_board(cells, heading, size, float(sheet.format.display_aspect))
    made = [{"number": n, "frame": frame, "changes": {}} for n, frame in frames.items()]
    return Board(
        pages, title, sheet, {"paper": paper, **({"zones": True} if zones else {})}, made, notices
    )


def foot(sheet: Sheet) -> str:
    """Say what a board's numbers mean, and which sheet it shows."""
    return (
        f"Ask for a picture by its number.  ·  Times are timecode; widths are percent of picture "
        f"height.  ·  {program()}, sheet {sheet.name}, {sheet.digest[:SHORT_DIGEST]}"
    )
