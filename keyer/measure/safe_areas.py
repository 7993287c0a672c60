"""Safe areas: what every screen shows (action), and where titles belong (title).

SMPTE ST 2046-1:2009 for 16:9 and 4:3 masters, 93 % and 90 % [st2046_1]; EBU
R 95, 3.5 % and 5 % in from each edge, which comes to the same [r95]; the older
practice, 90 % and 80 % [rp218], still asked for by some 4:3 deliveries. The
figures of the first two are from memory, those of the third were read.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from keyer.errors import SettingError

Area = Literal["action", "title"]


@dataclass(frozen=True)
class SafeArea:
    """Shares of the picture's width and height, centred.

    Attributes
    ----------
    action : float
        Safe action area.
    title : float
        Safe title (graphics) area.
    source : str
        Where the figures come from.
    """

    action: float
    title: float
    source: str


SAFE_AREAS: dict[str, SafeArea] = {
    "st2046-1": SafeArea(0.93, 0.90, "SMPTE ST 2046-1:2009 (figures from memory)"),
    "r95": SafeArea(0.93, 0.90, "EBU R 95 (figures from memory)"),
    "legacy": SafeArea(0.90, 0.80, "SMPTE RP 27.3 and RP 218, the older practice"),
    "none": SafeArea(1.0, 1.0, "the whole picture"),
}


PICTURE_COLUMNS = 704
"""Columns that the picture spans where a line has 720 (ITU-R BT.601-7; `docs/sheet.md`)."""

BLANKED = {(720, 576), (720, 486), (720, 480)}
"""Sizes of which the outer columns lie beyond the picture."""


@dataclass(frozen=True)
class Inset:
    """Distance of an area from the picture's edges, in pixels, equal on opposite sides."""

    x: float
    y: float


def inset(safe: str | SafeArea, area: Area, width: int, height: int) -> Inset:
    """Return how far a safe area keeps from the picture's edges, in pixels.

    Parameters
    ----------
    safe : str or SafeArea
        A key of `SAFE_AREAS`, or an area of one's own.
    area : {"action", "title"}
    width, height : int
        Of the picture, in pixels.

    Returns
    -------
    Inset
        Exact; round to the nearest pixel to draw it.

    Raises
    ------
    SettingError
        If the name is unknown.

    Examples
    --------
    >>> inset("st2046-1", "title", 1920, 1080)
    Inset(x=96.0, y=54.0)
    """
    if isinstance(safe, str) and safe not in SAFE_AREAS:
        demand = f"must be one of {', '.join(SAFE_AREAS)}, got {safe!r}."
        raise SettingError(demand, "safe area")
    shares = SAFE_AREAS[safe] if isinstance(safe, str) else safe
    share = shares.title if area == "title" else shares.action
    across = PICTURE_COLUMNS if (width, height) in BLANKED else width
    beside = (width - across) / 2 if share < 1 else 0.0
    return Inset(round(beside + across * (1 - share) / 2, 6), round(height * (1 - share) / 2, 6))
