"""A stretch of a sound: where it is heard, and how loud at each of its samples."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

import numpy as np

from keyer.kinds.arrays import Floats, Reals


@dataclass(frozen=True)
class Ducking:
    """A sound held down while others are heard. All times in samples.

    Attributes
    ----------
    level : float
        Decibels by which it is lower then, at most 0.
    down, up : int
        Over how long it goes down before a span, and comes up after it.
    spans : tuple of (start, stop)
        Of the sheet; in order.
    """

    level: float
    down: int
    up: int
    spans: tuple[tuple[int, int], ...]


@dataclass(frozen=True)
class Stretch:
    """A stretch of a sound, and where and how it is heard. All times in samples.

    Attributes
    ----------
    sound : Path or Mixed
        A file, or a mix of stretches.
    at : int
        Where it begins.
    first : int
        First sample of the file or the mix that is used.
    length : int
    level : float
        Decibels; 0 leaves it as it is.
    fade_in, fade_out : int
        Lengths, at its beginning and end; level runs evenly from and to nothing.
    ducking : Ducking or None
        While others are heard.
    """

    sound: Path | Mixed
    at: int
    first: int
    length: int
    level: float = 0.0
    fade_in: int = 0
    fade_out: int = 0
    ducking: Ducking | None = None

    def files(self) -> Iterator[Path]:
        """Yield the files that are heard in it."""
        if isinstance(self.sound, Mixed):
            yield from (file for part in self.sound.stretches for file in part.files())
        else:
            yield self.sound


@dataclass(frozen=True)
class Mixed:
    """Stretches that are heard together, as one sound.

    Attributes
    ----------
    stretches : tuple of Stretch
    fades : tuple of (place, factor)
        Of all of them: samples from its beginning, in order, and how loud it is
        there; even in between, and as at the first and the last beyond them.
    """

    stretches: tuple[Stretch, ...]
    fades: tuple[tuple[float, float], ...] = ()

    def fade(self, block: Floats, at: int) -> None:
        """Let a part of the mix be as loud as its fades say, in place.

        Parameters
        ----------
        block : (2, n) float32
        at : int
            Its first sample.
        """
        if not self.fades:
            return
        places, factors = zip(*self.fades, strict=True)
        left = np.interp(np.arange(at, at + block.shape[1]), places, factors)
        block *= left.astype(np.float32)


def gain(stretch: Stretch, first: int, count: int) -> Floats:
    """Work out the factor of each sample of a stretch: level, fades, and what holds it down.

    Parameters
    ----------
    stretch : Stretch
    first : int
        Counted from its beginning.
    count : int

    Returns
    -------
    (count,) float32
        Fades run evenly in amplitude, ducking evenly in decibels.
    """
    place = np.arange(first, first + count, dtype=np.float64) + 0.5
    found = np.full(count, 10 ** (stretch.level / 20))
    if stretch.fade_in:
        found *= np.minimum(place / stretch.fade_in, 1)
    if stretch.fade_out:
        found *= np.minimum((stretch.length - place) / stretch.fade_out, 1)
    if stretch.ducking is not None and count:
        found *= 10 ** (_held_down(stretch.ducking, place + stretch.at) / 20)
    return found.astype(np.float32)


def _held_down(ducking: Ducking, place: Reals) -> Reals:
    """Decibels at places of the sheet; where two spans are near, the lower of both holds."""
    found: Reals = np.zeros(place.size)
    for start, stop in ducking.spans:
        begins, ends = start - ducking.down, stop + ducking.up
        if ends <= place[0] or begins >= place[-1]:
            continue
        corners = [begins, start, stop, ends]
        levels = [0.0, ducking.level, ducking.level, 0.0]
        found = np.minimum(found, np.interp(place, corners, levels))
    return found
