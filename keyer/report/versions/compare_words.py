"""What a comparison says, in lines: for the terminal, a board and a page."""

from __future__ import annotations

from collections.abc import Sequence

from keyer.measure.difference import Difference
from keyer.report.versions.changes import Change
from keyer.report.versions.compare import Comparison, Run
from keyer.report.words import frames_words

NO_CHANGE = "Nothing has changed in what the sheet says."


def change_lines(changes: Sequence[Change]) -> list[str]:
    """Say what has changed, one line a change."""
    return [str(change) for change in changes] or [NO_CHANGE]


def difference_words(one: Difference) -> str:
    """Say how different two pictures look."""
    if not one.differs:
        return "the same picture"
    if one.seen_percent < 0.05:
        return f"too little to see, by up to {one.largest} codes"
    return f"{one.seen_percent:.1f} % of the picture, colour difference {one.mean:.1f} on average"


def run_words(made: Comparison, run: Run) -> str:
    """Say which frames look different, and by how much where it shows most."""
    label = made.new.label
    where = f"frame {run.first}, {label(run.first)}"
    if run.last > run.first:
        where = (
            f"frames {run.first} to {run.last}, {label(run.first)} to {label(run.last)}; "
            f"most at {label(run.most)} (frame {run.most})"
        )
    return f"{where}: {difference_words(run.difference)}"


def count_words(made: Comparison) -> str:
    """Say how many frames look different."""
    total, differing = made.new.length, made.differing
    if not differing:
        return f"No frame of {total} looks different."
    said = f"{differing} of {frames_words(total)} look different"
    looked = f"; one in {made.step} was looked at" if made.step > 1 else ""
    return f"{said}{looked}."


def length_words(made: Comparison) -> str:
    """Say what the shorter of two versions has no counterpart for; empty where they run alike."""
    before = made.old.length / made.old.format.rate
    now = made.new.length / made.new.format.rate
    if before == now:
        return ""
    more, which = abs(now - before), "longer" if now > before else "shorter"
    return f"It is {float(more):.2f} s {which}; frames without a counterpart are not compared."
