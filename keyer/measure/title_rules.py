"""What somebody asks of titles besides what everybody does: areas, zones, sizes of letters."""

from __future__ import annotations

from dataclasses import dataclass

from keyer.measure.cells import Place
from keyer.measure.safe_areas import SafeArea


@dataclass(frozen=True)
class Zone:
    """A part of the picture that titles keep free, and what for."""

    name: str
    place: Place


@dataclass(frozen=True)
class TitleRules:
    """What a station asks of titles: letter heights, zones to be kept free.

    Attributes
    ----------
    source : str
        Whose they are, for findings.
    safe : SafeArea or None
        In place of the design's.
    smallest, largest : float or None
        Height of letters, from the top of a "d" to the foot of a "p", in
        percent of the picture height.
    zones : tuple of Zone
        Parts of the picture that are kept free.
    """

    source: str = ""
    safe: SafeArea | None = None
    smallest: float | None = None
    largest: float | None = None
    zones: tuple[Zone, ...] = ()


NO_RULES = TitleRules()
