"""Kinds of parameters that level functions take, with their ranges."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from keyer.errors import SettingError
from keyer.kinds.ranges import in_range, one_of


@dataclass(frozen=True)
class Number:
    """A number in a range."""

    low: float
    high: float

    def check(self, name: str, value: Any) -> None:
        """Refuse a value that is no such number."""
        if isinstance(value, bool) or not isinstance(value, int | float):
            msg = f"{name} must be a number in [{self.low:g}, {self.high:g}], got {value!r}."
            raise SettingError(msg)
        in_range(name, value, self.low, self.high)


@dataclass(frozen=True)
class Whole:
    """A whole number in a range."""

    low: int
    high: int

    def check(self, name: str, value: Any) -> None:
        """Refuse a value that is no such number."""
        if isinstance(value, bool) or not isinstance(value, int):
            msg = f"{name} must be a whole number in [{self.low}, {self.high}], got {value!r}."
            raise SettingError(msg)
        in_range(name, value, self.low, self.high)


@dataclass(frozen=True)
class Flag:
    """True or false."""

    def check(self, name: str, value: Any) -> None:
        """Refuse anything else."""
        if not isinstance(value, bool):
            msg = f"{name} must be true or false, got {value!r}."
            raise SettingError(msg)


@dataclass(frozen=True)
class Choice:
    """One of a few words."""

    words: tuple[str, ...]
    optional: bool = False

    def check(self, name: str, value: Any) -> None:
        """Refuse any other word."""
        one_of(name, value, self.words)


Param = Number | Whole | Flag | Choice

SIDES = Choice(("left and right", "top and bottom"))
HALVES = Choice(("left and right", "top and bottom"), optional=True)
TOWARD = Choice(("down", "up", "left", "right"))
CORNER = Choice(("top left", "top right", "bottom left", "bottom right"))
PLACE = Number(-1, 1)
ANGLE = Number(-360, 360)
CELLS = Whole(1, 64)
GRID: Mapping[str, Param] = {"columns": CELLS, "rows": CELLS}


def check_params(wanted: Mapping[str, Param], given: Mapping[str, Any]) -> dict[str, str]:
    """Find what is wrong with a function's parameters.

    Parameters
    ----------
    wanted : mapping of str to Param
        What the function takes.
    given : mapping
        What the pattern says.

    Returns
    -------
    dict of str to str
        Parameter to what is wrong with it; empty if nothing is.
    """
    wrong = {}
    for name, param in wanted.items():
        if name not in given:
            if not (isinstance(param, Choice) and param.optional):
                wrong[name] = f"{name} is missing."
            continue
        try:
            param.check(name, given[name])
        except SettingError as error:
            wrong[name] = str(error)
    for name in given:
        if name not in wanted:
            known = ", ".join(wanted) or "none"
            wrong[name] = f"{name} is no parameter of this function. It takes: {known}."
    return wrong
