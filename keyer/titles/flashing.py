"""Titles that flash, within limits: flashing pictures can hurt people.

The limit is three flashes in any one second, whatever their area and
brightness. That is stricter than WCAG 2.3.1 [wcag], which lets a small or a
faint area flash faster. It is an aid and no clearance: a broadcaster's rules
and its approved test come first, and people at risk must be warned.
"""

from __future__ import annotations

import math
from fractions import Fraction

from keyer.errors import SettingError
from keyer.titles.design import Flash

MOST_A_SECOND = 3
"""WCAG 2.3.1, Three Flashes or Below Threshold."""


def flashes_a_second(flash: Flash, rate: Fraction) -> int:
    """Most flashes that begin within any one second.

    Parameters
    ----------
    flash : Flash
        `on` and `off` in frames.
    rate : Fraction
        Frames a second.
    """
    return math.ceil(rate / (flash.on + flash.off))


def check_flash(flash: Flash, rate: Fraction, *, allowed: bool = False) -> None:
    """Refuse a flash above the limit, unless it was overruled.

    Parameters
    ----------
    flash : Flash
    rate : Fraction
        Frames a second.
    allowed : bool
        Somebody has said in writing that it may flash faster.

    Raises
    ------
    SettingError
    """
    count = flashes_a_second(flash, rate)
    if count > MOST_A_SECOND and not allowed:
        least = math.ceil(rate / MOST_A_SECOND)
        msg = (
            "flashing can trigger seizures in people with photosensitive epilepsy, so flash must "
            f"not exceed {MOST_A_SECOND} flashes in any second (WCAG 2.3.1), got {count}. Let on "
            f"and off be {least} frames or more together. Where the broadcaster's approved test "
            "agrees, allow_flash = true in the sheet's title table, or --allow-flash, overrules it."
        )
        raise SettingError(msg)


def flash_note(flash: Flash, rate: Fraction) -> str:
    """Say what a title that may flash above the limit does; empty for one within it.

    Parameters
    ----------
    flash : Flash
    rate : Fraction
        Frames a second.
    """
    count = flashes_a_second(flash, rate)
    if count <= MOST_A_SECOND:
        return ""
    return (
        f"flashes {count} times a second, as was allowed; more than {MOST_A_SECOND} (WCAG 2.3.1) "
        "can trigger seizures in people with photosensitive epilepsy. Warn people before they see "
        "it; the broadcaster's approved test and local rules go first."
    )


def is_lit(flash: Flash, frame: int) -> bool:
    """Whether the flashing boxes are seen on a frame, counted from the title's first."""
    return frame % (flash.on + flash.off) < flash.on
