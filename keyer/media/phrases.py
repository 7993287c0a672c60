"""When a voice speaks: the spans of a sound that are heard, without its pauses."""

from __future__ import annotations

from functools import lru_cache

import numpy as np

from keyer.kinds.arrays import Floats
from keyer.media.sound import SAMPLE_RATE, Mixer
from keyer.media.stretch import Mixed, Stretch

_WINDOW = SAMPLE_RATE // 100
_SHORTEST = 5
"""Windows; what is shorter is a click and no word."""

_UNDER_LOUDEST, _SOFTEST = 30.0, -60.0
"""Decibels below the loud parts, and full scale, above which something is heard (our own)."""

Spans = tuple[tuple[int, int], ...]


def phrases(stretch: Stretch, pause: int) -> Spans:
    """Return the stretches of time in which a sound is heard, its short pauses included.

    Parameters
    ----------
    stretch : Stretch
        The voice, at its level and with its fades.
    pause : int
        Samples; shorter pauses do not part two spans.

    Returns
    -------
    tuple of (start, stop)
        In samples of the sheet, to 10 ms. Heard is what lies within 30 dB of the
        stretch's loud parts (the 95th percentile of the levels of 10 ms) and above
        -60 dBFS, for 50 ms or longer.

    Raises
    ------
    InputFileError
        If the file cannot be read.
    """
    found = [file.stat() for file in stretch.files()]
    return _phrases(stretch, pause, tuple((one.st_size, one.st_mtime_ns) for one in found))


@lru_cache(maxsize=32)
def _phrases(stretch: Stretch, pause: int, _of: Spans) -> Spans:
    levels = _levels(stretch)
    if not levels.size:
        return ()
    heard = levels > max(float(np.percentile(levels, 95)) - _UNDER_LOUDEST, _SOFTEST)
    edges = np.flatnonzero(np.diff(np.concatenate([[0], heard.view(np.int8), [0]])))
    spans: list[tuple[int, int]] = []
    for first, last in zip(edges[::2].tolist(), edges[1::2].tolist(), strict=True):
        start = stretch.at + first * _WINDOW
        stop = stretch.at + min(last * _WINDOW, stretch.length)
        if last - first < _SHORTEST:
            continue
        if spans and start - spans[-1][1] < pause:
            spans[-1] = (spans[-1][0], stop)
        else:
            spans.append((start, stop))
    return tuple(spans)


def _levels(stretch: Stretch) -> Floats:
    """Level of each 10 ms, in dBFS of the louder channel's root mean square."""
    mixer, found = Mixer(Mixed((stretch,)), stretch.at), []
    try:
        for done in range(0, stretch.length, SAMPLE_RATE):
            block = mixer.read(min(SAMPLE_RATE, stretch.length - done))
            short = -block.shape[1] % _WINDOW
            parts = np.pad(block, ((0, 0), (0, short))).reshape(2, -1, _WINDOW)
            found.append(np.sqrt((parts.astype(np.float64) ** 2).mean(axis=2)).max(axis=0))
    finally:
        mixer.close()
    power = np.concatenate(found) if found else np.empty(0)
    return (20 * np.log10(np.maximum(power, 1e-9))).astype(np.float32)
