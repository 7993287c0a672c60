"""Fields of wipe patterns, drawn once and held for as long as they are used."""

from __future__ import annotations

from functools import lru_cache

from keyer.kinds.field import Field, Geometry, Modifiers
from keyer.pixel.fields import build

HELD = 6
"""Fields kept; one at 1920 x 1080 takes some 16 MB."""


@lru_cache(maxsize=HELD)
def _held(pattern: str, geometry: Geometry, modifiers: Modifiers) -> Field:
    from keyer.library import load_patterns

    return build(load_patterns().find(pattern), geometry, modifiers)


def held_field(
    pattern: str | int, width: int, height: int, pixel_aspect: float, modifiers: Modifiers
) -> Field:
    """Draw a pattern's field, or take the one that is held.

    Parameters
    ----------
    pattern : str or int
        SMIL `type/subtype`, type or SMPTE code.
    width, height : int
    pixel_aspect : float
        Width of a pixel over its height.
    modifiers : Modifiers

    Returns
    -------
    Field

    Raises
    ------
    SettingError
        If the pattern is unknown.
    """
    return _held(str(pattern), Geometry(width, height, pixel_aspect), modifiers)
