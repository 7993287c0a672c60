"""Settings of the effects, as plain frozen values with their ranges checked.

The effect sheet's models and the command line's options both end here; ranges
stand beside the fields (`keyer.kinds.ranges`).
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from typing import Annotated, Literal

from keyer.errors import SettingError
from keyer.kinds.ranges import Within, check_ranges

Light = Literal["video", "linear"]
MixKind = Literal["mix", "additive", "non-additive"]
Curve = Literal["linear", "ease-in", "ease-out", "ease"]

_OF_HEIGHT = "It is in percent of the picture height."
_COLOUR = re.compile(r"#?([0-9A-Fa-f]{3}){1,2}", re.ASCII)

Rgb = tuple[float, float, float]
"""R'G'B' nominal 0..1."""


def parse_colour(text: str, name: str = "colour") -> Rgb:
    """Read `#RRGGBB` or `#RGB` (the notation of CSS Color Module Level 4, 5.2).

    Parameters
    ----------
    text : str
    name : str
        How the user calls the parameter.

    Returns
    -------
    tuple of three floats, 0..1

    Raises
    ------
    SettingError
    """
    if not _COLOUR.fullmatch(text.strip()):
        demand = f"must be written as #RRGGBB, got {text!r:.60}. White is #FFFFFF."
        raise SettingError(demand, name)
    digits = text.strip().removeprefix("#")
    if len(digits) == 3:
        digits = "".join(2 * digit for digit in digits)
    red, green, blue = bytes.fromhex(digits)
    return red / 255, green / 255, blue / 255


@dataclass(frozen=True)
class Edge:
    """The edge of a wipe, in percent of picture height along its normal.

    Attributes
    ----------
    soft : float
        Width over which one picture turns into the other (without a border),
        0..100. 0 is a hard edge: one pixel of anti-aliasing.
    border : float
        Width of the border, 0..100; 0 is none.
    border_soft : float
        Width over which each side of the border turns into the picture beside it.
        Both its sides are as soft as the wider of `soft` and `border_soft`.
    border_colour : tuple of three floats
    border_ramp : tuple of three floats, or None
        Colour of the border on B's side, into which `border_colour` runs from A's side.
    """

    soft: Annotated[float, Within(0, 100, _OF_HEIGHT)] = 0.0
    border: Annotated[float, Within(0, 100, _OF_HEIGHT)] = 0.0
    border_soft: Annotated[float, Within(0, 100, _OF_HEIGHT)] = 0.0
    border_colour: Annotated[Rgb, Within(0, 1)] = (1.0, 1.0, 1.0)
    border_ramp: Annotated[Rgb | None, Within(0, 1)] = None

    def __post_init__(self) -> None:
        check_ranges(self)


@dataclass(frozen=True)
class KeySettings:
    """All settings of a fast chroma key, none left open.

    Attributes
    ----------
    hue_deg : float
        Key hue on the vectorscope: Cb to the right, Cr up, counter-clockwise.
    acceptance_deg : float
        Full width of the wedge about the key hue that counts as backing, 10..180.
    clip_percent : float
        Key signal at and below which the matte is clear, 0..95.
    gain : float
        Slope of the matte above the clip, 0.1..50.
    spill_percent : float
        How much of the remaining key hue is taken out of the subject, 0..100.
    backing : tuple of three floats
        R'G'B' of the backing, taken off the edges.
    """

    hue_deg: Annotated[float, Within(-360, 360, "It is an angle in degrees on the vectorscope.")]
    acceptance_deg: Annotated[float, Within(10, 180, "It is a full angle in degrees.")]
    clip_percent: Annotated[float, Within(0, 95, "It is in percent of the backing's key signal.")]
    gain: Annotated[float, Within(0.1, 50, "1 leaves the matte as it is.")]
    spill_percent: Annotated[float, Within(0, 100, "It is in percent.")]
    backing: Rgb

    def __post_init__(self) -> None:
        check_ranges(self)


@dataclass(frozen=True)
class Finish:
    """What is done to a matte by hand, in pixels of the output.

    Attributes
    ----------
    fill_holes, drop_specks : float
        Largest hole made solid and largest speck made clear, areas in pixels; 0 is none.
    grow : float
        Pixels that the edge moves outwards, -256..256; fractions allowed, negative shrinks.
    feather : float
        Width in pixels that a hard edge gets, 0..512.
    """

    fill_holes: Annotated[float, Within(0, 1e8, "It is an area in pixels.")] = 0.0
    drop_specks: Annotated[float, Within(0, 1e8, "It is an area in pixels.")] = 0.0
    grow: Annotated[float, Within(-256, 256, "It is in pixels; a negative number shrinks.")] = 0.0
    feather: Annotated[float, Within(0, 512, "It is the width of the edge in pixels.")] = 0.0

    def __post_init__(self) -> None:
        check_ranges(self)


@dataclass(frozen=True)
class Correction:
    """What is done to the levels and the chroma of a picture.

    Attributes
    ----------
    black_percent : float
        Where black comes to lie, -50..50 percent of white.
    gain_percent : float
        Where white comes to lie, 0..400.
    gamma : float
        Above 1 lifts the middle, 0.2..5.
    saturation_percent : float
        Of the chroma, 0..400.
    hue_deg : float
        Turns chroma counter-clockwise on the vectorscope, -180..180.
    balance : tuple of three floats
        Gain of R', G' and B' beside, 0..400 percent.
    """

    black_percent: Annotated[float, Within(-50, 50, "It is in percent of white.")] = 0.0
    gain_percent: Annotated[float, Within(0, 400, "It is in percent: 100 leaves white.")] = 100.0
    gamma: Annotated[float, Within(0.2, 5, "1 leaves the picture as it is.")] = 1.0
    saturation_percent: Annotated[float, Within(0, 400, "It is in percent.")] = 100.0
    hue_deg: Annotated[float, Within(-180, 180, "It is an angle in degrees.")] = 0.0
    balance: Annotated[
        tuple[float, float, float], Within(0, 400, "It is in percent for each of R, G and B.")
    ] = (100.0, 100.0, 100.0)

    def __post_init__(self) -> None:
        check_ranges(self)


@dataclass(frozen=True)
class BoxLook:
    """What a picture that stands in another one has about it; lengths in percent of picture height.

    Attributes
    ----------
    border : float
        Width of an even border about it, 0..50.
    border_colour : tuple of three floats
    border_soft : float
        Width over which both sides of the border are soft, 0..50.
    corners : float
        Radius of round corners, 0..100.
    shadow : float
        Opacity of a drop shadow, 0..100 percent.
    shadow_soft : float
        Width over which its edge is soft, 0..50.
    shadow_offset : tuple of two floats
        How far it lies to the right and down, -50..50.
    """

    border: Annotated[float, Within(0, 50, _OF_HEIGHT)] = 0.0
    border_colour: Annotated[Rgb, Within(0, 1)] = (1.0, 1.0, 1.0)
    border_soft: Annotated[float, Within(0, 50, _OF_HEIGHT)] = 0.0
    corners: Annotated[float, Within(0, 100, _OF_HEIGHT)] = 0.0
    shadow: Annotated[float, Within(0, 100, "It is in percent.")] = 0.0
    shadow_soft: Annotated[float, Within(0, 50, _OF_HEIGHT)] = 2.0
    shadow_offset: Annotated[tuple[float, float], Within(-50, 50, _OF_HEIGHT)] = (0.6, 0.8)

    def __post_init__(self) -> None:
        check_ranges(self)


@dataclass(frozen=True)
class Shade:
    """The backing's shadows on the new background.

    Attributes
    ----------
    strength_percent : float
        0..200: 0 is none, 100 as dark as on the backing.
    soft_percent : float
        Width that a hard edge gets, 0..50 % of the picture height.
    """

    strength_percent: Annotated[
        float, Within(0, 200, "It is in percent: 100 is as dark as on the backing.", "shadow")
    ] = 0.0
    soft_percent: Annotated[float, Within(0, 50, _OF_HEIGHT, "shadow-soft")] = 0.0

    def __post_init__(self) -> None:
        check_ranges(self)
