"""Checks of the mix: loudness, true peak, silence, and sounds that end as if cut off."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence

import numpy as np

from keyer.kinds.timing import timecode
from keyer.kinds.verdicts import Judgement
from keyer.media.loudness import Loudness as Heard
from keyer.media.loudness import LoudnessMeter
from keyer.media.sound import SAMPLE_RATE, to_samples
from keyer.media.stretch import Stretch
from keyer.render.sound import SheetMix, duck_words, sheet_sound
from keyer.report.checks.findings import Finding, Limit, Look
from keyer.report.checks.runs import Runs
from keyer.sheet.sheet import Sheet
from keyer.sheet.sound import Loudness, Sound
from keyer.sheet.source import File

R128 = Loudness(target=-23.0, tolerance=0.5, true_peak=-1.0)
"""EBU R 128: -23.0 LUFS, 0.5 LU either way, at most -1 dBTP (figures from memory)."""

SILENT_DBFS = -60.0
LONG_SILENCE = 2
"""Seconds of it from which the verdict is `watch` (common practice, from memory)."""

_TAIL = SAMPLE_RATE // 50
_SOFT_END_DBFS = -40.0
"""Level in the last 20 ms above which an end is heard as a cut (our own)."""

LIMITS = {
    "sound.silence": Limit(
        f"no {LONG_SILENCE} s below {SILENT_DBFS:g} dBFS", "common practice (from memory)"
    ),
    "sound.end": Limit(f"the last 20 ms of a sound at most {_SOFT_END_DBFS:g} dBFS", "ours"),
}
"""What the mix and its ends are held against, in words, whatever the sheet asks for."""


def check_sound(sheet: Sheet) -> tuple[list[Finding], list[str]]:
    """Check the mix of a sheet.

    Returns
    -------
    findings : list of Finding
        None for a sheet without sound. Where the sheet does not say what it
        asks of its mix, it is a guide track: what does not hold is `watch`, and
        fails only where it is distorted or silent.
    notices : list of str
        What is cut off at the end of the sheet, what is held down and when.

    Raises
    ------
    SheetError, InputFileError
        If a sound cannot be used.
    """
    if not sheet.sounds:
        return [], []
    stretches, notices = sheet_sound(sheet)
    peaks, heard = _measured(sheet, stretches)
    findings = [
        *_loudness(sheet, heard),
        *_silence(sheet, peaks),
        *(one for each in zip(sheet.sounds, stretches, strict=True) for one in _tail(sheet, *each)),
    ]
    return findings, [*notices, *duck_words(sheet, stretches)]


def _measured(sheet: Sheet, stretches: Sequence[Stretch]) -> tuple[list[float], Heard]:
    """Peak of each frame's sound, and what a meter has found of all of it."""
    mix, meter, peaks = SheetMix(sheet, stretches), LoudnessMeter(), []
    try:
        for frame in range(sheet.length):
            block = mix.until(frame + 1)
            peaks.append(float(np.abs(block).max(initial=0.0)))
            meter.hear(block)
    finally:
        mix.close()
    return peaks, meter.result()


def _loudness(sheet: Sheet, heard: Heard) -> Iterator[Finding]:
    own = sheet.station.loudness if sheet.station else None
    asked, source = own or sheet.loudness or R128, "EBU R 128, ITU-R BS.1770-5"
    worst: Judgement = "fails"
    if own is not None and sheet.station is not None:
        source = f"{sheet.station.source}, as ITU-R BS.1770-5"
    elif sheet.loudness is None:
        worst, source = "watch", f"{source}; as advice, since the sheet sets no loudness"
    said = f"{asked.target:g} LUFS, {asked.tolerance:g} LU either way"
    runs = Runs(sheet, "sound.loudness", "LUFS", Limit(said, source))
    if heard.integrated_lufs is None:
        remedy = "The mix is too short or too soft to have a loudness: is it meant?"
        runs.add(_over_all(sheet, "watch", -70.0, remedy))
    else:
        off = round(heard.integrated_lufs - asked.target, 2)
        remedy = f"Raise every level by {-off:.1f} dB." if off < 0 else ""
        remedy = f"Lower every level by {off:.1f} dB." if off > 0 else remedy
        fine = abs(off) <= asked.tolerance
        verdict: Judgement = "holds" if fine else worst
        runs.add(_over_all(sheet, verdict, heard.integrated_lufs, "" if fine else remedy))
    yield from runs.findings()
    limit = Limit(f"at most {asked.true_peak:g} dBTP", source)
    peak = heard.true_peak_dbtp
    runs = Runs(sheet, "sound.true_peak", "dBTP", limit)
    if peak is None:
        return
    over = peak - asked.true_peak
    verdict = "holds" if over <= 0 else "fails" if peak > 0 else worst
    remedy = "" if over <= 0 else f"Lower the loudest sound by {math.ceil(over * 10) / 10:.1f} dB."
    runs.add(_over_all(sheet, verdict, peak, remedy))
    yield from runs.findings()


def _over_all(sheet: Sheet, verdict: Judgement, value: float, remedy: str) -> Look:
    return Look(sheet.length - 1, verdict, value, remedy=remedy, first=0)


def _is_asked(sheet: Sheet) -> bool:
    """Whether the sheet, or its station's rules, say what the mix has to hold."""
    own = sheet.station.loudness if sheet.station else None
    return own is not None or sheet.loudness is not None


def _silence(sheet: Sheet, peaks: Sequence[float]) -> Iterator[Finding]:
    """Find stretches of the sheet in which nothing is heard."""
    runs = Runs(sheet, "sound.silence", "s", LIMITS["sound.silence"], gap=0)
    quiet = np.array(peaks) < 10 ** (SILENT_DBFS / 20)
    edges = np.flatnonzero(np.diff(np.concatenate([[0], quiet.view(np.int8), [0]])))
    least = sheet.format.rate * LONG_SILENCE
    found = [
        (first, last)
        for first, last in zip(edges[::2].tolist(), edges[1::2].tolist(), strict=True)
        if last - first >= least or last - first == sheet.length
    ]
    if not found:
        runs.add(_over_all(sheet, "holds", 0.0, ""))
    for first, last in found:
        seconds = round(float((last - first) / sheet.format.rate), 2)
        all_of_it = last - first == sheet.length
        remedy = "Nothing is heard at all: are the levels right?" if all_of_it else (
            f"Nothing is heard for {seconds:g} s: close the gap, unless it is meant."
        )  # fmt: skip
        verdict: Judgement = "fails" if all_of_it else "watch"
        runs.add(Look(last - 1, verdict, seconds, remedy=remedy, first=first))
    yield from runs.findings()


def _tail(sheet: Sheet, sound: Sound, stretch: Stretch) -> Iterator[Finding]:
    """Find a sound that ends while it is still loud."""
    rate = sheet.format.rate
    whole = to_samples(sheet.length, rate)
    own = stretch.at + stretch.length
    end = min(own, whole)
    first = max(end - _TAIL, stretch.at)
    mix = SheetMix(sheet, [stretch], first)
    try:
        block = mix.read(max(end - first, 0)).astype(np.float64)
    finally:
        mix.close()
    power = float(np.sqrt((block**2).mean(axis=1)).max()) if block.size else 0.0
    level = round(20 * math.log10(max(power, 1e-6)), 1)
    subject = f"sound[{sound.index}] {sound.called}"
    runs = Runs(sheet, "sound.end", "dBFS", LIMITS["sound.end"], subject=subject)
    frame = min(max(math.ceil(end * rate / SAMPLE_RATE) - 1, 0), sheet.length - 1)
    if level <= _SOFT_END_DBFS:
        runs.add(Look(frame, "holds", level))
    else:
        cut = end < own or sound.end is not None
        ends = "with its file" if isinstance(sound.file, File) else "with its own sheet"
        where = "with the sheet" if end < own else "at its out" if cut else ends
        remedy = (
            f"It ends {where} at {timecode(frame + sheet.start, rate, drop=sheet.drop)} while it "
            "is still loud: give it a fade_out, or let it play to its end."
        )
        strict = cut and _is_asked(sheet)
        runs.add(Look(frame, "fails" if strict else "watch", level, remedy=remedy))
    yield from runs.findings()
