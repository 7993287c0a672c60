"""A keyed overlay taken apart for the report: plate, matte, subject, spill, and the numbers."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from keyer.kinds.check_names import NAMES, subject_name
from keyer.kinds.picture import RgbPicture
from keyer.pixel.colour.load import store, to_array
from keyer.render.finishing import opacity
from keyer.render.key_views import (
    SPILL_COLOURS,
    signal_view,
    spill_picture,
    straight_subject,
    subject_on_grey,
    subject_with_spill,
)
from keyer.render.levels import Level, levels
from keyer.render.plan import Plan
from keyer.render.sinks.pictures import subject
from keyer.report.checks.findings import SEVERITY, Finding
from keyer.report.page.finding_cards import value_words
from keyer.report.page.pictures import jpeg_uri
from keyer.report.words import key_words
from keyer.sheet.sheet import Overlay, Sheet


@dataclass(frozen=True)
class Shown:
    """A picture with its caption."""

    caption: str
    source: str


@dataclass(frozen=True)
class Number:
    """One measure of a key: its worst value, and what that means."""

    verdict: str
    name: str
    value: str
    remedy: str


@dataclass(frozen=True)
class KeyBoard:
    """A keyed overlay on the page.

    Attributes
    ----------
    name : str
    time : str
        Timecode of the frame shown.
    settings : str
    reasons : tuple of str
        What was found in the picture, and what was chosen.
    pictures : list of Shown
    numbers : list of Number
    """

    name: str
    time: str
    settings: str
    reasons: tuple[str, ...]
    pictures: list[Shown]
    numbers: list[Number]


def key_boards(sheet: Sheet, plan: Plan, findings: Sequence[Finding]) -> list[KeyBoard]:
    """Take every keyed overlay apart, on its worst frame.

    Parameters
    ----------
    sheet : Sheet
        Without overlays that show no backing.
    plan : Plan
        Of that sheet.
    findings : sequence of Finding
    """
    boards: dict[str, KeyBoard] = {}
    for level, overlay, name in keyed_overlays(sheet):
        if name not in boards:  # an effect that is shown twice has one
            own = [one for one in findings if one.subject == name]
            boards[name] = _board(level, plan, overlay, own)
    return list(boards.values())


def keyed_overlays(sheet: Sheet) -> Iterator[tuple[Level, Overlay, str]]:
    """Yield every keyed overlay that is on air, in effects as well, with what findings call it."""
    for level in levels(sheet):
        for overlay in level.sheet.overlays:
            if overlay.key is not None and level.frames(overlay.start, overlay.stop - 1):
                yield level, overlay, level.named(overlay)


def _worst_frame(level: Level, overlay: Overlay, findings: Sequence[Finding]) -> int:
    """Choose the frame of the worst finding on which the overlay is fully there, or its middle."""
    first = overlay.start + overlay.enter.length
    there = level.frames(first, overlay.stop - overlay.leave.length - 1, whole=True)
    bad = [one for one in findings if one.verdict != "holds" and one.worst in there]
    if bad:
        return max(bad, key=lambda one: SEVERITY[one.verdict]).worst
    shown = level.frames(overlay.start, overlay.stop - 1)
    return shown[len(shown) // 2]


def _board(level: Level, spot: Plan, overlay: Overlay, findings: list[Finding]) -> KeyBoard:
    at, plan = _worst_frame(level, overlay, findings), level.plan(spot)
    frame, sheet = level.own(at), level.sheet
    layer = subject(plan.subject(overlay, frame), plan.evaluator)
    key = overlay.key
    if key is None:
        msg = "a keyed overlay has a key"
        raise AssertionError(msg)
    recorded = plan.colour(plan.recorded(overlay, frame))
    aspect = float(sheet.format.display_aspect)
    shown = {"As recorded": to_array(RgbPicture(store(recorded, np.uint8)))}
    settings = key_words(key)
    reasons: tuple[str, ...] = ()
    if key.kind == "chroma":
        choice = plan.key_choice(overlay)
        settings, reasons = key_words(key, choice.used), choice.reasons
        signal = signal_view(recorded, choice.settings, plan.matrix(overlay))
        shown["Key signal"] = store(signal, np.uint8)
    shown["Matte, white is subject"] = store(opacity(layer), np.uint8)
    shown["Subject on grey"] = to_array(subject_on_grey(layer))
    if key.kind == "chroma":
        before, left = _spills(plan, overlay, frame)
        shown["Spill as recorded"] = before
        shown[f"Spill left: {SPILL_COLOURS}"] = left
    shown["In the spot"] = to_array(spot.picture(at, np.uint8))
    pictures = [Shown(caption, jpeg_uri(pixels, aspect)) for caption, pixels in shown.items()]
    name, time = subject_name(level.named(overlay)), level.spot.label(at)
    return KeyBoard(name, time, settings, reasons, pictures, _numbers(findings))


def _spills(
    plan: Plan, overlay: Overlay, frame: int
) -> tuple[NDArray[np.uint8], NDArray[np.uint8]]:
    """Draw the spill on the subject, as recorded and as it is left."""
    recorded = plan.colour(plan.recorded(overlay, frame))
    settings, matrix = plan.key_choice(overlay).settings, plan.matrix(overlay)
    colour, matte = straight_subject(subject(plan.keyed(overlay, frame), plan.evaluator))
    before = subject_with_spill(recorded, matte, settings, matrix)
    first, second = (
        to_array(spill_picture(one, matte, settings.hue_deg, matrix)) for one in (before, colour)
    )
    return first, second


def _numbers(findings: Sequence[Finding]) -> list[Number]:
    """List every measure once, with its worst value."""
    worst: dict[str, Finding] = {}
    for one in findings:
        known = worst.get(one.check)
        if known is None or SEVERITY[one.verdict] > SEVERITY[known.verdict]:
            worst[one.check] = one
    return [
        Number(one.verdict, NAMES.get(one.check, one.check), value_words(one), one.remedy)
        for one in worst.values()
    ]
