"""Where a hire bicycle stands, its measure and its materials.

It is drawn in its own measure, the radius of a wheel being 1, the middle between
the hubs the origin.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from examples.drawing.light import STUDIO, Lamps, encode, linear
from examples.drawing.parts import Cast, strands, tube
from examples.drawing.stage import Stage, spline, taper

Floats = NDArray[np.float32]
Points = NDArray[np.float64]

REAR, FRONT = (-1.55, 0.0), (1.55, 0.0)
BRACKET = (-0.30, 0.20)
"""Where the cranks turn."""

CREAM = linear("#EADFC8")
CHROME = linear("#C9C6C0")
LEATHER = linear("#8A5230")
WICKER = linear("#B98A4E")
DARK = linear("#2A2624")
BRASS = linear("#C9A24E")


@dataclass(frozen=True)
class Placed:
    """A bicycle on a stage.

    Attributes
    ----------
    stage : Stage
    origin : x, y in picture heights of the middle between the hubs
    size : float
        Radius of a wheel, picture heights.
    paint : coded colour of the frame
    turn, blur : float
        Angle of the wheels, and the angle turned while the shutter is open, radians.
    crank : float
        Angle of the cranks, radians.
    lamps : Lamps
    """

    stage: Stage
    origin: tuple[float, float]
    size: float
    paint: str = "#C23A2C"
    turn: float = 0.0
    blur: float = 0.0
    crank: float = 0.5
    lamps: Lamps = STUDIO

    def at(self, knots: Sequence[tuple[float, float]] | Points) -> Points:
        """Take places of the bicycle to the stage."""
        placed: Points = np.asarray(knots, np.float64) * self.size + np.array(self.origin)
        return placed

    def bar(
        self,
        knots: Sequence[tuple[float, float]],
        radii: Sequence[float],
        albedo: Floats,
        *,
        gloss: float | None = None,
        sharp: float = 46.0,
        bump: Callable[[Floats, Floats], Floats] | None = None,
        shadow: float = 0.0,
        sheen: float = 0.0,
    ) -> None:
        """Lay a tube along a smooth curve: chrome where it is grey, varnished elsewhere."""
        metal = 0.85 if np.ptp(albedo) < 0.12 and albedo.max() > 0.05 else 0.0
        curve = self.at(spline(knots, steps=8) if len(knots) > 2 else knots)
        size = self.size
        cast: Cast | None = (shadow, 0.03 * size, 0.02 * size, 0.04 * size) if shadow else None
        tube(
            self.stage, curve, taper(radii, len(curve)) * size, albedo,
            gloss=0.6 if gloss is None else gloss, sharp=sharp, bump=bump, cast=cast, sheen=sheen,
            metal=metal, coat=1.0 if gloss is None else 0.0, lamps=self.lamps,
        )  # fmt: skip

    def daylight(self) -> Floats:
        """Return the lamps' light on things without a surface of their own; 1 in the studio."""
        here, usual = (
            np.array(lamps.above, np.float32)
            + np.float32(0.5) * np.array(lamps.key_colour, np.float32)
            for lamps in (self.lamps, STUDIO)
        )
        return np.asarray(here / usual, np.float32)

    def wires(
        self, lines: Sequence[Points], width: float, colour: Floats, opacity: float = 1.0
    ) -> None:
        """Lay thin wires of one linear colour."""
        placed = [self.at(line) for line in lines]
        widths = [np.full(len(line), width * self.size) for line in placed]
        strands(self.stage, placed, widths, encode(colour * self.daylight()), opacity)
