"""The guide track of a sheet: its files found, its times in samples."""

from __future__ import annotations

import math
from fractions import Fraction

import numpy as np
from numpy.typing import NDArray

from keyer.errors import InputFileError, KeyerError, TimeError
from keyer.kinds.timing import timecode
from keyer.media.sound import SAMPLE_RATE, Stretch, sound_length, to_samples
from keyer.sheet.sheet import Sheet
from keyer.sheet.sound import Sound


def sheet_sound(sheet: Sheet) -> tuple[list[Stretch], list[str]]:
    """Find every sound of a sheet.

    Parameters
    ----------
    sheet : Sheet

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
        raise sheet.error([sheet.fault(path, str(error)) for path, error in troubles])
    return stretches, notices


def fade_whole(block: NDArray[np.float32], sheet: Sheet, at: int) -> None:
    """Let sound go with a sheet that fades as a whole, in place: as loud as the picture is there.

    Parameters
    ----------
    block : (2, n) float32
    sheet : Sheet
    at : int
        Its first sample, counted from the sheet's beginning.
    """
    frame = float(SAMPLE_RATE / sheet.format.rate)
    first, last = int(at / frame), int((at + block.shape[1]) / frame) + 1
    left = np.array([1 - sheet.gone(index)[1] for index in range(first, last + 1)], np.float32)
    if (left < 1).any():
        places = (at + np.arange(block.shape[1])) / frame
        block *= np.interp(places, np.arange(first, last + 1), left).astype(np.float32)


def heard_frames(sheet: Sheet) -> tuple[list[tuple[int, int]], list[str]]:
    """Tell on which frames each sound of a sheet is heard.

    Parameters
    ----------
    sheet : Sheet

    Returns
    -------
    frames : list of (start, stop)
        In the order of the sheet; `stop` is not heard any more, and lies within the sheet.
    notices : list of str
        As `sheet_sound`.

    Raises
    ------
    SheetError, InputFileError
        As `sheet_sound`.
    """
    stretches, notices = sheet_sound(sheet)
    frame = SAMPLE_RATE / sheet.format.rate
    spans = []
    for sound, stretch in zip(sheet.sounds, stretches, strict=True):
        over = math.ceil((stretch.at + stretch.length - Fraction(1, 2)) / frame)  # to the sample
        spans.append((sound.at, min(over, sheet.length)))
    return spans, notices


def _stretch(sheet: Sheet, sound: Sound) -> tuple[Stretch, str]:
    rate = sheet.format.rate
    there = sound_length(sound.file.path)
    first, at = to_samples(sound.first, rate), to_samples(sound.at, rate)
    end = there if sound.end is None else to_samples(sound.end, rate)
    frame = SAMPLE_RATE / rate
    if first >= there or end > there + frame:
        key, value = ("in", sound.first) if first >= there else ("out", sound.end or 0)
        msg = (
            f"{key} must lie within the file, which lasts {timecode(int(there / frame), rate)}, "
            f"got {timecode(value, rate)}."
        )
        raise TimeError(msg)
    length = end - first
    fade_in, fade_out = to_samples(sound.fade_in, rate), to_samples(sound.fade_out, rate)
    if fade_in + fade_out > length + frame:
        msg = f"its fades do not fit into the {length / SAMPLE_RATE:.2f} s that are heard."
        raise TimeError(msg)
    stretch = Stretch(
        sound.file.path, at, first, length, sound.level_db, fade_in, min(fade_out, length)
    )
    over = at + length - to_samples(sheet.length, rate)
    notice = ""
    if over > frame:
        notice = (
            f"sound[{sound.index}]: {sound.file.path.name} is cut off at the end of the sheet, "
            f"{over / SAMPLE_RATE:.2f} s before its own. Set out, or let the sheet run longer."
        )
    return stretch, notice
