"""Types of wipe patterns and of the fields (orders of uncovering) that they make.

A field is a number for each pixel, 0..1 inside the picture: the progress at
which that pixel turns from A to B. Patterns are data (`patterns/*.toml`);
`keyer.pixel.wipes.fields` turns one into a field for a geometry and modifiers.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Annotated, Any, Literal, NamedTuple, get_args

import numpy as np
from numpy.typing import NDArray

from keyer.errors import SettingError
from keyer.kinds.ranges import Within, check_ranges, in_range, one_of

Effect = Literal["wipe", "push", "slide", "mix"]
"""What a pattern does: uncover, move both pictures, move the new one, or mix."""

Wave = Literal["sine", "triangle", "square", "saw", "noise"]


@dataclass(frozen=True, eq=False)
class Pattern:
    """One entry of the library; equal to itself alone.

    Attributes
    ----------
    type, subtype : str
        Names of W3C SMIL 3.0, chapter 11, or a user's own.
    code : int or None
        SMPTE wipe code (SMPTE 258M), where there is one.
    family : str
        Which file of the library it stands in.
    summary : str
        What the eye sees, in one line.
    function : str
        Key of `keyer.pixel.wipes.fields.FUNCTIONS`.
    params : mapping
        Parameters of the function.
    default : bool
        Whether the type alone means this subtype.
    effect : {"wipe", "push", "slide", "mix"}
    picture : (H, W) float32 or None
        The field itself, where it is a user's grey picture.
    files : tuple of str
        Paths of the user's files that it comes from; none for the library's own.
    """

    type: str
    subtype: str
    code: int | None
    family: str
    summary: str
    function: str
    params: Mapping[str, Any] = field(default_factory=dict)
    default: bool = False
    effect: Effect = "wipe"
    picture: NDArray[np.float32] | None = field(default=None, repr=False)
    files: tuple[str, ...] = ()

    @property
    def name(self) -> str:
        """The pattern's name, `type/subtype`."""
        return f"{self.type}/{self.subtype}"


_OF_HEIGHT = "It is in percent of the picture height."


@dataclass(frozen=True)
class Geometry:
    """The raster that a field is made for.

    Attributes
    ----------
    width, height : int
        Pixels.
    pixel_aspect : float
        Width of a pixel as displayed, over its height.
    """

    width: Annotated[int, Within(1, 16384)]
    height: Annotated[int, Within(1, 16384)]
    pixel_aspect: Annotated[float, Within(0.1, 10, "Square pixels have 1.", "pixel_aspect")] = 1.0

    def __post_init__(self) -> None:
        check_ranges(self)

    @property
    def display_aspect(self) -> float:
        """Width of the picture as displayed, over its height."""
        return self.width * float(self.pixel_aspect) / self.height


@dataclass(frozen=True)
class Modulation:
    """A wave that displaces the edge of a wipe along its normal.

    Attributes
    ----------
    wave : {"sine", "triangle", "square", "saw", "noise"}
    amplitude : float
        Largest displacement to either side, percent of picture height, 0..50.
    wavelength : float
        Length of a wave along the edge, percent of picture height, 1..200.
    phase : float
        Where the wave stands at first, in cycles, -1..1.
    speed : float
        Cycles a second, -25..25.
    seed : int
        Which noise; the same seed gives the same noise.
    """

    wave: Wave = "sine"
    amplitude: Annotated[float, Within(0, 50, _OF_HEIGHT, "modulation amplitude")] = 3.0
    wavelength: Annotated[float, Within(1, 200, _OF_HEIGHT, "modulation wavelength")] = 20.0
    phase: Annotated[float, Within(-1, 1, "It is in cycles.", "modulation phase")] = 0.0
    speed: Annotated[float, Within(-25, 25, "It is in cycles a second.", "modulation speed")] = 0.0
    seed: Annotated[int, Within(0, 2**31 - 1, name="modulation seed")] = 0

    def __post_init__(self) -> None:
        one_of("modulation wave", self.wave, get_args(Wave))
        check_ranges(self)


@dataclass(frozen=True)
class Modifiers:
    """Changes that any pattern takes: position, aspect, turn, repeats, a wave on its edge.

    Attributes
    ----------
    reverse : bool
        Run the other way: the field becomes 1 - field.
    position : tuple of two floats
        Where the centre of the pattern stands, in percent of picture width
        from the left and of picture height from the top, -50..150.
    aspect : float
        Width of the pattern over its own, 0.1..10.
    rotation : float
        Degrees clockwise, -3600..3600.
    repeat : tuple of two ints
        How often the pattern stands across and down, 1..32.
    mirror : bool
        Turn every other repetition over, so that neighbours meet.
    start, end : float
        The part of the progress that is run, 0..1.
    modulation : Modulation or None
    """

    reverse: bool = False
    position: Annotated[
        tuple[float, float], Within(-50, 150, "It is in percent; 50,50 is the centre.")
    ] = (50.0, 50.0)
    aspect: Annotated[float, Within(0.1, 10, "1 leaves the pattern as it is.")] = 1.0
    rotation: Annotated[float, Within(-3600, 3600, "It is in degrees.")] = 0.0
    repeat: Annotated[tuple[int, int], Within(1, 32, "It is a number of copies.")] = (1, 1)
    mirror: bool = False
    start: Annotated[float, Within(0, 1)] = 0.0
    end: Annotated[float, Within(0, 1)] = 1.0
    modulation: Modulation | None = None

    def __post_init__(self) -> None:
        check_ranges(self)
        for count in self.repeat:
            if count != int(count):
                demand = f"must be whole numbers, got {count:g}. Say for instance 3,2."
                raise SettingError(demand, "repeat")
        in_range("end", self.end, self.start, 1, "It may not lie before start.")

    def progress(self, share: float) -> float:
        """Progress of the pattern at a share (0..1) of the effect's time."""
        return self.start + (self.end - self.start) * share


NO_JUMP = 255
JUMP_STEPS = 254


class Jumps(NamedTuple):
    """Where between two samples a field jumps.

    Attributes
    ----------
    number : (block rows, block columns) int32
        Of each block of samples: where its marks are; -1: it has none.
    marks : (N, 2, 8, 8) uint8
        From each sample to the next one to the right, then to the next one
        below: where on the way the jump lies, in 1/254 of it; 255: nowhere.
    """

    number: NDArray[np.int32]
    marks: NDArray[np.uint8]


@dataclass(frozen=True, eq=False)
class Field:
    """A pattern laid out for a raster, as the wipe needs it.

    Sampled at pixel centres, with a margin around the picture so that edges
    just outside it still throw their softness in.

    Attributes
    ----------
    values : (H + 2 margin_y, W + 2 margin_x) float32
        Inside the picture 0..1; the margin continues the pattern, and may
        leave 0..1.
    margin_x, margin_y : int
        Columns and rows of margin on each side.
    geometry : Geometry
    modifiers : Modifiers
    low, high : (block rows, block columns) float32
        Least and greatest value of each block of samples.
    jumps : Jumps or None
        None: it jumps nowhere.
    turns : bool
        The edge turns about a point (clock hands) instead of travelling.
    along : float32 of the shape of `values`, or None
        Way along the edge in picture heights, for modulation.
    swing : float32 of the shape of `values`, or None
        How much the modulation's amplitude changes the field.
    most : (block rows, block columns) float32, or None
        Greatest swing of each block.
    """

    values: NDArray[np.float32]
    margin_x: int
    margin_y: int
    geometry: Geometry
    modifiers: Modifiers
    low: NDArray[np.float32]
    high: NDArray[np.float32]
    jumps: Jumps | None = None
    turns: bool = False
    along: NDArray[np.float32] | None = None
    swing: NDArray[np.float32] | None = None
    most: NDArray[np.float32] | None = None

    @property
    def picture(self) -> NDArray[np.float32]:
        """The field inside the picture, (H, W) float32, 0..1."""
        top, left = self.margin_y, self.margin_x
        height, width = self.geometry.height, self.geometry.width
        return self.values[top : top + height, left : left + width]
