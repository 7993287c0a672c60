"""A board of variations: one moment of a spot with keys of its sheet varied, to choose from."""

from __future__ import annotations

import itertools
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from keyer.documents.locate import read_path
from keyer.errors import KeyerError, SettingError, SheetError
from keyer.library import Patterns
from keyer.paper.cells import Caption, Cell
from keyer.paper.grid import Grid, Heading, board_grid, lay_board
from keyer.paper.page import paper_size
from keyer.render.inputs import sheet_inputs
from keyer.render.patterns import sheet_patterns
from keyer.render.plan import Plan
from keyer.render.zones import refuse_no_zones
from keyer.report.boards.board import Board, foot, frame_pixels
from keyer.report.boards.choices import Choice, key_label, last_of, value_captions
from keyer.report.boards.varied import Place, refuse_alike, refuse_idle, varied_frame, varied_place
from keyer.report.words import cue_name, effect_words, key_words, overlay_name
from keyer.sheet.edit import change_sheet, flatten_sheet
from keyer.sheet.effect import Transition
from keyer.sheet.load import parse_again
from keyer.sheet.sheet import Sheet

_LARGER = 1.2
"""How much larger pictures must be for values other than the last key's to stand side by side."""

_SHOWN = 3
"""Faults of a variation that are told; they stand in one line."""


def flat_sheet(sheet: Sheet) -> Sheet:
    """Return a sheet with its includes worked in, so that any key can be changed."""
    return parse_again(sheet, flatten_sheet(sheet))


def varied(sheet: Sheet, changes: Mapping[str, Any]) -> Sheet:
    """Change a sheet for a variation.

    Parameters
    ----------
    sheet : Sheet
        Flat.
    changes : mapping
        Value by path.

    Raises
    ------
    SettingError
        If it does not hold; names the variation.
    """
    try:
        return change_sheet(sheet, changes)
    except KeyerError as error:
        raise _refused(changes, error) from None


def _refused(changes: Mapping[str, Any], error: KeyerError) -> SettingError:
    faults = error.faults if isinstance(error, SheetError) else ()
    why = "; ".join(f"{fault.path}: {fault.message}" for fault in faults[:_SHOWN]) or str(error)
    if len(faults) > _SHOWN:
        why += f" And {len(faults) - _SHOWN} more faults."
    asked = ", ".join(f"{key}={value}" for key, value in changes.items())
    return SettingError(f"vary {asked} makes a sheet with faults: {why}")


@dataclass(frozen=True, eq=False)
class _Made:
    """One variation rendered."""

    changes: Mapping[str, Any]
    sheet: Sheet
    frame: int
    pixels: NDArray[np.uint8]
    notices: tuple[str, ...]


def _make(changes: Mapping[str, Any], sheet: Sheet, frame: int, *, zones: bool) -> _Made:
    try:
        with Plan(sheet) as plan:
            pixels = frame_pixels(plan, frame, zones=zones)
            return _Made(changes, sheet, frame, pixels, tuple(plan.notices))
    except SheetError as error:
        raise _refused(changes, error) from None


def variation_board(
    sheet: Sheet,
    choices: Sequence[Choice],
    *,
    at: int | None = None,
    paper: str = "A3",
    zones: bool = False,
) -> Board:
    """Make a board of variations.

    Parameters
    ----------
    sheet : Sheet
    choices : sequence of Choice
        At least one; the values of the last one stand side by side, unless those of another
        suit the paper better.
    at : int, optional
        Frame; default: as `varied_frame` says.
    paper : {"A3", "A4"}
        Landscape.
    zones : bool
        As for `frame_pixels`.

    Raises
    ------
    SettingError
        If a variation does not hold, or a key makes no difference.
    SheetError, InputFileError, NoBackingError
    """
    size = paper_size(paper)
    if zones:
        refuse_no_zones(sheet.title_rules)
    flat = flat_sheet(sheet)
    keys = [choice.key for choice in choices]
    asked = [
        dict(zip(keys, values, strict=True))
        for values in itertools.product(*(choice.values for choice in choices))
    ]
    sheets = [varied(flat, changes) for changes in asked]
    refuse_idle(flat, choices, asked, sheets, varied)
    place = varied_place(choices, asked, sheets)
    made = []
    for changes, one in zip(asked, sheets, strict=True):
        frame = varied_frame(one, place) if at is None else min(at, one.length - 1)
        made.append(_make(changes, one, frame, zones=zones))
    refuse_alike(choices, asked, [one.pixels for one in made], _when(sheet, made))
    heading = _heading(sheet, keys, place, made)
    aspect = float(sheet.format.display_aspect)
    made, cells, together = _in_rows(choices, made, flat, (heading, size, aspect))
    pages = lay_board(cells, heading, size, aspect, together)
    vary = [[choice.key, list(choice.values)] for choice in choices]
    records = [
        {"number": number, "frame": one.frame, "changes": dict(one.changes)}
        for number, one in enumerate(made, 1)
    ]
    notices = tuple(dict.fromkeys(notice for one in made for notice in one.notices))
    recipe = {"paper": paper, "vary": vary, "at": at, **({"zones": True} if zones else {})}
    inputs = tuple(dict.fromkeys(path for one in sheets for path in sheet_inputs(one)))
    return Board(pages, heading.title, flat, recipe, records, notices, inputs)


def _in_rows(
    choices: Sequence[Choice],
    made: Sequence[_Made],
    flat: Sheet,
    paper: tuple[Heading, tuple[float, float], float],
) -> tuple[list[_Made], list[Cell], int]:
    """Put the values of one key side by side: of the last, unless another's suit the paper better.

    Returns variations in the order of their numbers, their cells, and how many stand together.
    """
    found: list[tuple[list[_Made], list[Cell], int, Grid]] = []
    counts = [len(choice.values) for choice in choices]
    for last in reversed(range(len(choices))):
        numbers = np.arange(len(made)).reshape(counts)
        order = [made[n] for n in np.moveaxis(numbers, last, -1).ravel().tolist()]
        cells = [_cell(number, one, flat) for number, one in enumerate(order, 1)]
        together = counts[last] if len(counts) > 1 else 1
        grid = board_grid(cells, *paper, together)
        if not found or _suits_better(grid, found[0][-1]):
            found = [(order, cells, together, grid)]
    return found[0][:-1]


def _suits_better(grid: Grid, other: Grid) -> bool:
    if len(grid.pages) != len(other.pages):
        return len(grid.pages) < len(other.pages)
    return grid.width > _LARGER * other.width


def _cell(number: int, made: _Made, flat: Sheet) -> Cell:
    mark = "as in the sheet" if _as_before(made, flat) else ""
    labels = [key_label(key, made.changes, flat) for key in made.changes]
    captions: list[Caption] = []
    for label, (key, value) in zip(labels, made.changes.items(), strict=True):
        alone = len(labels) == 1
        captions += value_captions(label, key, value, sheet_patterns(flat), alone=alone)
    return Cell(number, made.pixels, tuple(captions), mark=mark, told=True)


def _as_before(made: _Made, flat: Sheet) -> bool:
    """Whether a variation says what the sheet says, though a pattern may be called otherwise."""
    changes = {
        key: value for key, value in made.changes.items() if not _same_pattern(key, value, flat)
    }
    return (varied(flat, changes) if changes else flat).digest == flat.digest


def _same_pattern(key: str, value: Any, flat: Sheet) -> bool:
    if last_of(key) != "pattern":
        return False
    before: Any = flat.data
    try:
        for step in read_path(key):
            before = before[step]
        patterns = sheet_patterns(flat)
        return patterns.find(before) is patterns.find(value)
    except (KeyError, IndexError, TypeError, KeyerError):
        return False


def _when(sheet: Sheet, made: Sequence[_Made]) -> str:
    """Say of which frame the variations are."""
    frames = list(dict.fromkeys(one.frame for one in made))
    return f"frame {frames[0]}, {sheet.label(frames[0])}" if len(frames) == 1 else "each half way"


def _heading(sheet: Sheet, keys: Sequence[str], place: Place, made: Sequence[_Made]) -> Heading:
    """Say what is shown, what is varied and what stays."""
    when, name = _when(sheet, made), _place_name(sheet, place)
    where = f"{name}, {when}" if name else when
    labels = [key_label(key, keys, sheet) for key in keys]
    facts = [f"{where}  ·  {sheet.format.name}", f"Varied: {'  ·  '.join(labels)}"]
    common = _common(place, [one.sheet for one in made])
    if common:
        facts.append(f"The same in all: {'  ·  '.join(common)}")
    return Heading("Variations", sheet.title or sheet.name, tuple(facts), foot(sheet))


def _place_name(sheet: Sheet, place: Place) -> str:
    table, number, _ = place
    if table == "cues" and number < len(sheet.cues):
        return f"Cue {number + 1}: {cue_name(sheet.cues[number])}"
    if table == "overlays" and number < len(sheet.overlays):
        return f"Overlay {number + 1}: {overlay_name(sheet.overlays[number])}"
    return ""


def _common(place: Place, sheets: Sequence[Sheet]) -> list[str]:
    """Find the settings of the transition or key that are alike in all variations."""
    said = [_said(place, sheet) for sheet in sheets]
    return [line for line in said[0] if all(line in other for other in said)]


def _said(place: Place, sheet: Sheet) -> list[str]:
    table, number, part = place
    patterns = sheet_patterns(sheet)
    if table == "cues":
        return _texts(sheet.cues[number].transition, patterns)
    if table == "overlays":
        overlay = sheet.overlays[number]
        if part == "transition_in":
            return _texts(overlay.enter, patterns)
        if part == "transition_out":
            return _texts(overlay.leave, patterns)
        return [key_words(overlay.key)] if overlay.key else []
    return []


def _texts(transition: Transition, patterns: Patterns) -> list[str]:
    return [said.text for said in effect_words(transition, patterns)]
