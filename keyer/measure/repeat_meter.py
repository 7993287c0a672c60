"""Repeating elements along time, in the cells of a picture and in samples of its pixels."""

from __future__ import annotations

import math
from dataclasses import dataclass
from fractions import Fraction

import cv2
import numpy as np
from numpy.typing import NDArray

from keyer.kinds.arrays import Plane, Planes
from keyer.kinds.verdicts import Judgement
from keyer.measure.cells import COLUMNS, FINE, WHOLE, Place
from keyer.measure.repeats import NO_REPEATS, Repeats, find_repeats, steps_of
from keyer.measure.stripes import AREA_CHANGING, AREA_STEADY, SECONDS

Samples = NDArray[np.float32]
"""`(n, channels, rows, columns)`: squares of a picture."""

LOOKS = 3
"""Times a second that a picture without repeats is looked at; one with them is on every frame."""

_SAMPLE, _DOWN, _ACROSS = 64, 5, 8
"""Pixels to the side of a sample, and how many samples are taken down and across."""

_TO_A_CELL = 5
"""Pixels to a fine cell, about, to which larger pictures are brought."""

_LUMA = (0.2126, 0.7152, 0.0722)
"""Of R, G and B: BT.709-6 item 3.2."""

_SCREEN_GAMMA = 2.4
"""ITU-R BT.1886 with black at nothing (as in `keyer.measure.screen`)."""


@dataclass(frozen=True)
class Repeating:
    """Repeating elements of one frame: their area, and for how long they have been there.

    Attributes
    ----------
    pairs : float
        Steps from one to the next along the longer side of where they are; 0
        where they are too fine to be counted.
    area : float
        Share of the picture.
    lasting : int
        Frames for which they have been there, over more than `AREA_CHANGING`.
    place : Place
    """

    pairs: float = 0.0
    area: float = 0.0
    lasting: int = 0
    place: Place = WHOLE


def _light(samples: Samples) -> Planes:
    """Light on a screen of samples (n, 3, side, side), brought to `_SAMPLE` a side."""
    count, channels, side, _ = samples.shape
    signal = np.clip(samples, 0, 1).reshape(-1, side)
    light = cv2.pow(signal, _SCREEN_GAMMA).reshape(count, channels, -1)
    shrink = side // _SAMPLE
    parts = np.einsum("c,ncp->np", np.array(_LUMA, np.float32), light)
    parts = parts.reshape(count, _SAMPLE, shrink, _SAMPLE, shrink).mean((2, 4))
    return np.asarray(parts, np.float32)


def find_fine_repeats(planes: Planes) -> Repeats:
    """Find what repeats in the pixels of a picture, finer than its cells show.

    Parameters
    ----------
    planes : (3, H, W) float32
        R'G'B', nominal 0..1.

    Returns
    -------
    Repeats
        The share of samples, evenly spread, that repeat; pairs are 0. Area 0 where
        pixels are hardly finer than cells.
    """
    height, width = planes.shape[1:]
    cell = width / (FINE * COLUMNS)
    shrink = max(1, round(cell / _TO_A_CELL))
    side = _SAMPLE * shrink
    if cell < 1.5 or height < side:
        return NO_REPEATS
    down, across = (
        np.linspace(0, length - side, min(most, length // side)).astype(int)
        for length, most in ((height, _DOWN), (width, _ACROSS))
    )
    samples = np.stack([planes[:, y : y + side, x : x + side] for y in down for x in across])
    found = steps_of(_light(samples)).any(axis=1)
    return Repeats(0.0, float(found.mean()), WHOLE)


class RepeatMeter:
    """Looks for what repeats, some times a second, and on every frame while it is there.

    Parameters
    ----------
    rate : Fraction
        Frames a second.
    """

    def __init__(self, rate: Fraction) -> None:
        self._rate = rate
        self._every = max(1, math.floor(rate / LOOKS))
        self._index = self._seen = -1
        self._looked = -self._every
        self._changed = 0
        self._before: Plane | None = None
        self._stale = False
        self._found = NO_REPEATS
        self._began: int | None = None

    def add(self, light: Plane, planes: Planes) -> Repeating:
        """Take the next frame, and return the elements that repeat in it.

        Parameters
        ----------
        light : (rows, columns) float32
            Light of the fine cells as a screen shows it; the very array of the
            frame before says that nothing has changed.
        planes : (3, H, W) float32
            R'G'B' of the picture.

        Returns
        -------
        Repeating
            Said of a frame that was not looked at: what was found before it.
        """
        self._index += 1
        if light is not self._before:
            self._changed = self._changed if self._stale else self._index
            self._before, self._stale = light, True
        recent = self._began is not None
        if self._stale and (recent or self._index - self._looked >= self._every):
            self._looked, self._stale = self._index, False
            self._found = find_repeats(light)
            if self._found.area <= AREA_CHANGING:
                fine = find_fine_repeats(planes)
                self._found = fine if fine.area > AREA_CHANGING else self._found
        if self._found.area > AREA_CHANGING:
            if self._began is None:
                self._began = self._changed  # as early as it may have begun
            self._seen = self._index
        elif self._index - self._seen > self._rate * SECONDS:
            self._began = None  # what comes and goes faster is the same one
        lasting = 0 if self._began is None else self._index - self._began + 1
        return Repeating(self._found.pairs, self._found.area, lasting, self._found.place)


def judge_repeats(repeating: Repeating, rate: Fraction) -> Judgement:
    """Return the verdict on the repeating elements of a frame.

    Parameters
    ----------
    repeating : Repeating
    rate : Fraction
        Frames a second.

    Returns
    -------
    {"holds", "watch", "fails"}
        After half a second over more than a quarter of the picture it is
        `watch`, over more than 40 % it fails; what is too fine to be counted is
        `watch` however large it is.
    """
    if repeating.lasting <= rate * SECONDS or repeating.area <= AREA_CHANGING:
        return "holds"
    return "fails" if repeating.pairs > 0 and repeating.area > AREA_STEADY else "watch"
