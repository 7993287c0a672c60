"""The spot over time, drawn to scale as SVG: base, overlays, sound, findings."""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping, Sequence
from html import escape

from keyer.kinds.timing import count_rate, eased, timecode
from keyer.render.patterns import sheet_patterns
from keyer.report.checks.findings import Finding
from keyer.report.time_axis import TimeAxis, pins_on, shots
from keyer.report.wave import wave_height
from keyer.report.words import cue_name, effect_name, found_pattern, overlay_name
from keyer.sheet.effect import Transition
from keyer.sheet.sheet import Overlay, Sheet
from keyer.sheet.sound import Sound

WIDTH = 1000.0
GUTTER = 66.0
"""Room at the left for the names of the lanes."""

_RULER, _BASE, _LANE, _GAP = 44.0, 40.0, 22.0, 6.0
_STEPS = (1, 2, 5, 10, 15, 20, 30, 60, 120, 300, 600, 1200, 1800, 3600)
_MOST_TICKS = 9
_LETTER = 6.1
_RAMP_POINTS = 12


def axis_of(sheet: Sheet) -> TimeAxis:
    """Lay the sheet's frames out from the names of the lanes to the right side."""
    return TimeAxis(GUTTER, WIDTH - GUTTER, sheet.length)


def place_of_frame(sheet: Sheet, frame: float) -> float:
    """Return where a frame begins, in units from the left."""
    return axis_of(sheet).at(frame)


def ticks(sheet: Sheet) -> list[tuple[int, str]]:
    """Choose the frames at which time is written, and how.

    Returns
    -------
    list of (frame, timecode)
        Whole seconds of the count, at most nine.
    """
    count = count_rate(sheet.format.rate)
    seconds = sheet.length / count
    step = next((s for s in _STEPS if seconds / s <= _MOST_TICKS), 2 * _STEPS[-1])
    numbers = range(0, math.ceil(seconds), step)
    return [(number * count, _short(sheet, number * count)) for number in numbers]


def _short(sheet: Sheet, frame: int) -> str:
    return timecode(frame + sheet.start, sheet.format.rate, drop=sheet.drop)


def timeline_svg(
    sheet: Sheet,
    pins: Mapping[int, int],
    findings: Sequence[Finding],
    sounds: Sequence[tuple[int, int]] = (),
    waves: Sequence[Sequence[float]] = (),
) -> str:
    """Draw a spot over time.

    Parameters
    ----------
    sheet : Sheet
    pins : mapping
        Number of a storyboard's picture to its frame.
    findings : sequence of Finding
        Those that do not hold are marked.
    sounds : sequence of (start, stop)
        Frames on which each sound of the sheet is heard.
    waves : sequence of sequence of float
        Their peaks in that time, full scale at 1.

    Returns
    -------
    str
        SVG.
    """
    parts = [*_ruler(sheet, pins), *_base(sheet, _RULER)]
    y = _RULER + _BASE + _GAP
    for overlay in sheet.overlays:
        parts += _overlay(sheet, overlay, y)
        y += _LANE
    for sound, span in zip(sheet.sounds, sounds, strict=True):
        parts += _sound(sheet, sound, span, y)
        if sound.index < len(waves):
            parts.append(_wave(sheet, span, waves[sound.index], y))
        y += _LANE
    bad = [finding for finding in findings if finding.verdict != "holds"]
    if bad:
        y += _GAP
        parts += _findings(sheet, bad, y)
        y += 14
    lines = [
        f'<line class="rule" x1="{x:.1f}" x2="{x:.1f}" y1="{_RULER - 6}" y2="{y:.1f}"/>'
        for x in (place_of_frame(sheet, frame) for frame, _ in ticks(sheet))
    ]
    return (
        f'<svg class="timeline" viewBox="0 0 {WIDTH:g} {y + 4:.0f}" role="img">'
        f"<title>The spot over time</title>{''.join(lines + parts)}</svg>"
    )


def _ruler(sheet: Sheet, pins: Mapping[int, int]) -> Iterator[str]:
    for frame, label in ticks(sheet):
        yield f'<text class="tick" x="{place_of_frame(sheet, frame):.1f}" y="32">{label}</text>'
    yield f'<text class="lane" x="{GUTTER - 8}" y="14">Pictures</text>'
    places = pins_on(pins, axis_of(sheet), lambda number: len(str(number)) * 6.8 + 5, 0.0)
    for number, x, free in places:
        if not free:
            yield f'<line class="pin" x1="{x:.1f}" x2="{x:.1f}" y1="12" y2="17"/>'
            continue
        words = f'<text class="pin" x="{x:.1f}" y="14">{number}</text>'
        yield f'<a href="#picture-{number}">{words}</a>'


def _base(sheet: Sheet, top: float) -> Iterator[str]:
    yield f'<text class="lane" x="{GUTTER - 8}" y="{top + 25}">Base</text>'
    for shot in shots(sheet, axis_of(sheet)):
        cue, x, full, end = shot.cue, shot.start, shot.full, shot.stop
        shade = "shot" if cue.index % 2 else "shot other"
        told = escape(_told(sheet, cue.at, cue_name(cue)))
        size = f'width="{end - x:.1f}" height="{_BASE}"'
        yield f'<rect class="{shade}" x="{x:.1f}" y="{top}" {size}><title>{told}</title></rect>'
        if full > x:
            yield _ramp(cue.transition, (x, full), (top + _BASE, top))
            yield _text("effect", x + 4, top + 14, _effect(sheet, cue.transition), end - x)
        yield _text("name", full + 5, top + 34, cue_name(cue), end - full - 8)


def _effect(sheet: Sheet, transition: Transition) -> str:
    patterns = sheet_patterns(sheet)
    pattern = found_pattern(transition, patterns)
    if pattern is None:
        return transition.kind
    code = "" if pattern.code is None else f" {pattern.code}"
    return effect_name(transition, patterns).lower() + code


def _ramp(transition: Transition, across: tuple[float, float], down: tuple[float, float]) -> str:
    """Draw how far a transition has come, as its curve runs."""
    (left, right), (foot, head) = across, down
    points = []
    for n in range(_RAMP_POINTS + 1):
        share = n / _RAMP_POINTS
        reached = eased(transition.curve, share)
        points.append((left + share * (right - left), foot + reached * (head - foot)))
    outline = " ".join(f"{x:.1f},{y:.1f}" for x, y in points)
    return f'<polygon class="ramp" points="{outline} {right:.1f},{foot:.1f}"/>'


def _text(kind: str, x: float, y: float, words: str, room: float) -> str:
    """Write words, cut to the room that they have."""
    most = int(room / _LETTER)
    if most < 3:
        return ""
    shown = words if len(words) <= most else f"{words[: most - 1]}…"
    return f'<text class="{kind}" x="{x:.1f}" y="{y:.1f}">{escape(shown)}</text>'


def _told(sheet: Sheet, frame: int, name: str) -> str:
    return f"{name}, {sheet.label(frame)}"


def _overlay(sheet: Sheet, overlay: Overlay, top: float) -> Iterator[str]:
    name = overlay_name(overlay)
    start, stop = overlay.start, min(overlay.stop, sheet.length)
    kind = "keyed" if overlay.key else "over"
    yield _bar(sheet, (start, stop), (overlay.enter.length, overlay.leave.length), top, kind, name)
    yield _beside(sheet, start, stop, top, name)


def _sound(sheet: Sheet, sound: Sound, span: tuple[int, int], top: float) -> Iterator[str]:
    """Draw a sound's bar; its name stands before the lane, for the wave is on the bar."""
    name = sound.name or "Sound"
    yield _bar(sheet, span, (sound.fade_in, sound.fade_out), top, "sound", name)
    yield _text("lane", GUTTER - 8, top + 14, name, GUTTER - 8)


def _wave(sheet: Sheet, span: tuple[int, int], peaks: Sequence[float], top: float) -> str:
    """Draw a sound's wave on its bar, as loud as it is heard."""
    left, right = (place_of_frame(sheet, frame) for frame in span)
    middle, tall = top + 4 + (_LANE - 10) / 2, (_LANE - 10) / 2
    step = (right - left) / max(len(peaks), 1)
    highs = [tall * wave_height(peak) for peak in peaks]
    over = [f"{left + (n + 0.5) * step:.1f},{middle - high:.1f}" for n, high in enumerate(highs)]
    under = [f"{left + (n + 0.5) * step:.1f},{middle + high:.1f}" for n, high in enumerate(highs)]
    return f'<polygon class="wave" points="{" ".join([*over, *reversed(under)])}"/>'


def _bar(
    sheet: Sheet, span: tuple[int, int], ramps: tuple[int, int], top: float, kind: str, name: str
) -> str:
    """Draw what lies over the base: as high as it is there."""
    foot, head = top + _LANE - 6, top + 4
    corners = [
        (span[0], foot), (min(span[0] + ramps[0], span[1]), head),
        (max(span[1] - ramps[1], span[0]), head), (span[1], foot),
    ]  # fmt: skip
    points = " ".join(f"{place_of_frame(sheet, frame):.1f},{y:.1f}" for frame, y in corners)
    told = escape(_told(sheet, span[0], name))
    return f'<polygon class="{kind}" points="{points}"><title>{told}</title></polygon>'


def _beside(sheet: Sheet, start: int, stop: int, top: float, name: str) -> str:
    """Write a name inside its bar, or beside one that is too short."""
    x, end = place_of_frame(sheet, start), place_of_frame(sheet, stop)
    y = top + _LANE - 8
    length = len(name) * _LETTER + 10
    if end - x > length + 24:
        return _text("inside", x + 14, y, name, end - x - 20)
    if WIDTH - end > length:
        return _text("beside", end + 5, y, name, WIDTH - end - 5)
    return f'<text class="beside end" x="{x - 5:.1f}" y="{y:.1f}">{escape(name)}</text>'


def _findings(sheet: Sheet, bad: Sequence[Finding], top: float) -> Iterator[str]:
    yield f'<text class="lane" x="{GUTTER - 8}" y="{top + 9}">Findings</text>'
    for verdict in ("watch", "fails"):
        for finding in (one for one in bad if one.verdict == verdict):
            x = place_of_frame(sheet, max(finding.first, 0))
            width = max((finding.last - finding.first + 1) * axis_of(sheet).scale, 3)
            told = escape(f"{finding.check}, {finding.first_timecode}")
            yield (
                f'<rect class="{verdict}" x="{x:.1f}" y="{top}" width="{width:.1f}" height="10">'
                f"<title>{told}</title></rect>"
            )
