"""The cue sheet as a page, and its rows for the report."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from keyer.render.patterns import sheet_patterns
from keyer.render.recipe import program
from keyer.report.cue_sheets.cues import CueSheet, Event, Inner, cue_facts
from keyer.report.page.render import render_page
from keyer.report.words import (
    Setting,
    faded_colour,
    found_pattern,
    frames_words,
    transition_words,
    wipe_settings,
)
from keyer.sheet.effect import Transition
from keyer.sheet.sheet import Sheet


@dataclass(frozen=True)
class Effect:
    """A transition as the page writes it: kind, pattern, edge.

    Attributes
    ----------
    words : str
        Kind and length.
    code : str
        SMPTE wipe code.
    pattern : str
    edge : list of Setting
    label : {"", "in", "out"}
    colour : str
        Of a fade.
    """

    words: str
    code: str
    pattern: str
    edge: list[Setting]
    label: str = ""
    colour: str = ""


@dataclass(frozen=True)
class Row:
    """One event in words; `effects` are one or two transitions."""

    number: int
    base: bool
    start: str
    stop: str
    frames: int
    name: str
    sources: str
    effects: list[Effect]
    more: list[str]
    note: str


@dataclass(frozen=True)
class Part:
    """The rows of an effect, or of another sheet."""

    name: str
    facts: str
    note: str
    on_air: str
    rows: list[Row]
    sources: tuple[tuple[str, str], ...]


def _part(inner: Inner) -> Part:
    sheet = inner.sheet
    facts = frames_words(sheet.length) if sheet.prefix else cue_facts(sheet)
    rows = [_row(sheet, event) for event in inner.events]
    return Part(inner.name, facts, sheet.note, "; ".join(inner.on_air), rows, inner.sources)


def _row(sheet: Sheet, event: Event) -> Row:
    effects = [_effect(sheet, event.enter)]
    if event.leave is not None:
        effects = [
            _effect(sheet, event.enter, "in"),
            _effect(sheet, event.leave, "out"),
        ]
    page = "" if event.page is None else f"Page {event.page}"
    said = f"“{event.text}”" if event.text else ""
    more = [text for text in (event.key, page, said, event.placement) if text]
    sources = f"{event.before} → {event.source}" if event.before else event.source
    return Row(
        event.number, event.kind == "cue", sheet.label(event.start), sheet.label(event.stop),
        event.frames, event.name, sources, effects, more, event.note,
    )  # fmt: skip


def _effect(sheet: Sheet, transition: Transition, label: str = "") -> Effect:
    patterns = sheet_patterns(sheet)
    words = transition_words(transition, patterns)
    colour = faded_colour(transition, patterns)
    if transition.kind != "wipe" or not transition.length:
        return Effect(words, "", "", [], label, colour)
    edge = wipe_settings(transition, patterns, sheet.dials)
    pattern = found_pattern(transition, patterns)
    if pattern is None:
        return Effect(words, "", str(transition.pattern), edge, label)
    code = "" if pattern.code is None else str(pattern.code)
    return Effect(words, code, pattern.name, edge, label, colour)


def cue_values(cues: CueSheet) -> dict[str, Any]:
    """Give what the templates ask for of a sheet and its cue sheet."""
    sheet = cues.sheet
    return {
        "title": sheet.title or sheet.name,
        "facts": cue_facts(sheet),
        "note": sheet.note,
        "approved": cues.approved,
        "program": program(),
        "name": sheet.name,
        "digest": sheet.digest,
        "rows": [_row(sheet, event) for event in cues.events],
        "inner": [_part(one) for one in cues.inner],
        "sources": cues.sources,
        "sounds": cues.sounds,
        "remarks": [(sheet.label(one.at), one.text, one.by) for one in sheet.remarks],
    }


def cue_page(cues: CueSheet) -> str:
    """Write a cue sheet as one HTML file, to be printed on one A4 sheet."""
    return render_page("cues.html.j2", kind="Cue sheet", **cue_values(cues))
