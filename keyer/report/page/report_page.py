"""The report as one page: everything about a spot that its three readers ask for."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from keyer.kinds.cautions import CAUTION
from keyer.measure.cells import Place
from keyer.report.checks.check import CheckReport
from keyer.report.cue_sheets.cues import CueSheet
from keyer.report.page.cue_page import cue_values
from keyer.report.page.finding_cards import OF_PLATES, FindingCard, counts, finding_cards, held
from keyer.report.page.key_boards import KeyBoard
from keyer.report.page.plots import plots
from keyer.report.page.render import render_page
from keyer.report.page.timeline import GUTTER, WIDTH, place_of_frame, ticks, timeline_svg
from keyer.report.words import Setting
from keyer.sheet.sheet import Sheet

WORDS = {
    "fails": "Something fails",
    "watch": "Nothing fails; some things need a look",
    "holds": "Everything holds",
}


@dataclass(frozen=True)
class StoryPicture:
    """A picture of the storyboard on the page."""

    number: int
    time: str
    frame: int
    heads: tuple[str, ...]
    settings: tuple[Setting, ...]
    source: str


@dataclass(frozen=True)
class ScopePicture:
    """A chosen frame with its waveform and its vectorscope, both SVG."""

    time: str
    frame: int
    name: str
    source: str
    waveform: str
    vectorscope: str


@dataclass(frozen=True)
class ReportParts:
    """All parts of a report, ready for the template.

    Attributes
    ----------
    sheet : Sheet
    check : CheckReport
    cues : CueSheet
    story : list of StoryPicture
    keys : list of KeyBoard
    scopes : list of ScopePicture
    worst : dict
        Pictures for the cards of findings, by their keys.
    sounds : list of (start, stop)
    waves : list of list of float
        Peaks of each sound while it is heard.
        Frames on which each sound is heard.
    """

    sheet: Sheet
    check: CheckReport
    cues: CueSheet
    story: list[StoryPicture]
    keys: list[KeyBoard]
    scopes: list[ScopePicture]
    worst: dict[tuple[str, str], str]
    sounds: list[tuple[int, int]]
    waves: list[list[float]]


def report_page(parts: ReportParts) -> str:
    """Write a report as one HTML file."""
    sheet, check = parts.sheet, parts.check
    cards, good = finding_cards(check.findings), held(check.findings)
    pins = {picture.number: picture.frame for picture in parts.story}
    return render_page(
        "report.html.j2",
        kind="Report",
        verdict=check.verdict,
        verdict_words=WORDS[check.verdict],
        counts=counts(cards, len(good)),
        cards=[_shown(card, parts.worst) for card in cards],
        held=good,
        caution=CAUTION,
        notices=check.notices,
        timeline=timeline_svg(sheet, pins, check.findings, parts.sounds, parts.waves),
        gutter=100 * GUTTER / WIDTH,
        ticks=[_tick(sheet, frame, label) for frame, label in ticks(sheet)],
        plots=plots(sheet, check.series),
        story=parts.story,
        keys=parts.keys,
        scopes=parts.scopes,
        **cue_values(parts.cues),
    )


def _shown(card: FindingCard, pictures: dict[tuple[str, str], str]) -> dict[str, Any]:
    """Give a card its picture, and the box where the fault lies in percent of it."""
    place = card.place or Place(0, 0, 0, 0)
    of_plate = card.check.startswith(OF_PLATES)
    caption = "The plate, as recorded" if of_plate else f"Worst at {card.timecode}"
    shown = {"picture": pictures.get(card.key, ""), "box": place, "caption": caption}
    return {**vars(card), **shown}


def _tick(sheet: Sheet, frame: int, label: str) -> dict[str, Any]:
    """Place of a time label, in percent of a plot's width."""
    inside = (place_of_frame(sheet, frame) - GUTTER) / (WIDTH - GUTTER)
    return {"left": round(100 * inside, 3), "label": label}
