"""The spot drawn to scale: what the base shows, what lies over it, where the pictures are."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from keyer.paper.cells import ACCENT, GREY, INK, PALE
from keyer.paper.page import Block, Page, Words, line_of, style, width_of
from keyer.report.time_axis import TimeAxis, pins_on, shots
from keyer.report.wave import wave_height
from keyer.report.words import cue_name, overlay_name
from keyer.sheet.sheet import Sheet

_BAND, _MIX = "#E6EAED", "#B9D3D6"
_NAME = style(7.5, INK)
_PIN = style(7, ACCENT, 700)
_OVER = style(7, GREY)
_HEIGHT, _LANE, _WAVE = 5.4, 3.4, 5.0
_SOUND = "#C9B98F"
_LONGEST_NAME, _BESIDE = 60.0, 1.2


def draw_strip(
    page: Page,
    sheet: Sheet,
    pins: Mapping[int, int],
    place: tuple[float, float, float],
    wave: Sequence[float] = (),
) -> float:
    """Draw a sheet over time.

    Parameters
    ----------
    page : Page
        Is drawn on.
    sheet : Sheet
    pins : mapping
        Number of a picture to its frame.
    place : tuple of three floats
        Left, top and width in mm.
    wave : sequence of float
        Peaks of the mix over the length of the sheet, full scale at 1.

    Returns
    -------
    float
        Height in mm.
    """
    left, top, width = place
    axis = TimeAxis(left, width, sheet.length)
    _pins(page, pins, axis, top)
    y = top + 3.2
    for shot in shots(sheet, axis):
        page.items.append(Block(shot.start, y, shot.stop - shot.start - 0.3, _HEIGHT, _BAND))
        if shot.full > shot.start:
            page.items.append(Block(shot.start, y, shot.full - shot.start, _HEIGHT, _MIX))
        room = shot.stop - shot.full - 3
        if room > 8:
            name = line_of(cue_name(shot.cue), _NAME, room)
            page.items.append(Words(shot.full + 1.5, y + 3.7, name))
    y += _HEIGHT + 0.8
    y += _overlays(page, sheet, axis, y) * _LANE
    if wave:
        _wave(page, wave, (left, y + 0.8, width))
        y += _WAVE + 1.2
    page.items.append(Block(left, y + 0.6, width, 0.15, PALE))
    return y + 0.6 - top


def _overlays(page: Page, sheet: Sheet, axis: TimeAxis, top: float) -> int:
    """Draw overlays as bars with their names; returns how many lanes they take."""
    free: list[float] = []
    for overlay in sorted(sheet.overlays, key=lambda one: one.start):
        x, end = axis.at(overlay.start), axis.at(min(overlay.stop, sheet.length))
        name = line_of(overlay_name(overlay), _OVER, _LONGEST_NAME)
        words = end + _BESIDE
        if words + width_of(name) > axis.right:
            words = x - width_of(name) - _BESIDE
        on_the_bar = words < axis.left
        if on_the_bar:
            words = x + 2 * _BESIDE
        first, last = min(x, words), max(end, words + width_of(name))
        lane = next((n for n, edge in enumerate(free) if edge <= first), len(free))
        free[lane : lane + 1] = [last + _BESIDE]
        y = top + lane * _LANE
        page.items.append(Block(x, y + 0.9, end - x, 0.9, ACCENT))
        if on_the_bar:
            room = width_of(name) + 2 * _BESIDE
            page.items.append(Block(words - _BESIDE, y + 0.9, room, 0.9, "#FFFFFF"))
        page.items.append(Words(words, y + 2.2, name))
    return len(free)


def _wave(page: Page, peaks: Sequence[float], place: tuple[float, float, float]) -> None:
    """Draw the wave of the mix about a line."""
    left, top, width = place
    middle, step = top + _WAVE / 2, width / len(peaks)
    page.items.append(Block(left, middle - 0.07, width, 0.14, _SOUND))
    for number, peak in enumerate(peaks):
        tall = wave_height(peak) * _WAVE
        if tall > 0.14:
            page.items.append(Block(left + number * step, middle - tall / 2, step, tall, _SOUND))


def _pins(page: Page, pins: Mapping[int, int], axis: TimeAxis, top: float) -> None:
    """Mark where pictures are taken; numbers that would overlap are left out."""
    names = {number: line_of(str(number), _PIN) for number in pins}
    places = pins_on(pins, axis, lambda number: width_of(names[number]), 0.8)
    for number, middle, free in places:
        x = axis.at(pins[number] + 0.5)
        page.items.append(Block(x - 0.12, top + 1.6, 0.24, 1.6, ACCENT))
        if free:
            start = middle - width_of(names[number]) / 2
            page.items.append(Words(start, top + 1.2, names[number]))
