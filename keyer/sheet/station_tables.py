"""A station's rules as they are written: one model a table, every key with its meaning.

What the times amount to at a sheet's rate is `keyer.sheet.station`'s.
"""

from __future__ import annotations

from typing import Annotated, Literal

from keyer.sheet.models import LoudnessTable
from keyer.sheet.values import Box, Number, Pair, Table, Text, Time, Word, entry

Points = Annotated[tuple[Pair, ...], Word("list of pairs `[value, reading]`")]


class BlackTable(Table):
    """`[black]`: how much black there has to be before the first picture and after the last."""

    head: tuple[Time, Time] | None = entry(
        None, "At least and at most, counted from the first frame.", shown="not asked"
    )
    tail: tuple[Time, Time] | None = entry(
        None, "At least and at most, up to the last frame.", shown="not asked"
    )


class LevelsTable(Table):
    """`[levels]`: signal levels. Without it they are held against EBU R 103."""

    lowest: Number = entry(-5.0, "Lowest of R, G, B and Y.", unit="percent", span=(-7, 50))
    highest: Number = entry(105.0, "Highest of R, G, B and Y.", unit="percent", span=(50, 109))
    area: Number = entry(
        1.0, "How much of the picture may lie outside, filtered as in EBU R 103.",
        unit="percent of the picture", span=(0, 100),
    )  # fmt: skip


class LettersTable(Table):
    """`[titles]`: where titles may stand, and how large their letters are."""

    action: Number | None = entry(
        None, "Safe area beyond which a title fails, in the middle of the picture.",
        unit="percent of width and height", span=(50, 100), shown="the design's",
    )  # fmt: skip
    title: Number | None = entry(
        None, "Safe area beyond which a title needs a look (`watch`).",
        unit="percent of width and height", span=(50, 100), shown="the design's",
    )  # fmt: skip
    smallest: Number | None = entry(
        None, "Smallest letters, from the top of a “d” to the foot of a “p”.",
        unit="percent of picture height", span=(0.5, 100), shown="not asked",
    )  # fmt: skip
    largest: Number | None = entry(
        None, "Largest letters, measured likewise.",
        unit="percent of picture height", span=(0.5, 100), shown="not asked",
    )  # fmt: skip


class ZoneTable(Table):
    """`[[zones]]`: a part of the picture that titles keep free: the mark, the subtitles."""

    name: Text = entry(..., "What it is kept free for.")
    box: Box = entry(
        ..., "Left, top, width and height, from the top left corner.",
        unit="percent of picture width and height", span=(0, 100),
    )  # fmt: skip


class LimitTable(Table):
    """`[[limits]]`: an own limit to what `keyer check` measures; it can only be stricter."""

    check: Text = entry(..., "Name of the check, as `keyer check` prints it.")
    least: Number | None = entry(None, "Its value is at least this, or it fails.")
    most: Number | None = entry(None, "Its value is at most this, or it fails.")
    note: Text = entry("", "Why, or what to do.")


class DialTable(Table):
    """`[dials.NAME]`: how the station's own desk marks a setting, from a few measured points."""

    unit: Text = entry("", "What the reading is called: `turns`, `marks`.")
    points: Points = entry(
        ...,
        "Pairs of our value and the desk's reading, by rising value; in between it is straight.",
    )
    step: Number = entry(0.0, "Finest reading; 0: as it comes.", span=(0, 1000))


class StationTable(Table):
    """The top of a station's rules: one file for all of its sheets."""

    version: Literal[1] = entry(..., "Version of the form.")
    station: Text = entry(..., "Name of the station; findings name it.")
    note: Text = entry("", "Anything that people should read: who wrote it, when.")
    lengths: tuple[Time, ...] = entry((), "Lengths that a spot may have, to the frame.")
    black: BlackTable | None = entry(None, "Black at head and tail.", shown="not asked")
    levels: LevelsTable | None = entry(None, "Signal levels.", shown="EBU R 103")
    loudness: LoudnessTable | None = entry(
        None,
        "Limits that the mix of all sound must meet, whatever the sheet says.",
        shown="the sheet's",
    )
    titles: LettersTable | None = entry(None, "Titles.", shown="each design's own safe area")
    zones: tuple[ZoneTable, ...] = entry((), "What titles keep free.")
    limits: tuple[LimitTable, ...] = entry((), "Own limits.")
    dials: dict[Literal["soft", "border", "border_soft", "size", "clip", "gain"], DialTable] = (
        entry({}, "Scales of the desk: softness, border and its softness, size, clip and gain.")
    )
