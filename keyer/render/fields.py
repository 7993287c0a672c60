"""Fields of wipe patterns, drawn once and held for as long as they are used."""

from __future__ import annotations

from collections.abc import Mapping
from functools import lru_cache
from typing import Any

from keyer.kinds.field import Field, Geometry, Modifiers, Modulation
from keyer.kinds.settings import in_range
from keyer.library import load_patterns
from keyer.pixel.fields import build

HELD = 6
"""Fields kept; one at 1920 x 1080 takes some 16 MB."""


def modifiers_of(values: Mapping[str, Any]) -> Modifiers:
    """Make modifiers of those that a sheet or a command sets.

    Parameters
    ----------
    values : mapping
        By the names of the sheet: `reverse`, `position`, `aspect`, `rotate`,
        `repeat`, `mirror`, `modulate` (its phase in degrees).

    Returns
    -------
    Modifiers

    Raises
    ------
    SettingError
        If one is out of its range.
    """
    given = dict(values)
    if "rotate" in given:
        given["rotation"] = given.pop("rotate")
    wave = given.pop("modulate", None)
    if wave is not None:
        turns = in_range("modulate phase", wave.get("phase", 0.0), -360, 360, "In degrees.") / 360
        given["modulation"] = Modulation(**(dict(wave) | {"phase": turns}))
    return Modifiers(**given)


@lru_cache(maxsize=HELD)
def _held(pattern: str, geometry: Geometry, modifiers: Modifiers) -> Field:
    return build(load_patterns().find(pattern), geometry, modifiers)


def held_field(
    pattern: str | int, width: int, height: int, pixel_aspect: float, values: Mapping[str, Any]
) -> Field:
    """Draw a pattern's field, or take the one that is held.

    Parameters
    ----------
    pattern : str or int
        SMIL `type/subtype`, type or SMPTE code.
    width, height : int
    pixel_aspect : float
        Width of a pixel over its height.
    values : mapping
        Modifiers that are set.

    Returns
    -------
    Field

    Raises
    ------
    SettingError
    """
    return _held(str(pattern), Geometry(width, height, pixel_aspect), modifiers_of(values))


def check_pattern(pattern: str | int, values: Mapping[str, Any]) -> None:
    """Refuse a pattern that is unknown, or modifiers out of range, without drawing anything.

    Parameters
    ----------
    pattern : str or int
    values : mapping

    Raises
    ------
    SettingError
    """
    load_patterns().find(pattern)
    modifiers_of(values)
