"""Levels by EBU R 103, loudness by ITU-R BS.1770, labels by SMPTE ST 12-1."""

from __future__ import annotations

import tempfile
from collections.abc import Iterator
from pathlib import Path

import numpy as np
from measured import measure_levels
from scipy import ndimage
from scipy.io import wavfile
from signals import sound_signals as sounds
from signals.row import Row

from keyer.kinds.timing import RATES, parse_time, timecode
from keyer.measure.levels import judge_levels
from keyer.media.loudness import LoudnessMeter
from keyer.report.checks.sound_checks import check_sound
from keyer.sheet.load import parse_sheet

TEN, EIGHT = "EBU R 103 v3.0, 20 to 984 of ten bits", "EBU R 103 v3.0, 5 to 246 of eight bits"
SPARED = "EBU R 103, 1 % of the picture"
FILTER = "EBU R 103 v3.0: filtered by 1 2 3 4 3 2 1 along rows, 1 2 1 down columns"
LOUDNESS = "ITU-R BS.1770 annex 1 (from memory)"
R128 = "EBU R 128: -23 LUFS, 0.5 LU either way, at most -1 dBTP (from memory)"
SHEET = """version = 1
[sheet]
format = "32x18@25"
length = "4s"
loudness = { target = -23.0, tolerance = 0.5, true_peak = -1.0 }
[sources.a]
colour = "#707070"
[[cues]]
source = "a"
[[sound]]
file = "tone.wav"
"""
LABELS = "SMPTE ST 12-1: 2 or 4 labels left out each minute but the tenth"


def _judged(planes) -> str:
    return judge_levels(measure_levels(np.ascontiguousarray(planes, np.float32), "bt709")).verdict


def _grey(value=0.5, rows=40, columns=60):
    return np.full((3, rows, columns), value)


def _by_scipy(planes) -> str:
    """R 103 on R'G'B' and the Y' of BT.709-6 item 3.2, codes 20 to 984, 1 % spared."""
    across, down = np.array([1, 2, 3, 4, 3, 2, 1]) / 16, np.array([1, 2, 1]) / 4
    even = ndimage.correlate1d(planes, across, axis=2, mode="nearest")
    even = ndimage.correlate1d(even, down, axis=1, mode="nearest")
    luma = np.tensordot([0.2126, 0.7152, 0.0722], even, 1)
    codes = 64 + 876 * np.concatenate([even, luma[np.newaxis]])
    return "fails" if ((codes < 20) | (codes > 984)).any(0).mean() > 0.01 else "holds"


def _spots(value, side, every):
    planes = _grey(rows=200, columns=300)
    for top in range(10, 190, every):
        for left in range(10, 285, every):
            planes[:, top : top + side, left : left + side] = value
    return planes


def _lines(value, every, *, lying=False):
    planes = _grey(rows=240, columns=240)
    planes[:, :, ::every] = value
    return planes.swapaxes(1, 2) if lying else planes


def level_rows() -> Iterator[Row]:
    """Every signal of this module."""
    for clause, black, steps, codes in ((TEN, 64, 876, (984, 985, 20, 19)),
                                        (EIGHT, 16, 219, (246, 247, 5, 4))):  # fmt: skip
        for code, expected in zip(codes, ("holds", "fails", "holds", "fails"), strict=True):
            value = (code - black) / steps
            yield Row(clause, f"grey of code {code}", expected, lambda v=value: _judged(_grey(v)))
    for index, name in enumerate(("red", "green", "blue")):
        for code, expected in ((984, "holds"), (985, "fails"), (20, "holds"), (19, "fails")):
            planes = _grey()
            planes[index] = (code - 64) / 876
            signal = f"{name} alone of code {code}, the others at 50 %"
            yield Row(TEN, signal, expected, lambda planes=planes: _judged(planes))
    for rows, share, expected in ((27, 0.9, "holds"), (39, 1.3, "fails")):
        planes = _grey(rows=300, columns=400)
        planes[:, 100 : 100 + rows, 100:140] = 1.2
        signal = f"120 % on {share} % of it"
        yield Row(SPARED, signal, expected, lambda planes=planes: _judged(planes))
    for name, planes in (
        ("single pixels of 150 %, a hundredth of all", _spots(1.5, 1, 10)),
        ("spots of 2 x 2 of 170 %, a ninth of all", _spots(1.7, 2, 6)),
        ("spots of 5 x 5 of 109 %", _spots(1.09, 5, 9)),
        ("spots of 5 x 5 of 120 %", _spots(1.2, 5, 9)),
        ("columns of one pixel of 130 %, every third", _lines(1.3, 3)),
        ("rows of one pixel of 170 %, every eighth", _lines(1.7, 8, lying=True)),
        ("rows of one pixel of -20 %, every other", _lines(-0.2, 2, lying=True)),
    ):
        yield Row(FILTER, name, _by_scipy(planes), lambda planes=planes: _judged(planes))
    yield from _loudness()
    yield from _asked()
    yield from _labels()


def _loudness() -> Iterator[Row]:
    for name, sound in (
        ("1 kHz at -23 dBFS on both sides", sounds.both(sounds.tone(1000, 4, -23))),
        ("1 kHz at -23 dBFS on the left", sounds.left(sounds.tone(1000, 4, -23))),
        ("40 Hz at -20 dBFS on both sides", sounds.both(sounds.tone(40, 4, -20))),
        ("100 Hz at -20 dBFS on both sides", sounds.both(sounds.tone(100, 4, -20))),
        ("8 kHz at -20 dBFS on both sides", sounds.both(sounds.tone(8000, 4, -20))),
        ("noise at -30 dB, then at -50 dB (gated)", sounds.noise([(4, -30), (4, -50)])),
        ("noise at -25 dB, then at -31 dB (not gated)", sounds.noise([(4, -25), (4, -31)])),
    ):

        def find(sound=sound):
            meter = LoudnessMeter()
            for first in range(0, sound.shape[1], 1920):
                meter.hear(np.ascontiguousarray(sound[:, first : first + 1920]))
            return f"{meter.result().integrated_lufs:.1f} LUFS"

        yield Row(LOUDNESS, name, f"{sounds.lufs(sound):.1f} LUFS", find)


def _mixed(sound, check) -> str:
    with tempfile.TemporaryDirectory() as folder:
        wavfile.write(Path(folder, "tone.wav"), sounds.RATE, sound.T)
        found, _ = check_sound(parse_sheet(SHEET, folder=Path(folder)))
    return next(finding.verdict for finding in found if finding.check == f"sound.{check}")


def _asked() -> Iterator[Row]:
    for level, expected in ((-22.6, "holds"), (-22.4, "fails"), (-23.4, "holds"), (-23.6, "fails")):
        tone = sounds.both(sounds.tone(1000, 4, level))
        signal = f"1 kHz at {level} dBFS on both sides, asked for -23 LUFS"
        yield Row(R128, signal, expected, lambda tone=tone: _mixed(tone, "loudness"))
    for level, expected in ((-1.1, "holds"), (-0.9, "fails")):
        tone = sounds.both(sounds.tone(1000, 4, level))
        signal = f"1 kHz with peaks at {level} dBFS"
        yield Row(R128, signal, expected, lambda tone=tone: _mixed(tone, "true_peak"))


def _counted(rate, frames):
    """Labels of so many frames, by counting on and leaving numbers out."""
    hour = minute = second = frame = 0
    for _ in range(frames):
        yield f"{hour:02}:{minute:02}:{second:02};{frame:02}"
        frame += 1
        if frame == rate:
            frame, second = 0, second + 1
        if second == 60:
            second, minute = 0, minute + 1
            frame = 2 * rate // 30 if minute % 10 else 0
        if minute == 60:
            minute, hour = 0, hour + 1


def _labels() -> Iterator[Row]:
    for name, whole in (("29.97", 30), ("59.94", 60)):
        frames = 66 * 60 * whole

        def find(name=name, whole=whole, frames=frames):
            rate, wrong = RATES[name], 0
            for index, label in enumerate(_counted(whole, frames)):
                if index % 97 and label[6:8] not in ("00", "59"):
                    continue
                there = timecode(index, rate, drop=True)
                wrong += there != label or parse_time(label, rate) != index
            return f"{wrong} differ"

        signal = f"66 minutes at {name}: both ways about each minute, each 97th frame between"
        yield Row(LABELS, signal, "0 differ", find)
