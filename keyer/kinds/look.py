"""A moving background: a pattern drawn again and again in a few colours."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Annotated, Literal

from keyer.errors import SettingError
from keyer.kinds.field import Modifiers
from keyer.kinds.ranges import Within, check_ranges, in_range, one_of
from keyer.kinds.settings import Rgb

MOST_COLOURS = 8
MOST_WAVES = 6


@dataclass(frozen=True)
class LookWave:
    """Bends the colours of a background as if its field were displaced.

    Attributes
    ----------
    kind : {"sine", "noise"}
        A plane wave, or smooth noise.
    amplitude : float
        Largest displacement, in percent of one run through the colours, 0..200.
    wavelength : float
        Percent of picture height, 2..400.
    angle : float
        Way that a plane wave runs, degrees clockwise from the right.
    cycles : int
        Cycles in a loop, -20..20; 0 stands still.
    stretch : float
        How much longer noise is along `angle` than across it, 1..10.
    seed : int
        Which noise.
    """

    kind: Literal["sine", "noise"] = "noise"
    amplitude: Annotated[
        float, Within(0, 200, "It is in percent of one run through the colours.", "wave amplitude")
    ] = 25.0
    wavelength: Annotated[
        float, Within(2, 400, "It is in percent of picture height.", "wave wavelength")
    ] = 60.0
    angle: Annotated[float, Within(-360, 360, "It is in degrees.", "wave angle")] = 0.0
    cycles: Annotated[
        int, Within(-20, 20, "It is a number of cycles in a loop.", "wave cycles")
    ] = 1
    stretch: Annotated[float, Within(1, 10, name="wave stretch")] = 1.0
    seed: Annotated[int, Within(0, 2**31 - 1, name="wave seed")] = 0

    def __post_init__(self) -> None:
        one_of("wave kind", self.kind, ("sine", "noise"))
        check_ranges(self)
        if self.cycles != int(self.cycles):
            demand = f"must be a whole number, got {self.cycles:g}: the loop must close."
            raise SettingError(demand, "wave cycles")


@dataclass(frozen=True)
class Look:
    """A background.

    Attributes
    ----------
    name : str
    summary : str
        What the eye sees, in one line.
    pattern : str
        Of the library: `type/subtype`, or a code.
    colours : tuple of 2 to 8 R'G'B'
        Run through in this order and from the last to the first again.
    modifiers : Modifiers
        Of the pattern.
    runs : float
        How often the colours are run through over the pattern, 0..64.
    soft : float
        Percent of the way from one colour to the next that is a slope, 0..100.
    drift : int
        Runs through the colours by which the whole moves in a loop, -20..20.
    waves : tuple of LookWave
    shade : float
        Darkening of the corners, percent, 0..100.
    files : tuple of str
        Paths of the user's files that it comes from; none for the library's own.
    """

    name: str
    summary: str
    pattern: str
    colours: tuple[Rgb, ...]
    modifiers: Modifiers = field(default_factory=Modifiers)
    runs: Annotated[float, Within(0, 64, "It is how often the colours are run through.")] = 1.0
    soft: Annotated[float, Within(0, 100, "It is in percent of the way to the next colour.")] = (
        100.0
    )
    drift: Annotated[int, Within(-20, 20, "It is in runs through the colours.")] = 0
    waves: tuple[LookWave, ...] = ()
    shade: Annotated[float, Within(0, 100, "It is in percent.")] = 0.0
    files: tuple[str, ...] = field(default=(), compare=False)

    def __post_init__(self) -> None:
        if not 2 <= len(self.colours) <= MOST_COLOURS:
            demand = f"must be 2 to {MOST_COLOURS}, got {len(self.colours)}."
            raise SettingError(demand, "colours")
        if len(self.waves) > MOST_WAVES:
            demand = f"must be at most {MOST_WAVES}, got {len(self.waves)}."
            raise SettingError(demand, "waves")
        for colour in self.colours:
            for part in colour:
                in_range("colours", part, 0, 1)
        check_ranges(self)
        if self.drift != int(self.drift):
            demand = f"must be a whole number, got {self.drift:g}: the loop must close."
            raise SettingError(demand, "drift")
