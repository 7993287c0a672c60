"""Settings of the effects, as plain frozen values with their ranges checked.

The effect sheet's models and the command line's options both end here, so a
range is stated once.
"""

from __future__ import annotations

import difflib
import math
import re
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

from keyer.errors import SettingError

Light = Literal["video", "linear"]
MixKind = Literal["mix", "additive", "non-additive"]
Curve = Literal["linear", "ease-in", "ease-out", "ease"]

_COLOUR = re.compile(r"#?([0-9A-Fa-f]{3}){1,2}", re.ASCII)

Rgb = tuple[float, float, float]
"""R'G'B' nominal 0..1."""


def in_range(name: str, value: float, low: float, high: float, hint: str = "") -> float:
    """Return `value` if it is a number in [low, high].

    Parameters
    ----------
    name : str
        How the user calls the parameter.
    value : float
    low, high : float
    hint : str
        A cure to add to the message.

    Returns
    -------
    float

    Raises
    ------
    SettingError
        If it is not finite or lies outside.
    """
    number = float(value)
    if not math.isfinite(number) or not low <= number <= high:
        tail = f" {hint}" if hint else ""
        msg = f"{name} must be in [{low:g}, {high:g}], got {value:g}.{tail}"
        raise SettingError(msg)
    return number


def one_of(name: str, value: str, allowed: Sequence[str]) -> str:
    """Return `value` if it is one of the words allowed.

    Parameters
    ----------
    name : str
        How the user calls the parameter.
    value : str
    allowed : sequence of str

    Returns
    -------
    str

    Raises
    ------
    SettingError
        Lists the words, and names the nearest.
    """
    if value in allowed:
        return value
    near = difflib.get_close_matches(str(value), allowed, 1)
    tail = f" Did you mean {near[0]!r}?" if near else ""
    msg = f"{name} must be one of {', '.join(allowed)}, got {value!r}.{tail}"
    raise SettingError(msg)


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
        msg = f"{name} must be written as #RRGGBB, got {text!r:.60}. White is #FFFFFF."
        raise SettingError(msg)
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

    soft: float = 0.0
    border: float = 0.0
    border_soft: float = 0.0
    border_colour: Rgb = (1.0, 1.0, 1.0)
    border_ramp: Rgb | None = None

    def __post_init__(self) -> None:
        hint = "It is in percent of the picture height."
        in_range("soft", self.soft, 0, 100, hint)
        in_range("border", self.border, 0, 100, hint)
        in_range("border-soft", self.border_soft, 0, 100, hint)
        for part in self.border_colour:
            in_range("border-colour", part, 0, 1)
        for part in self.border_ramp or ():
            in_range("border-ramp", part, 0, 1)


@dataclass(frozen=True)
class KeySettings:
    """A fast chroma key, ready to run.

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

    hue_deg: float
    acceptance_deg: float
    clip_percent: float
    gain: float
    spill_percent: float
    backing: Rgb

    def __post_init__(self) -> None:
        in_range("hue", self.hue_deg, -360, 360, "It is an angle in degrees on the vectorscope.")
        in_range("acceptance", self.acceptance_deg, 10, 180, "It is a full angle in degrees.")
        in_range("clip", self.clip_percent, 0, 95, "It is in percent of the backing's key signal.")
        in_range("gain", self.gain, 0.1, 50, "1 leaves the matte as it is.")
        in_range("spill", self.spill_percent, 0, 100, "It is in percent.")


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

    fill_holes: float = 0.0
    drop_specks: float = 0.0
    grow: float = 0.0
    feather: float = 0.0

    def __post_init__(self) -> None:
        in_range("fill-holes", self.fill_holes, 0, 1e8, "It is an area in pixels.")
        in_range("drop-specks", self.drop_specks, 0, 1e8, "It is an area in pixels.")
        in_range("grow", self.grow, -256, 256, "It is in pixels; a negative number shrinks.")
        in_range("feather", self.feather, 0, 512, "It is the width of the edge in pixels.")


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

    black_percent: float = 0.0
    gain_percent: float = 100.0
    gamma: float = 1.0
    saturation_percent: float = 100.0
    hue_deg: float = 0.0
    balance: tuple[float, float, float] = (100.0, 100.0, 100.0)

    def __post_init__(self) -> None:
        in_range("black", self.black_percent, -50, 50, "It is in percent of white.")
        in_range("gain", self.gain_percent, 0, 400, "It is in percent: 100 leaves white.")
        in_range("gamma", self.gamma, 0.2, 5, "1 leaves the picture as it is.")
        in_range("saturation", self.saturation_percent, 0, 400, "It is in percent.")
        in_range("hue", self.hue_deg, -180, 180, "It is an angle in degrees.")
        for part in self.balance:
            in_range("balance", part, 0, 400, "It is in percent for each of R, G and B.")


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

    border: float = 0.0
    border_colour: Rgb = (1.0, 1.0, 1.0)
    border_soft: float = 0.0
    corners: float = 0.0
    shadow: float = 0.0
    shadow_soft: float = 2.0
    shadow_offset: tuple[float, float] = (0.6, 0.8)

    def __post_init__(self) -> None:
        hint = "It is in percent of the picture height."
        in_range("border", self.border, 0, 50, hint)
        in_range("border-soft", self.border_soft, 0, 50, hint)
        in_range("corners", self.corners, 0, 100, hint)
        in_range("shadow", self.shadow, 0, 100, "It is in percent.")
        in_range("shadow-soft", self.shadow_soft, 0, 50, hint)
        for part in self.border_colour:
            in_range("border-colour", part, 0, 1)
        for part in self.shadow_offset:
            in_range("shadow-offset", part, -50, 50, hint)


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

    strength_percent: float = 0.0
    soft_percent: float = 0.0

    def __post_init__(self) -> None:
        hint = "It is in percent: 100 is as dark as on the backing."
        in_range("shadow", self.strength_percent, 0, 200, hint)
        in_range("shadow-soft", self.soft_percent, 0, 50, "It is in percent of the picture height.")
