"""What a check finds: what, how bad, when, where, against which limit, and what to do."""

from __future__ import annotations

from dataclasses import asdict, dataclass
from typing import Any

from keyer.kinds.verdicts import Judgement
from keyer.measure.cells import WHOLE, Place

SEVERITY: dict[Judgement, int] = {"holds": 0, "watch": 1, "fails": 2}
"""Verdicts from good to bad."""


@dataclass(frozen=True)
class Limit:
    """A limit in words, and its source.

    Attributes
    ----------
    text : str
        In words, with its unit.
    source : str
        Standard, guidance or custom that it comes from.
    """

    text: str
    source: str


@dataclass(frozen=True)
class Finding:
    """One check's result over a stretch of frames.

    Attributes
    ----------
    check : str
        Dotted name, e.g. `"flash.general"`.
    verdict : {"holds", "watch", "fails"}
    value : float
        The worst of the stretch.
    unit : str
    first, last : int
        Frames of the sheet, both included.
    worst : int
        Frame of the worst value.
    first_timecode, last_timecode, worst_timecode : str
    place : Place
        Where in the picture.
    limit : Limit
    remedy : str
        What to do; empty when it holds.
    subject : str
        The cue, overlay or source that is meant; empty for the picture.
    """

    check: str
    verdict: Judgement
    value: float
    unit: str
    first: int
    last: int
    worst: int
    first_timecode: str
    last_timecode: str
    worst_timecode: str
    place: Place
    limit: Limit
    remedy: str = ""
    subject: str = ""

    def as_dict(self) -> dict[str, Any]:
        """As plain data for JSON."""
        data = asdict(self)
        limit = data.pop("limit")
        return data | {"limit": limit["text"], "source": limit["source"]}


@dataclass(frozen=True)
class Look:
    """One frame's result of a check.

    Attributes
    ----------
    frame : int
    verdict : {"holds", "watch", "fails"}
    value : float
    place : Place
    remedy : str
    first : int or None
        First frame that the look speaks of, where that is before `frame`.
    """

    frame: int
    verdict: Judgement
    value: float
    place: Place = WHOLE
    remedy: str = ""
    first: int | None = None

    @property
    def began(self) -> int:
        """First frame that the look speaks of."""
        return self.frame if self.first is None else self.first


@dataclass(frozen=True)
class Series:
    """A measure over time, for plots.

    Attributes
    ----------
    name : str
    unit : str
    frames : tuple of int
    values : tuple of float
    limit : float or None
        Beyond which it fails.
    """

    name: str
    unit: str
    frames: tuple[int, ...]
    values: tuple[float, ...]
    limit: float | None = None
