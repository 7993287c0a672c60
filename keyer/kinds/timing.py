"""Exact time: frame numbers, rates as fractions, timecode as a way to write them.

A time is a frame number that counts from 0 at an exact rate. Seconds and
timecode are ways to write one; nothing here rounds. Timecode follows SMPTE
ST 12-1: drop-frame counting leaves out numbers, never pictures, so that the
count keeps pace with the clock at 30000/1001 and 60000/1001 frames a second.
"""

from __future__ import annotations

import math
import re
from fractions import Fraction
from functools import cache
from typing import NamedTuple

from keyer.errors import TimeError
from keyer.kinds.settings import Curve

RATES: dict[str, Fraction] = {
    "23.976": Fraction(24000, 1001),
    "24": Fraction(24),
    "25": Fraction(25),
    "29.97": Fraction(30000, 1001),
    "30": Fraction(30),
    "50": Fraction(50),
    "59.94": Fraction(60000, 1001),
    "60": Fraction(60),
}
"""Frame rates by the name under which the trade knows them, in frames a second."""

SKIPPED: dict[Fraction, int] = {RATES["29.97"]: 2, RATES["59.94"]: 4}
"""Numbers that drop-frame leaves out at each minute that is not a tenth one (SMPTE ST 12-1)."""

LONGEST_SECONDS = 24 * 60 * 60
"""Timecode counts one day; no time is longer."""

_WAYS = 'Write frames (75), seconds ("2.5s") or timecode ("00:00:02:12").'
_FRAMES = re.compile(r"([0-9]{1,12})f?")
_SECONDS = re.compile(r"([0-9]{1,12}(?:\.[0-9]{1,12})?)\s?s")
_TIMECODE = re.compile(r"([0-9]{2}):([0-9]{2}):([0-9]{2})([:;])([0-9]{2,3})")


def parse_rate(value: str | float | Fraction, name: str = "rate") -> Fraction:
    """Read a frame rate.

    Parameters
    ----------
    value : str, int, float or Fraction
        A name of `RATES` (`"29.97"`), the same as a number, or the exact
        fraction (`"30000/1001"`).
    name : str
        How the user calls the parameter.

    Returns
    -------
    Fraction
        Frames a second, exact.

    Raises
    ------
    TimeError
        If it is none of the rates of `RATES`.
    """
    text = str(value).strip()
    text = text.removesuffix(".0")
    if text == "23.98":  # as often printed as 23.976
        text = "23.976"
    if text in RATES:
        return RATES[text]
    for rate in RATES.values():
        if text == str(rate):
            return rate
    demand = f"must be one of {', '.join(RATES)} frames a second, got {_shown(text)}."
    raise TimeError(demand, name)


def rate_name(rate: Fraction) -> str:
    """Name of a rate as the trade writes it: `"29.97"` for 30000/1001.

    Parameters
    ----------
    rate : Fraction
        Frames a second.

    Returns
    -------
    str
        The name in `RATES`, or the fraction itself.
    """
    for name, known in RATES.items():
        if rate == known:
            return name
    return str(rate)


def can_drop(rate: Fraction) -> bool:
    """Whether drop-frame counting exists at this rate (only at 29.97 and 59.94)."""
    return rate in SKIPPED


@cache
def count_rate(rate: Fraction, name: str = "rate") -> int:
    """Numbers that a labelled second of timecode counts: 30 at 29.97, 24 at 23.976.

    Parameters
    ----------
    rate : Fraction
        Frames a second.
    name : str
        How the user calls the parameter.

    Raises
    ------
    TimeError
        If the rate is neither whole nor a whole number times 1000/1001.
    """
    for exact in (rate, rate * Fraction(1001, 1000)):
        if exact.denominator == 1 and exact > 0:
            return int(exact)
    msg = f"{name} of {rate} frames a second has no timecode. Count in frames or seconds."
    raise TimeError(msg)


@cache
def frames_per_day(rate: Fraction, *, drop: bool) -> int:
    """Frames that timecode counts before it starts again at 00:00:00:00.

    Parameters
    ----------
    rate : Fraction
        Frames a second.
    drop : bool
        Whether the count is drop-frame.
    """
    skipped = SKIPPED[rate] * 54 * 24 if drop else 0  # 54 of 60 minutes skip
    return count_rate(rate) * LONGEST_SECONDS - skipped


def parse_time(value: str | float, rate: Fraction, name: str = "time") -> int:
    """Read a time as a frame number.

    Parameters
    ----------
    value : str, int or float
        Frames (`75`, `"75"`, `"75f"`), seconds (`"3s"`, `"2.5s"`), timecode
        (`"00:00:03:00"`) or drop-frame timecode (`"00:00:03;00"`). A float
        must be whole and means frames.
    rate : Fraction
        Frames a second.
    name : str
        How the user calls the parameter.

    Returns
    -------
    int
        Frames from 0 up; at most a day.

    Raises
    ------
    TimeError
        If it cannot be read, is negative, falls between two frames, or names
        a number that drop-frame leaves out.
    """
    written = _written(value, name)
    if isinstance(written, Fraction):
        frame = _from_seconds(written, rate, name)
    elif isinstance(written, _Label):
        frame = _from_timecode(written, rate, name)
    else:
        frame = written
    if frame > math.ceil(rate) * LONGEST_SECONDS:
        demand = f"must lie within 24 hours, got {_shown(value)}."
        raise TimeError(demand, name)
    return frame


def check_time(value: str | float, name: str = "time") -> None:
    """See that a time is written as one, where its rate is not known yet.

    Parameters
    ----------
    value : str, int or float
        As `parse_time` takes it.
    name : str
        How the user calls the parameter.

    Raises
    ------
    TimeError
        If it can be read at no rate.
    """
    _written(value, name)


def is_written(value: str | float) -> bool:
    """Whether it is written as a time, whatever its rate."""
    try:
        _written(value, "time")
    except TimeError:
        return isinstance(value, str) and value.strip().startswith("-")
    return True


def is_timecode(value: str | float) -> bool:
    """Return whether a text is written as timecode."""
    return isinstance(value, str) and _TIMECODE.fullmatch(value.strip()) is not None


class _Label(NamedTuple):
    """The numbers of a timecode."""

    text: str
    hours: int
    minutes: int
    seconds: int
    frames: int
    drop: bool


def _written(value: str | float, name: str) -> int | Fraction | _Label:
    """Tell frames, seconds and timecode apart."""
    if isinstance(value, bool) or not isinstance(value, str | int | float):
        demand = f"must be a time, got {_shown(value)}. {_WAYS}"
        raise TimeError(demand, name)
    if isinstance(value, int):
        return _not_negative(value, name)
    if isinstance(value, float):
        if not math.isfinite(value) or value != int(value):
            demand = f"must be a whole number of frames, got {value}. {_WAYS}"
            raise TimeError(demand, name)
        return _not_negative(int(value), name)
    text = value.strip()
    if match := _FRAMES.fullmatch(text):
        return int(match[1])
    if match := _SECONDS.fullmatch(text):
        return Fraction(match[1])
    if match := _TIMECODE.fullmatch(text):
        hours, minutes, seconds, frames = (int(match[i]) for i in (1, 2, 3, 5))
        return _Label(text, hours, minutes, seconds, frames, match[4] == ";")
    if text.startswith("-"):
        demand = f"must not be negative, got {_shown(text)}. Times count from 0."
        raise TimeError(demand, name)
    demand = f"must be a time, got {_shown(text)}. {_WAYS}"
    raise TimeError(demand, name)


def _shown(value: object) -> str:
    if isinstance(value, int) and abs(value) >= 10**18:
        return "an enormous number"  # Python refuses to print the longest ones
    return f"{value!r:.40}"


def _not_negative(frame: int, name: str) -> int:
    if frame < 0:
        demand = f"must not be negative, got {_shown(frame)}. Times count from 0."
        raise TimeError(demand, name)
    return frame


def _from_seconds(seconds: Fraction, rate: Fraction, name: str) -> int:
    exact = seconds * rate
    if exact.denominator == 1:
        return int(exact)
    below = math.floor(exact)
    near = " or ".join(_both_ways(frame, rate) for frame in (below, below + 1))
    demand = (
        f"must fall on a frame, but {float(seconds):g} s lies between two "
        f"at {rate_name(rate)} frames a second. Write {near}."
    )
    raise TimeError(demand, name)


def _both_ways(frame: int, rate: Fraction) -> str:
    try:
        return f'"{frame}f" ({timecode(frame, rate)})'
    except TimeError:
        return f'"{frame}f"'


def _from_timecode(label: _Label, rate: Fraction, name: str) -> int:
    count = count_rate(rate, name)
    for what, limit in (("hours", 24), ("minutes", 60), ("seconds", 60), ("frames", count)):
        if getattr(label, what) >= limit:
            msg = f"{name} has {what} that end at {limit - 1:02d}, got {label.text!r}."
            raise TimeError(msg)
    total_minutes = label.hours * 60 + label.minutes
    frame = (total_minutes * 60 + label.seconds) * count + label.frames
    if not label.drop:
        return frame
    if not can_drop(rate):
        msg = (
            f"{name} is drop-frame timecode ({label.text!r}), which exists only at 29.97 and "
            f"59.94, not at {rate_name(rate)} frames a second. Write a colon before the frames."
        )
        raise TimeError(msg)
    skipped = SKIPPED[rate]
    if label.seconds == 0 and label.frames < skipped and label.minutes % 10:
        first = f"{label.text.rpartition(';')[0]};{skipped:02d}"
        msg = f"{name} is {label.text!r}, a number that drop-frame leaves out. Write {first!r}."
        raise TimeError(msg)
    return frame - skipped * (total_minutes - total_minutes // 10)


def timecode(frame: int, rate: Fraction, *, drop: bool | None = None) -> str:
    """Write a frame number as timecode (SMPTE ST 12-1).

    Parameters
    ----------
    frame : int
        0 and up; after 24 hours the count starts again.
    rate : Fraction
        Frames a second.
    drop : bool, optional
        Drop-frame counting; by default where it exists (29.97 and 59.94).

    Returns
    -------
    str
        `HH:MM:SS:FF`, or `HH:MM:SS;FF` for drop-frame.

    Raises
    ------
    TimeError
        If the frame is negative, or drop-frame does not exist at this rate.
    """
    count = count_rate(rate)
    _not_negative(frame, "frame")
    dropping = can_drop(rate) if drop is None else drop
    if dropping and not can_drop(rate):
        demand = f"must be false at {rate_name(rate)} frames a second; only 29.97 and 59.94 drop."
        raise TimeError(demand, "drop")
    number = frame % frames_per_day(rate, drop=dropping)
    if dropping:
        number += _numbers_left_out(number, rate)
    seconds, frames = divmod(number, count)
    minutes, seconds = divmod(seconds, 60)
    hours, minutes = divmod(minutes, 60)
    mark = ";" if dropping else ":"
    return f"{hours:02d}:{minutes:02d}:{seconds:02d}{mark}{frames:02d}"


def _numbers_left_out(frame: int, rate: Fraction) -> int:
    """Count the numbers that drop-frame left out before this frame."""
    skipped = SKIPPED[rate]
    minute = count_rate(rate) * 60 - skipped
    tenths, rest = divmod(frame, 10 * minute + skipped)
    # The first minute of ten is a full one, `skipped` frames longer than the others.
    inside = max(rest - skipped, 0) // minute
    return skipped * (9 * tenths + inside)


def eased(curve: Curve, progress: float) -> float:
    """Return the progress (0..1) that a curve makes of an even one.

    Parameters
    ----------
    curve : {"linear", "ease-in", "ease-out", "ease"}
        `ease-in` starts slowly (p squared), `ease-out` ends slowly
        (1 - (1 - p) squared), `ease` does both (p squared (3 - 2 p)): common
        practice.
    progress : float
        0..1.

    Returns
    -------
    float
        0..1; 0 at 0 and 1 at 1.
    """
    if curve == "ease-in":
        return progress * progress
    if curve == "ease-out":
        return progress * (2 - progress)
    if curve == "ease":
        return progress * progress * (3 - 2 * progress)
    return progress
