"""The guide track of a sheet: its files found, its times in samples."""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import replace
from fractions import Fraction
from itertools import pairwise
from pathlib import Path

import numpy as np

from keyer.errors import InputFileError, KeyerError, TimeError
from keyer.kinds.arrays import Floats
from keyer.kinds.timing import timecode
from keyer.media.phrases import phrases
from keyer.media.sound import SAMPLE_RATE, Mixer, sound_length, to_samples
from keyer.media.stretch import Ducking, Mixed, Stretch
from keyer.sheet.sheet import Sheet
from keyer.sheet.sound import Sound
from keyer.sheet.source import File, OtherSheet, Source

_MOST_SPANS = 4
"""Times that are written out; a voice has many."""


def sheet_sound(sheet: Sheet) -> tuple[list[Stretch], list[str]]:
    """Find every sound of a sheet.

    Returns
    -------
    stretches : list of Stretch
    notices : list of str
        What is cut off at the end of the sheet.

    Raises
    ------
    SheetError
        Lists every sound that cannot be used.
    InputFileError
        If a single file that cannot be opened is all that is wrong.
    """
    stretches, notices = [], []
    troubles: list[tuple[str, KeyerError]] = []
    for sound in sheet.sounds:
        try:
            stretch, notice = _stretch(sheet, sound)
        except KeyerError as error:
            troubles.append((f"sound[{sound.index}]", error))
            continue
        stretches.append(stretch)
        notices += [notice] if notice else []
    if len(troubles) == 1 and isinstance(troubles[0][1], InputFileError):
        raise troubles[0][1]
    if troubles:
        raise sheet.error(
            [sheet.fault(path, "; ".join(str(error).splitlines())) for path, error in troubles]
        )
    return _ducked(sheet, stretches), notices


def _ducked(sheet: Sheet, stretches: list[Stretch]) -> list[Stretch]:
    """Hold down what gives way to other sounds, while those are heard."""
    found, rate = [], sheet.format.rate
    for sound, stretch in zip(sheet.sounds, stretches, strict=True):
        duck = sound.duck
        if duck is None:
            found.append(stretch)
            continue
        pause = to_samples(duck.pause, rate)
        heard = sorted(
            span
            for other, voice in zip(sheet.sounds, stretches, strict=True)
            if other.name == duck.under
            for span in phrases(voice, pause)
        )
        down, up = to_samples(duck.down, rate), to_samples(duck.up, rate)
        ducking = Ducking(duck.level_db, down, up, tuple(_joined(heard, pause)))
        found.append(replace(stretch, ducking=ducking))
    return found


def _joined(spans: Iterable[tuple[int, int]], pause: int) -> Iterator[tuple[int, int]]:
    """Join spans that overlap, or are parted by less than a pause."""
    last: tuple[int, int] | None = None
    for start, stop in spans:
        if last is not None and start - last[1] < pause:
            last = (last[0], max(last[1], stop))
            continue
        if last is not None:
            yield last
        last = (start, stop)
    if last is not None:
        yield last


def duck_words(sheet: Sheet, stretches: Sequence[Stretch]) -> Iterator[str]:
    """Say what gives way to what, by how much, and when.

    Parameters
    ----------
    sheet : Sheet
    stretches : sequence of Stretch
        As `sheet_sound` finds them.

    Yields
    ------
    str
        One a sound that does.
    """
    frame = SAMPLE_RATE / sheet.format.rate
    for sound, stretch in zip(sheet.sounds, stretches, strict=True):
        if sound.duck is None or stretch.ducking is None:
            continue
        end = min(stretch.at + stretch.length, to_samples(sheet.length, sheet.format.rate))
        when = [
            f"{sheet.label(int(start / frame))} to {sheet.label(int(min(stop, end) / frame))}"
            for start, stop in stretch.ducking.spans
            if start < end and stop > stretch.at
        ]
        said = f"sound[{sound.index}] {sound.called}"
        if not when:
            yield f"{said}: {sound.duck.under} is not heard while it plays, so it stays as it is."
            continue
        more = f" and {len(when) - _MOST_SPANS} more" if len(when) > _MOST_SPANS else ""
        yield (
            f"{said}: {-sound.duck.level_db:g} dB lower under {sound.duck.under}, from "
            f"{', '.join(when[:_MOST_SPANS])}{more}."
        )


class SheetMix:
    """The mix of a sheet, read in order of time; what fades as a whole takes the sound along.

    Parameters
    ----------
    sheet : Sheet
    stretches : sequence of Stretch
        All of its sounds, or some.
    start : int
        First sample wanted.
    """

    def __init__(self, sheet: Sheet, stretches: Sequence[Stretch], start: int = 0) -> None:
        self._rate, self._at = sheet.format.rate, start
        self._mixer = Mixer(_mixed(sheet, stretches), start)

    def read(self, count: int) -> Floats:
        """Return the next samples: (2, count) float32, not held to full scale."""
        self._at += count
        return self._mixer.read(count)

    def until(self, frame: int) -> Floats:
        """Return the samples up to the beginning of a frame."""
        return self.read(max(to_samples(frame, self._rate) - self._at, 0))

    def close(self) -> None:
        """Let go of all files."""
        self._mixer.close()


def sound_wave(sheet: Sheet, index: int | None = None, points: int = 400) -> list[float]:
    """Trace the wave of one of a sheet's sounds, or of its mix.

    Parameters
    ----------
    sheet : Sheet
    index : int or None
        Of the sound; None: of all, over the length of the sheet.
    points : int

    Returns
    -------
    list of float
        Peaks, full scale at 1, evenly over the time in which it is heard, as
        loud as it is heard.

    Raises
    ------
    KeyerError
        If it cannot be used.
    """
    first, end = 0, to_samples(sheet.length, sheet.format.rate)
    if index is not None:  # others that cannot be used are no matter
        duck = sheet.sounds[index].duck
        under = duck.under if duck else None
        sounds = tuple(s for s in sheet.sounds if s.index == index or s.name == under)
        sheet = replace(sheet, sounds=sounds)
    stretches, _ = sheet_sound(sheet)
    if index is not None:
        places = [sound.index for sound in sheet.sounds]
        stretches = [stretches[places.index(index)]]
        first = stretches[0].at
        end = min(end, first + stretches[0].length)
    mix = SheetMix(sheet, stretches, first)
    try:
        steps = [(end - first) * n // points for n in range(points + 1)]
        blocks = (mix.read(max(stop - start, 0)) for start, stop in pairwise(steps))
        return [round(float(np.abs(block).max(initial=0)), 3) for block in blocks]
    finally:
        mix.close()


def _mixed(sheet: Sheet, stretches: Sequence[Stretch]) -> Mixed:
    """Mix a sheet's stretches; the mix goes with a sheet that fades, as loud as the picture is."""
    frame, coming, going = float(SAMPLE_RATE / sheet.format.rate), sheet.fade_in, sheet.fade_out
    last = sheet.length
    frames = {
        *(range(coming.length + 1) if coming else ()),
        *(range(last - going.length - 1, last + 1) if going else ()),
    }
    fades = tuple((index * frame, 1.0 - sheet.gone(index)[1]) for index in sorted(frames))
    return Mixed(tuple(stretches), fades)


def heard_frames(sheet: Sheet) -> list[tuple[int, int]]:
    """Tell on which frames each sound of a sheet is heard.

    Returns
    -------
    list of (start, stop)
        In the order of the sheet; `stop` is not heard any more, and lies within the sheet.

    Raises
    ------
    SheetError, InputFileError
        As `sheet_sound`.
    """
    stretches, _ = sheet_sound(sheet)
    pairs = zip(sheet.sounds, stretches, strict=True)
    return [_span(sheet, sound, stretch) for sound, stretch in pairs]


def heard(sheet: Sheet, index: int) -> tuple[int, int]:
    """Tell on which frames one sound of a sheet is heard; others that cannot be used are no matter.

    Raises
    ------
    KeyerError
        If it cannot be used.
    """
    sound = sheet.sounds[index]
    return _span(sheet, sound, _stretch(sheet, sound)[0])


def _span(sheet: Sheet, sound: Sound, stretch: Stretch) -> tuple[int, int]:
    frame = SAMPLE_RATE / sheet.format.rate
    over = math.ceil((stretch.at + stretch.length - Fraction(1, 2)) / frame)  # to the sample
    return sound.at, min(over, sheet.length)


def _stretch(sheet: Sheet, sound: Sound) -> tuple[Stretch, str]:
    rate, (heard, before, there) = sheet.format.rate, _recorded(sound.file)
    first, at = to_samples(sound.first, rate), to_samples(sound.at, rate)
    end = there if sound.end is None else to_samples(sound.end, rate)
    frame = SAMPLE_RATE / rate
    if first >= there or end > there + frame:
        key, value = ("in", sound.first) if first >= there else ("out", sound.end or 0)
        what = "the file" if isinstance(sound.file, File) else sound.told
        msg = (
            f"{key} must lie within {what}, which lasts {timecode(int(there / frame), rate)}, "
            f"got {timecode(value, rate)}."
        )
        raise TimeError(msg)
    length = end - first
    fade_in, fade_out = to_samples(sound.fade_in, rate), to_samples(sound.fade_out, rate)
    if fade_in + fade_out > length + frame:
        msg = f"its fades do not fit into the {length / SAMPLE_RATE:.2f} s that are heard."
        raise TimeError(msg)
    stretch = Stretch(
        heard, at, before + first, length, sound.level_db, fade_in, min(fade_out, length)
    )
    over = at + length - to_samples(sheet.length, rate)
    notice = ""
    if over > frame:
        notice = (
            f"sound[{sound.index}]: {Path(sound.written).name} is cut off at the end of the sheet, "
            f"{over / SAMPLE_RATE:.2f} s before it is over. Set out, or let the sheet run longer."
        )
    return stretch, notice


def _recorded(heard: File | Source) -> tuple[Path | Mixed, int, int]:
    """Find a file, or the mix of another sheet; with what is passed over, and how much is left."""
    if isinstance(heard, File):
        return heard.path, 0, sound_length(heard.path)
    if not isinstance(heard.content, OtherSheet):
        msg = "a source is heard only where it shows another sheet"
        raise TypeError(msg)
    other = heard.content.sheet
    first, end = (
        to_samples(one, other.format.rate) for one in heard.window(other.format.rate, other.length)
    )
    return _mixed(other, sheet_sound(other)[0]), first, end - first
