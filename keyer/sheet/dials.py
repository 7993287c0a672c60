"""How a desk marks its settings: readings between a few measured points."""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Mapping
from dataclasses import dataclass

from keyer.kinds.figures import figures


@dataclass(frozen=True)
class Dial:
    """The scale of one setting on a station's desk: our values and its readings.

    Attributes
    ----------
    unit : str
        What its reading is called; may be empty.
    points : tuple of (value, reading)
        At least two, by rising value: ours, and what the desk showed for it.
    step : float
        Finest reading; 0: any.
    """

    unit: str
    points: tuple[tuple[float, float], ...]
    step: float = 0.0

    def reading(self, value: float) -> float | None:
        """Find the desk's reading for a value of ours, straight between two points.

        Returns
        -------
        float or None
            None beyond the measured points: nobody knows what lies there.

        Examples
        --------
        >>> Dial("turns", ((0, 0), (10, 4), (30, 6))).reading(20)
        5.0
        """
        values = [ours for ours, _ in self.points]
        if not values[0] <= value <= values[-1]:
            return None
        place = min(max(bisect_right(values, value), 1), len(values) - 1)
        (low, first), (high, last) = self.points[place - 1], self.points[place]
        read = first + (last - first) * (value - low) / (high - low)
        return round(read / self.step) * self.step if self.step else read

    def words(self, value: float) -> str:
        """Say the desk's reading for a value of ours."""
        read = self.reading(value)
        if read is None:
            return "beyond the desk's table"
        text = f"{read:.6g}" if self.step else figures("dial", read)
        return f"{text} {self.unit}".strip()


Dials = Mapping[str, Dial]
"""Scales by the name of the setting: soft, border, border_soft, size, clip, gain."""

NO_DIALS: Dials = {}


def dialled(dials: Dials, name: str, value: float) -> str:
    """Say what the desk shows for a setting, to be put behind our own value.

    Parameters
    ----------
    dials : mapping of str to Dial
    name : str
    value : float

    Returns
    -------
    str
        ` (desk: 1.4 turns)`; nothing where the station has no scale for it.
    """
    dial = dials.get(name)
    return f" (desk: {dial.words(value)})" if dial else ""
