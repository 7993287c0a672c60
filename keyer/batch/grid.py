"""Lines of cells as they were read, and what is not known of them."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field


@dataclass(frozen=True)
class Doubt:
    """Why it cannot be told what a person sees in a cell.

    Attributes
    ----------
    message : str
        Names the sheet and the cell, and a cure.
    value_known : bool
        The value is known, and only the way in which it is shown is not: a
        number is still a number.
    """

    message: str
    value_known: bool = False


@dataclass
class Grid:
    """Lines of cells.

    Attributes
    ----------
    lines : list of (number, list of str)
        Those in which something stands, in order.
    doubts : dict
        (line, column, both counted as in the file from 1 and 0) to Doubt.
    hidden : frozenset of int
        Columns that are hidden, from 0.
    place : str
        How a message names the table: its sheet, if it has one.
    notices : list of str
    """

    lines: list[tuple[int, list[str]]]
    doubts: dict[tuple[int, int], Doubt] = field(default_factory=dict)
    hidden: frozenset[int] = frozenset()
    place: str = ""
    notices: list[str] = field(default_factory=list)


def column_name(index: int) -> str:
    """Name a column as a spreadsheet does: A, B, ..., Z, AA."""
    name = ""
    while index >= 0:
        index, letter = divmod(index, 26)
        name, index = chr(ord("A") + letter) + name, index - 1
    return name


def spans(numbers: Sequence[int]) -> str:
    """Write numbers that follow each other as spans, at most ten of them: 4, 7-9.

    Parameters
    ----------
    numbers : sequence of int
        In order.
    """
    found: list[list[int]] = []
    for number in numbers:
        if found and number == found[-1][1] + 1:
            found[-1][1] = number
        else:
            found.append([number, number])
    words = [f"{a}" if a == b else f"{a}-{b}" for a, b in found[:10]]
    more = sum(b - a + 1 for a, b in found[10:])
    return ", ".join(words) + (f" and {more} more" if more else "")
