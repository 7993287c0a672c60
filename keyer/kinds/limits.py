"""What each measure is held against: stated once, for verdicts, figures, findings and pages."""

from __future__ import annotations

import math
from dataclasses import dataclass


@dataclass(frozen=True)
class Bounds:
    """Values up to which a measure holds, and beyond which it fails.

    Attributes
    ----------
    watch, fails : float
        Beyond `watch` somebody must look, beyond `fails` it will be seen. More is worse, unless
        `fails` is the lower of the two. Equal: nothing in between. Infinite: it never fails.
    unit : str
        Of both, and of the verdict.
    source : str
        Where they come from: a standard, common practice, or ours.
    of : str
        What more there is to the unit.
    why : str
        More about the source, for the page of measures.
    """

    watch: float
    fails: float
    unit: str
    source: str = "ours"
    of: str = ""
    why: str = ""

    @property
    def low_is_worse(self) -> bool:
        """Whether the smaller of two values is the worse one."""
        return self.fails < self.watch

    @property
    def finite(self) -> tuple[float, ...]:
        """The limits that are not infinite."""
        return tuple(one for one in (self.watch, self.fails) if math.isfinite(one))

    @property
    def side(self) -> str:
        """On which side of its limits a value does not hold."""
        return "below" if self.low_is_worse else "above"

    def shown(self, limit: float, *, whole: bool = False) -> str:
        """Write one of the limits; `whole` names what it is a part of, too."""
        unit = self.unit if whole else self.unit.split(" ")[0]
        return f"{limit:g}{'' if unit.startswith(':') else ' '}{unit}{self.of if whole else ''}"

    @property
    def words(self) -> str:
        """Both limits in words.

        Examples
        --------
        >>> LIMITS["title.contrast"].words
        '4.5:1; fails below 3:1'
        >>> LIMITS["coverage.edge_width"].words
        '4 px at 1080 lines; fails above 10 px'
        """
        first = self.shown(self.watch, whole=True)
        if self.fails == self.watch or math.isinf(self.fails):
            return first
        return f"{first}; fails {self.side} {self.shown(self.fails)}"


_PRACTICE = "common practice (from memory)"
_HUNDRED = "about 100 and 1,000 pixels at 1920 x 1080"
_EYE = "only the eye can tell a gap in the hair from a keyed-out button"
_SMALL = Bounds(0.005, 0.05, "% of picture", why=_HUNDRED)
_SPILL = Bounds(2.5, 10.0, "% of white", why="2.5 % are 5.5 of the 219 steps of an 8-bit signal")
_FLASHES = Bounds(3.0, 3.0, "flashes a second", "WCAG 2.3.1, ITU-R BT.1702")

LIMITS = {
    "backing.chroma": Bounds(
        30.0, 15.0, "% of full chroma",
        why="a pale or dark backing leaves the key signal little to work with",
    ),
    "backing.evenness": Bounds(
        0.5, 1.5, "stops", _PRACTICE,
        why="a third to half a stop; D. Morphy in *KitPlus*, March 2013: a third of a stop; "
        "1.5 stops are ours",
    ),
    "backing.noise": Bounds(2.0, 5.0, "% of white", why="from trials with the demo's plates"),
    "backing.shadows": Bounds(0.5, 1.5, "stops", why="as for evenness"),
    "coverage.balance": Bounds(
        99.5, 99.99, "% of picture", why="a matte all clear or all solid is no key"
    ),
    "coverage.edge_width": Bounds(
        4.0, 10.0, "px", _PRACTICE, of=" at 1080 lines",
        why="one to three pixels is a natural edge at HD; twice as much at 2160 lines, but no "
        "less at fewer: lenses and cameras of fewer lines are no softer in pixels; up to 1.3 times "
        "the width of the plate's own edges holds",
    ),
    "coverage.holes": _SMALL,
    "coverage.openings": Bounds(0.005, math.inf, "% of picture", why=_EYE),
    "coverage.specks": _SMALL,
    "flash.general": _FLASHES,
    "flash.general_picture": _FLASHES,
    "flash.red": _FLASHES,
    "flash.red_picture": _FLASHES,
    "levels.range": Bounds(1.0, 1.0, "% of picture", "EBU R 103 v3.0"),
    "spill.after_p95": _SPILL,
    "spill.blue_p95": _SPILL,
    "spill.green_p95": _SPILL,
    "spill.rim_p95": _SPILL,
    "stripes.pattern": Bounds(25.0, 40.0, "% of picture", "ITU-R BT.1702 (from memory)"),
    "subject.clash": Bounds(0.2, 2.0, "% of the subject"),
    "title.contrast": Bounds(4.5, 3.0, ":1", "WCAG 2.2, 1.4.3 (level AA)"),
    "title.letter_height": Bounds(
        4.0, 2.5, "%", f"{_PRACTICE}; the latter ours", of=" of the picture height"
    ),
    "title.reading_time": Bounds(2.0, 1.5, "s", _PRACTICE),
}  # fmt: skip
"""By the measure's name."""
