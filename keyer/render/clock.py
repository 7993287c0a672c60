"""Which picture of something that runs is due: a clip's, an effect's; in exact fractions."""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction

from keyer.sheet.source import Source


@dataclass(frozen=True)
class Clock:
    """The frames of a source that are used, and how they run against the sheet's.

    Attributes
    ----------
    source : Source
        Its speed, and what it does when it ends.
    shown_at : Fraction
        Frames a second of the sheet.
    first, end : int
        Frames used, `end` excluded.
    rate : Fraction
        Frames a second of its own.
    """

    source: Source
    shown_at: Fraction
    first: int = 0
    end: int = 1
    rate: Fraction = Fraction(25)

    @property
    def moves(self) -> bool:
        """Return whether a source's pictures change with time."""
        return self.end - self.first > 1

    def frames_on_air(self) -> int | None:
        """Frames of the sheet that it lasts; None for one without end."""
        if not self.moves or self.source.loop or self.source.freeze:
            return None
        seconds = Fraction(self.end - self.first) / self.rate / self.source.speed
        exact = seconds * self.shown_at
        return -(-exact.numerator // exact.denominator)

    def index(self, frame: int, came_on_air: int) -> int:
        """Return the number of the source's own frame that is due.

        Parameters
        ----------
        frame : int
            Of the sheet.
        came_on_air : int
            Frame of the sheet at which this showing of it began; used where
            the source has no time of its own.
        """
        if not self.moves:
            return self.first
        local = frame - (came_on_air if self.source.at is None else self.source.at)
        passed = Fraction(local) / self.shown_at * self.rate * self.source.speed
        step = passed.numerator // passed.denominator
        count = self.end - self.first
        if self.source.loop:
            return self.first + step % count
        return self.first + min(max(step, 0), count - 1)

    def seconds(self, frame: int, came_on_air: int) -> Fraction | None:
        """Say how far into the source's own time the due frame stands; None if none moves."""
        return Fraction(self.index(frame, came_on_air)) / self.rate if self.moves else None
