"""A moving background: a pattern drawn again and again in a few colours."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Literal

from keyer.errors import SettingError
from keyer.kinds.field import Modifiers
from keyer.kinds.settings import Rgb, in_range, one_of

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
    amplitude: float = 25.0
    wavelength: float = 60.0
    angle: float = 0.0
    cycles: int = 1
    stretch: float = 1.0
    seed: int = 0

    def __post_init__(self) -> None:
        one_of("wave kind", self.kind, ("sine", "noise"))
        hint = "It is in percent of one run through the colours."
        in_range("wave amplitude", self.amplitude, 0, 200, hint)
        in_range("wave wavelength", self.wavelength, 2, 400, "It is in percent of picture height.")
        in_range("wave angle", self.angle, -360, 360, "It is in degrees.")
        in_range("wave cycles", self.cycles, -20, 20, "It is a number of cycles in a loop.")
        in_range("wave stretch", self.stretch, 1, 10)
        in_range("wave seed", self.seed, 0, 2**31 - 1)
        if self.cycles != int(self.cycles):
            msg = f"wave cycles must be a whole number, got {self.cycles:g}: the loop must close."
            raise SettingError(msg)


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
    runs: float = 1.0
    soft: float = 100.0
    drift: int = 0
    waves: tuple[LookWave, ...] = ()
    shade: float = 0.0
    files: tuple[str, ...] = field(default=(), compare=False)

    def __post_init__(self) -> None:
        if not 2 <= len(self.colours) <= MOST_COLOURS:
            msg = f"colours must be 2 to {MOST_COLOURS}, got {len(self.colours)}."
            raise SettingError(msg)
        if len(self.waves) > MOST_WAVES:
            msg = f"waves must be at most {MOST_WAVES}, got {len(self.waves)}."
            raise SettingError(msg)
        for colour in self.colours:
            for part in colour:
                in_range("colours", part, 0, 1)
        in_range("runs", self.runs, 0, 64, "It is how often the colours are run through.")
        in_range("soft", self.soft, 0, 100, "It is in percent of the way to the next colour.")
        in_range("drift", self.drift, -20, 20, "It is in runs through the colours.")
        in_range("shade", self.shade, 0, 100, "It is in percent.")
        if self.drift != int(self.drift):
            msg = f"drift must be a whole number, got {self.drift:g}: the loop must close."
            raise SettingError(msg)
