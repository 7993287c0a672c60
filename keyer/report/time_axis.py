"""A spot over time: where frames, shots and the numbers of pictures lie, on paper and on a page."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass

from keyer.sheet.sheet import Cue, Sheet


@dataclass(frozen=True)
class TimeAxis:
    """Frames of a sheet from left to right.

    Attributes
    ----------
    left, width : float
        Where the first frame begins, and how wide all of them are, in units of the drawing.
    length : int
        Frames.
    """

    left: float
    width: float
    length: int

    @property
    def scale(self) -> float:
        """Units of the drawing for a frame."""
        return self.width / self.length

    @property
    def right(self) -> float:
        """Where the last frame ends."""
        return self.left + self.width

    def at(self, frame: float) -> float:
        """Return where a frame begins."""
        return self.left + frame * self.scale


@dataclass(frozen=True)
class Shot:
    """A shot on the axis: it begins, is there in full, and ends, at these places."""

    cue: Cue
    start: float
    full: float
    stop: float


def shots(sheet: Sheet, axis: TimeAxis) -> Iterator[Shot]:
    """Yield the shots of a sheet; none is there in full after it has ended."""
    for cue in sheet.cues:
        after = sheet.until(cue)
        full = min(cue.at + cue.transition.length, after)
        yield Shot(cue, axis.at(cue.at), axis.at(full), axis.at(after))


def pins_on(
    pins: Mapping[int, int], axis: TimeAxis, width_of: Callable[[int], float], gap: float
) -> Iterator[tuple[int, float, bool]]:
    """Yield where pictures are taken, and whether there is room to write their numbers.

    Parameters
    ----------
    pins : mapping
        Number of a picture to its frame.
    axis : TimeAxis
    width_of : callable
        Width of a number when it is written.
    gap : float
        Least distance of two numbers.

    Yields
    ------
    number : int
    middle : float
        Of the frame; a number near the end is written so that it ends with the axis.
    free : bool
    """
    edge = -math.inf
    for number, frame in pins.items():
        half = width_of(number) / 2
        middle = min(axis.at(frame + 0.5), axis.right - half)
        free = middle - half > edge
        if free:
            edge = middle + half + gap
        yield number, middle, free
