"""What is wrong with a sheet, where, and how to put it right: all at once."""

from __future__ import annotations

import difflib
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from typing import Any

from keyer.documents.locate import Path, show_path
from keyer.errors import Fault, SheetError

MOST_SHOWN = 10
"""Faults that are told one by one; more would hide the first, from which the others often come."""


@dataclass(frozen=True)
class Place:
    """Where a key stands."""

    file: str
    line: int


class Places:
    """The place of every key of a sheet, included files and all."""

    def __init__(self, name: str, places: Mapping[Path, Place]) -> None:
        self.name = name
        self.places = dict(places)

    def find(self, path: Path) -> Place | None:
        """Place of a key, or of the nearest table around it that has one."""
        for end in range(len(path), 0, -1):
            if place := self.places.get(path[:end]):
                return place
        return None

    def adopt(self, other: Places, paths: Iterable[Path]) -> None:
        """Take the places at and below paths over from another document."""
        wanted = set(paths)
        depths = {len(path) for path in wanted}
        around = {path[:end] for path in wanted for end in range(1, len(path))}
        for key, place in other.places.items():
            if any(key[:depth] in wanted for depth in depths):
                self.places[key] = place
            elif key in around:  # the tables around them, if they stand here nowhere
                self.places.setdefault(key, place)

    def fault(self, path: Path, message: str) -> Fault:
        """Make a fault at a path."""
        place = self.find(path)
        if place is None:
            return Fault(show_path(path), None, message)
        file = "" if place.file == self.name else place.file
        return Fault(show_path(path), place.line, message, file)


def sheet_error(name: str, faults: Iterable[Fault]) -> SheetError:
    """Make the error that lists faults, in the order of the file.

    Parameters
    ----------
    name : str
        The sheet's file name.
    faults : iterable of Fault

    Returns
    -------
    SheetError
        First line the count, then one line a fault, ten at most; `.faults` holds them all.
    """
    unique = dict.fromkeys(faults)
    ordered = sorted(unique, key=lambda fault: (fault.file, fault.line or 0))
    count = f"{len(ordered)} fault{'s' if len(ordered) != 1 else ''}"
    lines = [f"{name}: {count}", *map(str, ordered[:MOST_SHOWN])]
    if len(ordered) > MOST_SHOWN:
        lines.append(f"and {len(ordered) - MOST_SHOWN} more. Correct these first.")
    return SheetError("\n".join(lines), ordered)


def nearest(word: str, known: Iterable[str]) -> str:
    """Suggest the nearest of the known names, as the end of a message."""
    names = list(known)
    folded = {name.casefold(): name for name in names}
    near = difflib.get_close_matches(word[:80].casefold(), folded, n=1, cutoff=0.5)
    if near:
        return f" Did you mean {folded[near[0]]!r}?"
    if names and len(names) <= 12:
        return f" Known: {', '.join(names)}."
    return ""


def sentences(faults: Iterable[str]) -> str:
    """Run several faults together as sentences, each but the first with a capital."""
    first, *more = faults
    return " ".join([first, *(fault[:1].upper() + fault[1:] for fault in more)])


def show_value(value: Any) -> str:
    """Write a value for a message, short and on one line."""
    if isinstance(value, bool):
        return "true" if value else "false"
    if isinstance(value, dict):
        return "a table"
    if isinstance(value, list | tuple):
        return f"a list of {len(value)}"
    if isinstance(value, int) and abs(value) >= 10**18:
        return "an enormous number"
    text = str(value) if isinstance(value, int | float) else repr(str(value))
    return text if len(text) <= 60 else f"{text[:57]}..."
