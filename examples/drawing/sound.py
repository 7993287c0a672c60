"""The demo's guide track: a few plucked notes and a bicycle bell at every transition.

Made by code: strings by the plucked-string algorithm of K. Karplus and A. Strong
(Computer Music Journal 7:2, 1983), the bell as a few decaying partials.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

RATE = 48_000
SECONDS = 30

TUNE = (0, 4, 7, 9, 7, 4, 2, 4, -3, 0, 4, 2, 0, -3, -5, -3)
"""Half tones above A3, a note every 0.46 seconds or so."""

NOTE_SECONDS = 0.4688
BELLS = (7.2, 13.2, 18.5, 25.2)
"""Seconds at which the bell rings: the transitions of the spot."""

Sound = NDArray[np.float64]


def plucked(hertz: float, seconds: float, rng: np.random.Generator) -> Sound:
    """One plucked string.

    Parameters
    ----------
    hertz, seconds : float
    rng : numpy Generator
        Draws the pluck.

    Returns
    -------
    (n,) float64, about -1..1
    """
    period = round(RATE / hertz)
    count = round(seconds * RATE)
    # a period is the one before it, each sample averaged with the one before and weakened
    string = np.zeros(-(-count // period) * period + 1)
    string[1 : period + 1] = rng.uniform(-1, 1, period)
    for start in range(period + 1, string.size, period):
        before = string[start - period - 1 : start]
        string[start : start + period] = 0.498 * (before[1:] + before[:-1])
    return string[1 : count + 1]


def bell(seconds: float = 1.6) -> Sound:
    """One ring of a bicycle bell.

    Parameters
    ----------
    seconds : float

    Returns
    -------
    (n,) float64
    """
    t = np.arange(round(seconds * RATE)) / RATE
    ring = np.zeros_like(t)
    for hertz, level, decay in ((2093, 1.0, 5), (3520, 0.6, 7), (5274, 0.35, 9)):
        ring += level * np.exp(-decay * t) * np.sin(2 * np.pi * hertz * t)
    return ring


def guide_track() -> NDArray[np.int16]:
    """Make the guide track of the spot.

    Returns
    -------
    (1440000, 2) int16
        48 kHz, left and right, 30 seconds.
    """
    rng = np.random.default_rng(11)
    left, right = np.zeros(SECONDS * RATE), np.zeros(SECONDS * RATE)
    for number in range(int((SECONDS - 2) / NOTE_SECONDS)):
        hertz = 220.0 * 2 ** (TUNE[number % len(TUNE)] / 12)
        _add(left, right, plucked(hertz, 1.8, rng), number * NOTE_SECONDS, 0.2, number % 3 / 2)
    for moment in BELLS:
        _add(left, right, bell(), moment, 0.07, 0.5)
        _add(left, right, bell(), moment + 0.16, 0.07, 0.5)
    return (np.clip(np.stack([left, right], axis=1), -1, 1) * 32767).astype(np.int16)


def _add(left: Sound, right: Sound, part: Sound, at: float, level: float, pan: float) -> None:
    """Lay a sound into two channels; pan 0 is left, 1 right, at even power."""
    first = round(at * RATE)
    last = min(first + part.size, left.size)
    piece = level * part[: last - first]
    left[first:last] += np.cos(pan * np.pi / 2) * piece
    right[first:last] += np.sin(pan * np.pi / 2) * piece
