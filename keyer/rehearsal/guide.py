"""The guide track as the page plays it: the sheet's sounds mixed into one WAV."""

from __future__ import annotations

import hashlib
import io
import itertools
import json
import wave
from dataclasses import replace

import numpy as np

from keyer.errors import SettingError
from keyer.media.sound import SAMPLE_RATE, Mixer, to_samples
from keyer.render.sound import sheet_sound
from keyer.sheet.sheet import Sheet

LONGEST_SECONDS = 20 * 60
_BLOCK = SAMPLE_RATE


def sound_digest(sheet: Sheet) -> str:
    """Tell whether two sheets sound alike; empty where nothing is heard."""
    if not sheet.sounds:
        return ""
    said = json.dumps([[str(one.file.path), repr(one)] for one in sheet.sounds])
    return hashlib.sha256(f"{said}{sheet.length}{sheet.format.rate}".encode()).hexdigest()[:16]


def guide_wav(sheet: Sheet) -> bytes:
    """Mix the guide track.

    Parameters
    ----------
    sheet : Sheet

    Returns
    -------
    bytes
        WAV, 48 kHz, stereo, 16 bits, as long as the sheet.

    Raises
    ------
    KeyerError
        If a sound cannot be used, or the sheet is too long to be played so.
    """
    length = to_samples(sheet.length, sheet.format.rate)
    if length > LONGEST_SECONDS * SAMPLE_RATE:
        msg = f"a guide track is played up to {LONGEST_SECONDS // 60} minutes. Shorten the sheet."
        raise SettingError(msg)
    stretches, _ = sheet_sound(sheet)
    mixer = Mixer(stretches)
    memory = io.BytesIO()
    try:
        with wave.open(memory, "wb") as out:
            out.setnchannels(2)
            out.setsampwidth(2)
            out.setframerate(SAMPLE_RATE)
            for start in range(0, length, _BLOCK):
                block = mixer.read(min(_BLOCK, length - start))
                codes = np.rint(np.clip(block, -1, 1) * 32767).astype("<i2")
                out.writeframesraw(codes.T.tobytes())
    finally:
        mixer.close()
    return memory.getvalue()


def sound_wave(sheet: Sheet, index: int, points: int = 400) -> list[float]:
    """Trace the wave of one of a sheet's sounds, for its bar.

    Parameters
    ----------
    sheet : Sheet
    index : int
        Of the sound.
    points : int

    Returns
    -------
    list of float
        Peaks in 0..1, evenly over the time in which it is heard.

    Raises
    ------
    KeyerError
        If it cannot be used.
    """
    sound = sheet.sounds[index]
    alone = replace(sheet, sounds=(sound,))
    (stretch,), _ = sheet_sound(alone)
    first = to_samples(sound.at, sheet.format.rate)
    length = min(stretch.length, to_samples(sheet.length, sheet.format.rate) - first)
    mixer = Mixer([stretch], first)
    try:
        steps = [length * n // points for n in range(points + 1)]
        blocks = (mixer.read(max(end - start, 0)) for start, end in itertools.pairwise(steps))
        return [round(float(np.abs(block).max(initial=0)), 3) for block in blocks]
    finally:
        mixer.close()
