"""Ranges of settings: stated once, beside the field, and read from there by all who need them.

`Annotated[float, Within(0, 100, "It is in percent.")]` is the whole statement. The
classes check themselves by it; the sheet's schema and reference, the page's controls
and the refusals take it from the class.
"""

from __future__ import annotations

import difflib
import math
from collections.abc import Hashable, Mapping, Sequence
from dataclasses import dataclass
from functools import cache
from typing import cast, get_type_hints

from keyer.errors import SettingError


@dataclass(frozen=True)
class Within:
    """The range of a number, or of each number of several.

    Attributes
    ----------
    low, high : float
        Both belong to it.
    hint : str
        The unit or a cure, for the refusal.
    name : str
        How the user calls the setting, where it is not called as the field.
    """

    low: float
    high: float
    hint: str = ""
    name: str = ""


@cache
def ranges_of(settings: Hashable) -> Mapping[str, Within]:
    """Give the ranges that a class of settings states, by field.

    Parameters
    ----------
    settings : type
        A dataclass.

    Returns
    -------
    mapping of str to Within
    """
    hints = get_type_hints(settings, include_extras=True)
    return {
        field: within
        for field, hint in hints.items()
        for within in getattr(hint, "__metadata__", ())
        if isinstance(within, Within)
    }


def check_ranges(settings: object) -> None:
    """Refuse settings of which a number lies outside its range; None is no number.

    Parameters
    ----------
    settings : dataclass instance

    Raises
    ------
    SettingError
    """
    for field, within in ranges_of(cast("Hashable", type(settings))).items():
        value = getattr(settings, field)
        name = _called(field, within)
        for part in value if isinstance(value, tuple) else () if value is None else (value,):
            in_range(name, part, within.low, within.high, within.hint)


def _called(field: str, within: Within) -> str:
    return within.name or field.removesuffix("_deg").removesuffix("_percent").replace("_", "-")


def check_setting(settings: Hashable, field: str, value: float) -> float:
    """Return `value` if it lies in the range that a class of settings states for a field.

    Raises
    ------
    SettingError
    """
    within = ranges_of(settings)[field]
    return in_range(_called(field, within), value, within.low, within.high, within.hint)


def in_range(name: str, value: float, low: float, high: float, hint: str = "") -> float:
    """Return `value` if it is a number in [low, high].

    Parameters
    ----------
    name : str
        How the user calls the parameter.
    value : float
    low, high : float
    hint : str
        A cure to add to the message.

    Raises
    ------
    SettingError
        If it is not finite or lies outside.
    """
    number = float(value)
    if not math.isfinite(number) or not low <= number <= high:
        tail = f" {hint}" if hint else ""
        demand = f"must be in [{low:g}, {high:g}], got {value:g}.{tail}"
        raise SettingError(demand, name)
    return number


def one_of(name: str, value: str, allowed: Sequence[str]) -> str:
    """Return `value` if it is one of the words allowed.

    Parameters
    ----------
    name : str
        How the user calls the parameter.
    value : str
    allowed : sequence of str

    Raises
    ------
    SettingError
        Lists the words, and names the nearest.
    """
    if value in allowed:
        return value
    near = difflib.get_close_matches(str(value), allowed, 1)
    tail = f" Did you mean {near[0]!r}?" if near else ""
    demand = f"must be one of {', '.join(allowed)}, got {value!r}.{tail}"
    raise SettingError(demand, name)
