"""The effect sheet as it is written: one model a table, every key with its meaning.

The tables on the pages of `docs/sheet.md` and the schema for editors are made from
what stands here. What the times and names amount to is `keyer.sheet.resolve`'s.
"""

from __future__ import annotations

from typing import Literal

from keyer.kinds.cautions import FAST
from keyer.kinds.settings import Curve, Light
from keyer.sheet.effect_models import KeyTable, TransitionTable
from keyer.sheet.source_models import SourceTable
from keyer.sheet.values import (
    Colour,
    Number,
    Pair,
    Switch,
    Table,
    Text,
    Time,
    Whole,
    entry,
)
from keyer.sheet.words import Flip


class FadeTable(Table):
    """`fade_in = { ... }` and `fade_out = { ... }`: all of it out of a colour, or into one.

    Overlays and guide track go with it. The first frame of a fade in is the colour alone, and so
    is the last one of a fade out.
    """

    length: Time = entry(..., "How many frames.")
    colour: Colour = entry("#000000", "Colour from which it fades in, or to which it fades out.")
    curve: Curve = entry(
        "linear", "How it runs: evenly, starting slowly, ending slowly, or both (`ease`)."
    )


class LoudnessTable(Table):
    """`loudness = { ... }`: what the mix has to hold; without it, it is held against EBU R 128."""

    target: Number = entry(-23.0, "Programme loudness.", unit="LUFS", span=(-40, -5))
    tolerance: Number = entry(0.5, "How far it may be off, either way.", unit="LU", span=(0, 5))
    true_peak: Number = entry(-1.0, "Highest true peak.", unit="dBTP", span=(-20, 0))


class SheetTable(Table):
    """`[sheet]`: what the whole spot is made in."""

    title: Text = entry("", "Name of the spot, for boards and cue sheets.")
    format: Text = entry(
        ..., "A format's name (`1080p25`, `576p25-16:9`) or `WIDTHxHEIGHT@RATE` with square pixels."
    )
    length: Time = entry(..., "How long the spot runs.")
    light: Light = entry(
        "video",
        "`video` mixes the coded values, as a control room does; `linear` mixes light.",
    )
    start: Time = entry(
        0,
        "Timecode printed on the first frame. Times in the sheet count from 0 all the same. "
        "At 29.97 and 59.94, written with `:` it prints non-drop timecode throughout.",
    )
    fade_in: FadeTable | None = entry(None, "The whole spot fades in from a colour.", shown="none")
    fade_out: FadeTable | None = entry(None, "The whole spot fades out to a colour.", shown="none")
    loudness: LoudnessTable | None = entry(
        None, "Limits that the mix of all sound must meet.", shown="EBU R 128, as advice"
    )
    patterns: Text | tuple[Text, ...] = entry(
        (), "Folders of patterns and backgrounds of your own, beside the sheet or with a path."
    )
    rules: Text = entry(
        "", "A file with the rules of the station that it is for, beside the sheet or with a path."
    )
    stills: tuple[Time, ...] = entry((), "Frames chosen to be shown to a client.")
    note: Text = entry("", "Anything that the crew should read.")


class KeyframeTable(Table):
    """`keyframes = [{ ... }]`: where the overlay stands at a time; in between it moves."""

    at: Time = entry(..., "Counted from the overlay's `in`, or from the cue's `at`.")
    position: Pair | None = entry(
        None, "As in `placement`.", span=(-1000, 1000), shown="not changed here"
    )
    scale: Number | None = entry(
        None, "As in `placement`.", unit="percent", span=(0, 1000), shown="not changed here"
    )
    opacity: Number | None = entry(
        None, f"As in `overlays`. {FAST}", span=(0, 1), shown="not changed here"
    )
    turn: Number | None = entry(
        None, "As in `placement`.", unit="degrees", span=(-3600, 3600), shown="not changed here"
    )
    curve: Curve = entry("linear", "How it moves from here to the next keyframe.")


class PlacementTable(Table):
    """`placement = { ... }`: where the picture of an overlay or a cue stands in the frame."""

    position: Pair = entry(
        (50.0, 50.0), "Where the middle of the overlay stands, from left and top.",
        unit="percent of picture width and height", span=(-1000, 1000),
    )  # fmt: skip
    scale: Number = entry(100.0, "Size.", unit="percent of the fitted size", span=(0, 1000))
    crop: tuple[Number, Number, Number, Number] = entry(
        (0.0, 0.0, 0.0, 0.0), "Cut off at left, top, right and bottom.",
        unit="percent of the overlay's width and height", span=(0, 100),
    )  # fmt: skip
    flip: Flip = entry("none", "Mirror the overlay.")
    turn: Number = entry(
        0.0, "Turn it about its middle, clockwise.", unit="degrees", span=(-3600, 3600)
    )
    border: Number = entry(
        0.0, "Width of an even border about it.", unit="percent of picture height"
    )
    border_colour: Colour = entry("#FFFFFF", "Colour of the border.")
    border_soft: Number = entry(
        0.0, "Width over which both sides of the border are soft.", unit="percent of picture height"
    )
    corners: Number = entry(0.0, "Radius of round corners.", unit="percent of picture height")
    shadow: Number = entry(0.0, "Opacity of a drop shadow.", unit="percent")
    shadow_soft: Number = entry(
        2.0, "Width over which the shadow's edge is soft.", unit="percent of picture height"
    )
    shadow_offset: Pair = entry(
        (0.6, 0.8), "How far the shadow lies to the right and down.",
        unit="percent of picture height",
    )  # fmt: skip
    keyframes: tuple[KeyframeTable, ...] = entry((), "Movement, in order of time.")


class CueTable(Table):
    """`[[cues]]`: from here on the base shows this source. In order of time."""

    source: Text | None = entry(
        None, "Name of a source. Without one, a `fade` goes to its colour and stays there."
    )
    at: Time = entry(
        0, "First frame of the transition; if the cue is a cut, of the source itself.",
    )  # fmt: skip
    transition: TransitionTable | None = entry(None, "How it comes on air.", shown="a cut")
    placement: PlacementTable | None = entry(
        None, "Where its picture stands, over black.", shown="it fills the frame"
    )
    name: Text = entry("", "What the crew calls it.")
    note: Text = entry("", "Anything that the crew should read.")


class OverlayTable(Table):
    """`[[overlays]]`: a key, title or picture over the base; later ones lie on top."""

    source: Text = entry(..., "Name of a source.")
    key: KeyTable | None = entry(
        None, "How it is keyed.", shown="its own alpha, or the whole picture"
    )
    in_: Time = entry(0, "First frame on which it is seen.", name="in")
    out: Time | None = entry(None, "First frame on which it is gone.", shown="the end of the sheet")
    transition_in: TransitionTable | None = entry(
        None, "Transition that brings it in; its first frame is `in`.", shown="a cut"
    )
    transition_out: TransitionTable | None = entry(
        None, "Transition that takes it out; it ends before `out`.", shown="a cut"
    )
    placement: PlacementTable | None = entry(
        None, "Where it stands.", shown="over the whole picture"
    )
    opacity: Number = entry(1.0, "0 is not seen, 1 is solid.", span=(0, 1))
    name: Text = entry("", "What the crew calls it.")
    note: Text = entry("", "Anything that the crew should read.")


class EffectTable(Table):
    """`[effects.NAME]`: cues with overlays over them, for a source to show by `effect = "NAME"`."""

    length: Time | None = entry(None, "How long it runs.", shown="the sheet's length")
    cues: tuple[CueTable, ...] = entry(..., "What its base shows, in order of time.")
    overlays: tuple[OverlayTable, ...] = entry((), "What lies over its base, lowest first.")
    note: Text = entry("", "Anything that the crew should read.")


class DuckTable(Table):
    """`duck = { ... }`: the sound is held down while another is heard, as music under a voice."""

    under: Text = entry(
        ..., "Name of the sound under which it goes down; several sounds may share it."
    )
    level: Number = entry(-12.0, "By how much it is lower then.", unit="dB", span=(-60, 0))
    down: Time | None = entry(
        None,
        "How long it takes to go down; it is down when the other begins.",
        shown="a quarter of a second",
    )
    up: Time | None = entry(
        None, "How long it takes to come up after the other.", shown="three quarters of a second"
    )
    pause: Time | None = entry(
        None, "It stays down in pauses of the other that are shorter than this.", shown="one second"
    )


class SoundTable(Table):
    """`[[sound]]`: guide track, to time the effect to. All are mixed; clips carry the mix."""

    file: Text | None = entry(
        None,
        "A sound file, or a clip with sound, beside the sheet or with a path. Either this or "
        "`source`.",
        shown="",
    )
    source: Text | None = entry(
        None,
        "Name of a source that shows another sheet: that sheet's sound, from the source's `in` to "
        "its `out`.",
        shown="",
    )
    at: Time = entry(0, "Frame of the sheet on which it begins.")
    in_: Time = entry(
        0, "How much of it to skip, in the sheet's frames.", name="in",
    )  # fmt: skip
    out: Time | None = entry(
        None, "Where in it the sound ends, in the sheet's frames.", shown="its end"
    )
    level: Number = entry(0.0, "How much louder than recorded.", unit="dB", span=(-80, 20))
    fade_in: Time = entry(0, "How long it takes to come up from silence at its beginning.")
    fade_out: Time = entry(0, "How long it takes to go down to silence at its end.")
    duck: DuckTable | None = entry(
        None, "Lowers it while another sound is heard.", shown="it stays at its level"
    )
    name: Text = entry("", "What the crew calls it.")
    note: Text = entry("", "Anything that the crew should read.")


class RemarkTable(Table):
    """`[[remarks]]`: what somebody said of a frame; it changes no picture."""

    at: Time = entry(..., "The frame that is spoken of.")
    text: Text = entry(..., "What was said.")
    by: Text = entry("", "Who said it.")


class Document(Table):
    """The top of the sheet: its version, what it includes, and its tables."""

    version: Literal[1] = entry(..., "Version of the sheet's form.")
    include: Text | tuple[Text, ...] = entry(
        (), "Sheets whose settings apply where this one has none."
    )
    variables: dict[str, Text | Whole | Number | Switch] = entry(
        {}, "Values by name; `${name}` stands for one in any text."
    )
    sheet: SheetTable = entry(..., "Settings of the whole spot.")
    sources: dict[str, SourceTable] = entry({}, "Pictures by name.")
    cues: tuple[CueTable, ...] = entry(..., "What the base shows, in order of time.")
    overlays: tuple[OverlayTable, ...] = entry((), "What lies over the base, lowest first.")
    effects: dict[str, EffectTable] = entry({}, "Effects that sources can show, by name.")
    sound: tuple[SoundTable, ...] = entry((), "Guide track; all of it is mixed.")
    remarks: tuple[RemarkTable, ...] = entry((), "Remarks on single frames.")
    transitions: dict[str, TransitionTable] = entry({}, "House transitions by name.")
    keys: dict[str, KeyTable] = entry({}, "House key settings by name.")
