"""The tables of sources, as they are written."""

from __future__ import annotations

from typing import Literal

from keyer.kinds.cautions import FAST
from keyer.kinds.look import MOST_COLOURS
from keyer.sheet.values import (
    Colour,
    Colours,
    Number,
    Pair,
    Switch,
    Table,
    Text,
    Time,
    Whole,
    entry,
)
from keyer.sheet.words import Fit


class GradientTable(Table):
    """`gradient = { ... }`: one colour turning into another."""

    first: Colour = entry(..., "Colour at the start.")
    second: Colour = entry(..., "Colour at the end.")
    angle: Number = entry(
        90.0, "Direction from first to second: 0 to the right, 90 down.", unit="degrees",
        span=(-360, 360),
    )  # fmt: skip


class CheckerboardTable(Table):
    """`checkerboard = { ... }`: squares in two colours."""

    first: Colour = entry("#C0C0C0", "Colour of the square at the top left.")
    second: Colour = entry("#808080", "Colour of the other squares.")
    squares: Whole = entry(
        9, "How many squares stand on each other from top to bottom.", span=(1, 1000)
    )


class BackgroundTable(Table):
    """`background = { ... }`: a moving background, still or as a loop that closes without a jump.

    What is not said here is as the look has it.
    """

    look: Text = entry(..., "Name of a moving background of the library, or of your own.")
    colours: Colours | None = entry(
        None,
        f"2 to {MOST_COLOURS} colours, run through in this order and from the last to the first.",
        shown="the look's own",
    )
    soft: Number | None = entry(
        None, "Part of the way from one colour to the next that is a slope.", unit="percent",
        span=(0, 100), shown="the look's own",
    )  # fmt: skip
    drift: Whole | None = entry(
        None, f"Runs through the colours by which the whole moves in a loop. {FAST}",
        span=(-20, 20), shown="the look's own",
    )  # fmt: skip
    seed: Whole = entry(0, "Another seed is another noise.", span=(0, 1_000_000))
    loop: Time | None = entry(
        None, f"Length of one loop; it runs on as long as it is shown. {FAST}", shown="a still"
    )


class TitleTable(Table):
    """`title = { ... }`: lettering made from a title design, or a page from a store."""

    design: Text | None = entry(
        None, "A title design, beside the sheet or with a path. Either this or `page`.", shown=""
    )
    fields: dict[str, Text] = entry(
        {}, "Texts for the design's fields, by their names.", shown="none"
    )
    page: Whole | None = entry(
        None, "A page's number; `fields` change what it says.", span=(1, 99999), shown=""
    )
    pages: Text = entry("pages", "Folder of the store from which the page comes.")
    allow_flash: Switch = entry(
        False,  # noqa: FBT003
        "Let it flash more often than three times in a second, which can trigger seizures in "
        "people with photosensitive epilepsy: only where the broadcaster's approved test agrees.",
    )


class CorrectTable(Table):
    """`correct = { ... }`: levels and chroma of a source; a keyed one is corrected before its key.

    In this order: black level, gain and balance, then gamma, then saturation and hue.
    """

    black: Number = entry(0.0, "Where black comes to lie.", unit="percent of white")
    gain: Number = entry(100.0, "Where white comes to lie.", unit="percent of white")
    gamma: Number = entry(1.0, "Above 1 lifts the middle and leaves black and white.")
    saturation: Number = entry(100.0, "How strong colours are.", unit="percent")
    hue: Number = entry(
        0.0, "Turns all colours, counter-clockwise on the vectorscope.", unit="degrees"
    )
    balance: tuple[Number, Number, Number] = entry(
        (100.0, 100.0, 100.0), "Gain of red, green and blue, on top of `gain`.", unit="percent"
    )
    match: Text | None = entry(
        None,
        "Another source: black, gain, balance and saturation are set so that black, white, mean "
        "chroma and its spread match those of that one.",
    )


class SourceTable(Table):
    """`[sources.NAME]`: a picture that cues and overlays can show.

    Exactly one of `file`, `title`, `background`, `effect`, `sheet`, `colour`, `gradient`, `bars`,
    `ramp`, `checkerboard` and `clear` says what it is.
    """

    file: Text | None = entry(
        None,
        "A still, a clip or a numbered sequence of stills, beside the sheet or with a path.",
        shown="",
    )
    title: TitleTable | None = entry(None, "Lettering.")
    background: BackgroundTable | None = entry(None, "A moving background.")
    effect: Text | None = entry(
        None, "Name of an `[effects.NAME]` table: its cues with its overlays over them."
    )
    sheet: Text | None = entry(
        None, "Another effect sheet, beside this one or with a path.", shown=""
    )
    variables: dict[str, Text | Whole | Number | Switch] = entry(
        {}, "Values for the other sheet's `[variables]`.", shown="the other sheet's own"
    )
    colour: Colour | None = entry(None, "A plain colour.")
    gradient: GradientTable | None = entry(None, "Two colours, one turning into the other.")
    bars: Literal[75, 100] | None = entry(None, "Colour bars.", unit="percent")
    ramp: Switch | None = entry(None, "`true`: black to white from left to right.")
    checkerboard: CheckerboardTable | None = entry(None, "Squares in two colours.")
    clear: Switch | None = entry(
        None, "`true`: nothing. Black on air, and clear in a clip that keeps alpha."
    )
    fit: Fit = entry(
        "cover",
        "How a file of another shape meets the format: `cover` crops, `contain` shows all of it, "
        "`fill` distorts, `none` leaves its size.",
    )
    keep: Pair = entry(
        (50.0, 50.0), "Point that stays in view, near the middle if it can be, where `fit` crops.",
        unit="percent of the picture's width and height", span=(0, 100),
    )  # fmt: skip
    correct: CorrectTable | None = entry(None, "Levels and chroma corrected.", shown="as it is")
    in_: Time | None = entry(
        None, "First frame used of a clip, counted in the clip's own frames and rate.",
        name="in", shown="the clip's first",
    )  # fmt: skip
    out: Time | None = entry(
        None, "First frame no longer used of a clip, in the clip's own frames and rate.",
        shown="the clip's end",
    )  # fmt: skip
    at: Time | None = entry(
        None,
        "Frame of the sheet at which the clip's `in` frame, or a background's loop, begins. "
        "Without it each starts anew on the first frame on which a cue or overlay shows it.",
        shown="when it comes on air",
    )  # fmt: skip
    speed: Number = entry(
        1.0, f"2 runs a clip twice as fast, 0.5 at half speed. {FAST}", span=(0.01, 100)
    )
    loop: Switch = entry(
        False,  # noqa: FBT003
        f"Start a clip again from its `in` when it ends. {FAST}",
    )
    freeze: Switch = entry(
        False,  # noqa: FBT003
        "Freeze a clip's last frame when it ends. Without this and `loop` it freezes too, "
        "with a warning.",
    )
