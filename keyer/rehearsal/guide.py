"""The guide track as the page plays it: the sheet's sounds mixed into one WAV."""

from __future__ import annotations

import hashlib
import io
import wave

import numpy as np

from keyer.errors import SettingError
from keyer.media.sound import SAMPLE_RATE, to_samples
from keyer.render.sound import SheetMix, sheet_sound
from keyer.sheet.sheet import Sheet

LONGEST_SECONDS = 20 * 60
_BLOCK = SAMPLE_RATE


def sound_digest(sheet: Sheet) -> str:
    """Tell whether two sheets sound alike; empty where nothing is heard."""
    if not sheet.sounds:
        return ""
    said = repr(sheet.sounds)
    said += f"{sheet.length}{sheet.format.rate}{sheet.fade_in}{sheet.fade_out}"
    return hashlib.sha256(said.encode()).hexdigest()[:16]


def guide_wav(sheet: Sheet) -> bytes:
    """Mix the guide track.

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
    mix = SheetMix(sheet, stretches)
    memory = io.BytesIO()
    try:
        with wave.open(memory, "wb") as out:
            out.setnchannels(2)
            out.setsampwidth(2)
            out.setframerate(SAMPLE_RATE)
            for start in range(0, length, _BLOCK):
                block = mix.read(min(_BLOCK, length - start))
                codes = np.rint(np.clip(block, -1, 1) * 32767).astype("<i2")
                out.writeframesraw(codes.T.tobytes())
    finally:
        mix.close()
    return memory.getvalue()
