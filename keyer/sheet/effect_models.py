"""The tables of transitions and keys, as they are written."""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import BeforeValidator

from keyer.kinds.cautions import FAST
from keyer.kinds.field import Modulation, Wave
from keyer.kinds.settings import Curve
from keyer.sheet.values import (
    Box,
    Colour,
    Corners,
    Hue,
    Number,
    Pair,
    Pattern,
    Switch,
    Table,
    Text,
    Time,
    Whole,
    entry,
)
from keyer.sheet.words import KeyKind, TransitionKind


class ModulateTable(Table):
    """`modulate = { ... }`: the edge of a wipe displaced by a wave along its normal."""

    wave: Wave = entry(Modulation().wave, "Shape of the wave.")
    amplitude: Number = entry(
        Modulation().amplitude,
        "How far the edge swings to either side.",
        unit="percent of picture height",
    )
    wavelength: Number = entry(
        Modulation().wavelength,
        "Length of one wave along the edge.",
        unit="percent of picture height",
    )
    phase: Number = entry(Modulation().phase, "Where in the wave the edge starts.", unit="cycles")
    speed: Number = entry(
        Modulation().speed, f"How fast the wave runs along the edge. {FAST}", unit="cycles a second"
    )
    seed: Whole = entry(Modulation().seed, "Another seed is another noise.")


def _kind(value: object) -> object:
    """Take a dissolve for a mix: both are common speech."""
    return "mix" if value == "dissolve" else value


Kind = Annotated[TransitionKind, BeforeValidator(_kind)]


class HoldTable(Table):
    """`hold = { ... }`: a transition that stands still for a while: a split screen."""

    at: Number = entry(0.5, "Progress at which it stands.", span=(0, 1))
    length: Time = entry(..., "For how many of the transition's frames.")


class TransitionTable(Table):
    """`transition = { ... }`: how one picture gives way to another."""

    use: Text | None = entry(
        None, "Name of a `[transitions.NAME]` table whose keys apply where this one has none."
    )
    kind: Kind | None = entry(
        None,
        "`cut`; `mix` (`dissolve` is understood); `additive` and `non-additive` mix; `fade` "
        "through a colour (from it, on the first cue; to it, on a cue without source); `wipe` in a "
        "pattern, which may also push or slide.",
        shown="must be given, here or by `use`",
    )
    length: Time | None = entry(
        None,
        "How many frames are mixed; the first is the cue's `at`.",
        shown="as many frames as timecode counts in a second",
    )
    curve: Curve = entry(
        "linear", "How progress runs: evenly, starting slowly, ending slowly, or both (`ease`)."
    )
    hold: HoldTable | None = entry(
        None, "It stands still for a while, as a split screen does.", shown="it runs through"
    )
    colour: Colour = entry(
        "#000000",
        "Colour of a fade; and of the patterns `fade/fadeToColor` and `fade/fadeFromColor`.",
    )
    pattern: Pattern | None = entry(
        None,
        "Wipe pattern: `type/subtype`, the type alone, or its SMPTE code.",
        shown="must be given for a wipe",
    )
    soft: Number = entry(0.0, "Width of a soft edge.", unit="percent of picture height")
    border: Number = entry(
        0.0, "Width of a border along the edge.", unit="percent of picture height"
    )
    border_soft: Number = entry(
        0.0, "Width over which each side of the border turns into the picture beside it.",
        unit="percent of picture height",
    )  # fmt: skip
    border_colour: Colour = entry("#FFFFFF", "Colour of the border.")
    border_ramp: Colour | None = entry(
        None,
        "Colour on the new picture's side of the border, into which `border_colour` runs from the "
        "old picture's side.",
        shown="one colour all over",
    )
    border_source: Text | None = entry(
        None, "Name of a source whose picture fills the border instead of its colours."
    )
    reverse: Switch = entry(False, "Run the pattern the other way round.")  # noqa: FBT003
    position: Pair = entry(
        (50.0, 50.0), "Where the pattern's centre stands, from left and top.",
        unit="percent of picture width and height",
    )  # fmt: skip
    aspect: Number = entry(1.0, "Width of the pattern; 2 makes it twice as wide.")
    rotate: Number = entry(0.0, "Turn the pattern, clockwise.", unit="degrees")
    repeat: tuple[Whole, Whole] = entry((1, 1), "How often the pattern stands across and down.")
    mirror: Switch = entry(
        False,  # noqa: FBT003
        "Turn every other repeat over, so that neighbours meet.",
    )
    modulate: ModulateTable | None = entry(None, "A wave on the edge.", shown="none")
    start_progress: Number = entry(
        0.0, "Progress at which a wipe, in any pattern, starts (SMIL 3.0 `startProgress`)."
    )
    end_progress: Number = entry(
        1.0, "Progress at which a wipe, in any pattern, ends (SMIL 3.0 `endProgress`)."
    )


class MaskKeyframeTable(Table):
    """`keyframes = [{ ... }]` of a mask: its shape at a time; in between it moves and changes."""

    at: Time = entry(..., "Counted from the overlay's `in`.")
    rectangle: Box | None = entry(None, "As in the mask.", shown="a mask of another shape")
    ellipse: Box | None = entry(None, "As in the mask.", shown="a mask of another shape")
    polygon: Corners | None = entry(
        None, "As in the mask, with as many corners.", shown="a mask of another shape"
    )
    curve: Curve = entry("linear", "How it moves from here to the next keyframe.")


class MaskTable(Table):
    """`garbage = [{ ... }]` and `hold = [{ ... }]`: a part of the picture that is keyed by hand.

    One of `rectangle`, `ellipse`, `polygon` and `source` says where it is, in the picture as
    it is keyed: fitted to the format, not yet placed.
    """

    rectangle: Box | None = entry(
        None, "Left, top, width and height.", unit="percent of picture width and height"
    )
    ellipse: Box | None = entry(
        None, "Its middle from left and top, its width and its height.",
        unit="percent of picture width and height",
    )  # fmt: skip
    polygon: Corners | None = entry(
        None, "Three corners or more, from left and top; lines that cross cut holes.",
        unit="percent of picture width and height",
    )  # fmt: skip
    source: Text | None = entry(
        None, "Name of a source whose picture is the mask: white is masked, black is not."
    )
    soft: Number = entry(
        0.0, "Width of a shape's soft edge, its middle on the outline.",
        unit="percent of picture height", span=(0, 100),
    )  # fmt: skip
    keyframes: tuple[MaskKeyframeTable, ...] = entry(
        (), "Movement of a shape, in order of time; before the first it is as the mask says."
    )


class KeyTable(Table):
    """`key = { ... }`: which part of an overlay's source is seen."""

    use: Text | None = entry(
        None, "Name of a `[keys.NAME]` table whose keys apply where this one has none."
    )
    kind: KeyKind | None = entry(
        None,
        "`chroma` takes a coloured backing out; `luminance` keeps what is bright; `linear` takes "
        "the key signal as it is.",
        shown="must be given, here or by `use`",
    )
    source: Text | None = entry(
        None, "Name of the source whose picture makes a luminance or linear key.",
        shown="the overlay's own source",
    )  # fmt: skip
    channel: Literal["luma", "alpha"] = entry("luma", "What a linear key takes from its source.")
    quality: Literal["fast", "fine"] = entry(
        "fast",
        "`fast` keys each pixel by itself; `fine` carries the subject's colour outwards, and takes "
        "about half a second a frame at 1080 lines. `keyer clip` says how long the rest takes.",
    )
    hue: Hue = entry(
        "auto",
        "Hue of the backing: `auto`, `green`, `blue` or an angle on the vectorscope, Cb to the "
        "right, Cr up, counter-clockwise.",
        unit="degrees",
    )
    acceptance: Number | None = entry(
        None,
        "Full width of the wedge of hues that counts as backing; of a fast key.",
        unit="degrees",
        shown="chosen from the picture",
    )
    clip: Number | None = entry(
        None,
        "Key signal up to which the matte is clear; of a fine key, matte that counts as clear.",
        unit="percent",
        shown="chosen from the picture (fast chroma), 0 (others)",
    )
    gain: Number | None = entry(
        None, "Steepness of the matte above the clip; of a fine key 1 or more.",
        shown="chosen from the picture (fast chroma), 1 (others)",
    )  # fmt: skip
    spill: Number = entry(
        100.0, "How much of the backing's tint is taken off the subject.", unit="percent"
    )
    invert: Switch = entry(False, "Swap what a luminance or linear key keeps.")  # noqa: FBT003
    sample: Box | None = entry(
        None,
        "Left, top, width and height of what is backing for certain, where `auto` is wrong.",
        unit="percent of picture width and height",
        span=(0, 100),
        shown="looked for",
    )
    clean_plate: Text | None = entry(
        None, "Name of a source that shows the empty backing from the same camera; for `fine`."
    )
    garbage: tuple[MaskTable, ...] = entry(
        (), "Masks under which the matte is clear: a stand, a light, the end of the backing."
    )
    hold: tuple[MaskTable, ...] = entry(
        (), "Masks under which the matte is solid and keeps its colour: a product of the key hue."
    )
    fill_holes: Number = entry(
        0.0, "Largest hole that is made solid, its edge counted in.", unit="pixels of area"
    )
    drop_specks: Number = entry(
        0.0, "Largest speck that is made clear, its edge counted in.", unit="pixels of area"
    )
    grow: Number = entry(
        0.0, "Move the edge outwards; fractions allowed, negative shrinks.", unit="pixels"
    )
    feather: Number = entry(0.0, "Width that a hard edge gets.", unit="pixels")
    shadow: Number = entry(
        0.0,
        "How dark the shadows on the backing lie on the new background; 100 is as they were.",
        unit="percent",
    )
    shadow_soft: Number = entry(
        0.0, "Width that a hard edge of a shadow gets.", unit="percent of picture height"
    )
