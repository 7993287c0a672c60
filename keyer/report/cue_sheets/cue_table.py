"""The cue sheet as a table: CSV, one row an event."""

from __future__ import annotations

import csv
import io

from keyer.documents.csv_cells import plain_cell
from keyer.library import Patterns
from keyer.render.patterns import sheet_patterns
from keyer.report.cue_sheets.cues import CueSheet, Event
from keyer.report.words import (
    colour_words,
    effect_name,
    faded_colour,
    found_pattern,
    modifier_words,
)
from keyer.sheet.effect import Transition
from keyer.sheet.sheet import Sheet

COLUMNS = (
    "number", "kind", "name", "in", "out", "frames", "in_frame", "out_frame", "from", "source",
    "transition", "transition_frames", "curve", "smpte_code", "pattern", "soft_percent",
    "border_percent", "border_soft_percent", "border_colour", "pattern_settings",
    "out_transition", "out_transition_frames", "out_curve", "out_smpte_code", "out_pattern",
    "out_soft_percent", "out_border_percent", "out_border_soft_percent", "out_border_colour",
    "out_pattern_settings", "key", "placement", "title_page", "title_text", "note",
    "desk_soft", "desk_border", "desk_border_soft",
    "out_desk_soft", "out_desk_border", "out_desk_border_soft", "within",
)  # fmt: skip
"""Columns of the CSV."""


def cue_csv(cues: CueSheet) -> str:
    """Write a cue sheet as CSV (RFC 4180), one row an event.

    Returns
    -------
    str
        No cell of it is a formula.
    """
    text = io.StringIO()
    writer = csv.writer(text)
    writer.writerow(COLUMNS)
    parts = ((cues.sheet, cues.events, ""), *((i.sheet, i.events, i.name) for i in cues.inner))
    for row in ([*_row(sheet, one), name] for sheet, rows, name in parts for one in rows):
        writer.writerow(plain_cell(cell) if isinstance(cell, str) else cell for cell in row)
    return text.getvalue()


def _row(sheet: Sheet, event: Event) -> list[str | int | float | None]:
    patterns = sheet_patterns(sheet)
    row: list[str | int | float | None] = [
        event.number, event.kind, event.name, sheet.label(event.start), sheet.label(event.stop),
        event.frames, event.start, event.stop, event.before, event.source,
        *_transition_cells(event.enter, patterns),
    ]  # fmt: skip
    leave = event.leave
    row += _transition_cells(leave, patterns) if leave else [None] * 10
    row += [event.key, event.placement, event.page, event.text, event.note]
    return [*row, *_desk_cells(sheet, event.enter), *_desk_cells(sheet, leave)]


def _desk_cells(sheet: Sheet, transition: Transition | None) -> list[str | int | float | None]:
    """Say what the station's desk shows for a wipe's softness, border and border softness."""
    cells: list[str | int | float | None] = []
    for name in ("soft", "border", "border_soft"):
        dial = sheet.dials.get(name)
        edge = transition.edge if transition and transition.kind == "wipe" else None
        cells.append(dial.words(getattr(edge, name)) if dial and edge else None)
    return cells


def _transition_cells(transition: Transition, patterns: Patterns) -> list[str | int | float | None]:
    """Ten cells; those of a wipe alone are empty for other transitions."""
    if not transition.length:
        return ["cut", 0, *[None] * 8]
    what = (
        effect_name(transition, patterns).lower() if transition.kind == "wipe" else transition.kind
    )
    cells: list[str | int | float | None] = [what, transition.length, transition.curve]
    if transition.kind != "wipe":
        return [*cells, *[None] * 7]
    pattern, edge = found_pattern(transition, patterns), transition.edge
    cells += [pattern.code, pattern.name] if pattern else [None, str(transition.pattern)]
    settings = modifier_words(transition.modifiers)
    if pattern is not None and pattern.effect != "wipe":
        colour = faded_colour(transition, patterns)
        return [*cells, *[None] * 4, ", ".join([*([colour] if colour else []), *settings])]
    cells += [edge.soft, edge.border, edge.border_soft, _border_cell(transition)]
    return [*cells, ", ".join(settings)]


def _border_cell(transition: Transition) -> str | None:
    """Say what fills a border: a colour, two of them, or a source."""
    edge = transition.edge
    if not edge.border:
        return None
    if transition.border_source:
        return transition.border_source
    colours = [edge.border_colour, *([edge.border_ramp] if edge.border_ramp else [])]
    return " to ".join(map(colour_words, colours))
