"""Fields of wipe patterns, drawn once and held for as long as they are used."""

from __future__ import annotations

from functools import lru_cache

from keyer.kinds.field import Field, Geometry, Modifiers, Pattern

HELD = 6
"""Fields kept; one at 1920 x 1080 takes some 12 MB."""


@lru_cache(maxsize=HELD)
def held_field(pattern: Pattern, geometry: Geometry, modifiers: Modifiers) -> Field:
    """Draw a pattern's field, or take the one that is held.

    Parameters
    ----------
    pattern : Pattern
        One that wipes.
    geometry : Geometry
    modifiers : Modifiers

    Raises
    ------
    SettingError
        If the pattern has no field.
    """
    from keyer.pixel.wipes.fields import build  # most commands lay no pattern out

    return build(pattern, geometry, modifiers)
