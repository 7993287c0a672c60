"""Many for one: the sheet with another pattern, or with other values, to choose from by sight."""

from __future__ import annotations

import itertools
import math
from collections.abc import Iterator, Sequence
from dataclasses import replace
from pathlib import Path
from typing import Any

from keyer.errors import KeyerError, SettingError
from keyer.kinds.field import Pattern
from keyer.rehearsal.edits import Edit, edit_text
from keyer.render.patterns import misfits, sheet_patterns
from keyer.sheet.effect import Transition
from keyer.sheet.load import parse_sheet
from keyer.sheet.sheet import Sheet

MOST = 60
"""Variations of one grid; more cannot be judged."""


def transition_at(sheet: Sheet, path: str) -> tuple[Transition, int]:
    """Find a transition of a sheet by its path, and the frame on which it begins.

    Raises
    ------
    SettingError
        If there is none.
    """
    for cue in sheet.cues:
        if path == f"cues[{cue.index}].transition":
            return cue.transition, cue.at
    for one in sheet.overlays:
        if path == f"overlays[{one.index}].transition_in":
            return one.enter, one.start
        if path == f"overlays[{one.index}].transition_out":
            return one.leave, one.stop - one.leave.length
    msg = f"path must lead to a transition, got {path!r:.60}."
    raise SettingError(msg)


def pattern_wall(sheet: Sheet, path: str) -> Iterator[tuple[Pattern, Sheet, int]]:
    """Put every pattern in the place of a wipe's, half-way through.

    Parameters
    ----------
    sheet : Sheet
    path : str
        Of the transition.

    Yields
    ------
    pattern : Pattern
    sheet : Sheet
        With that pattern; its edge and modifiers left out where the pattern takes none.
    frame : int
        In the middle of the transition.

    Raises
    ------
    SettingError
        If there is no such wipe.
    """
    known, start = transition_at(sheet, path)
    if known.kind != "wipe":
        msg = f"{path} must be a wipe to have a pattern, got {known.kind}."
        raise SettingError(msg)
    over = path.startswith("overlays")
    for pattern in sheet_patterns(sheet):
        wanted = replace(known, pattern=pattern.name, curve="linear")
        if any(misfits(wanted, pattern, overlay=over)):
            wanted = Transition("wipe", known.length, pattern=pattern.name)
            if any(misfits(wanted, pattern, overlay=over)):
                continue
        yield pattern, _with(sheet, path, wanted), start + (known.length - 1) // 2


def _with(sheet: Sheet, path: str, wanted: Transition) -> Sheet:
    cues = tuple(
        replace(cue, transition=wanted) if path == f"cues[{cue.index}].transition" else cue
        for cue in sheet.cues
    )
    overlays = []
    for one in sheet.overlays:
        if path == f"overlays[{one.index}].transition_in":
            one = replace(one, enter=wanted)  # noqa: PLW2901
        elif path == f"overlays[{one.index}].transition_out":
            one = replace(one, leave=wanted)  # noqa: PLW2901
        overlays.append(one)
    return replace(sheet, cues=cues, overlays=tuple(overlays))


def read_values(said: Any) -> list[tuple[str, list[Any]]]:
    """Read what is varied: one or two paths, each with its values.

    Raises
    ------
    SettingError
        If it is something else, or more than can be judged.
    """
    fair = isinstance(said, list) and 1 <= len(said) <= 2
    choices = [_choice(one) for one in said] if fair else []
    if not choices or math.prod(len(values) for _, values in choices) > MOST:
        msg = f"choices must be one or two settings with at most {MOST} variations in all."
        raise SettingError(msg)
    return choices


def _choice(one: Any) -> tuple[str, list[Any]]:
    if (
        not isinstance(one, dict)
        or not isinstance(one.get("path"), str)
        or not isinstance(one.get("values"), list)
        or not one["values"]
    ):
        msg = "a choice must have its path and its values."
        raise SettingError(msg)
    return one["path"], one["values"]


def variations(
    text: str, name: str, folder: Path, choices: Sequence[tuple[str, list[Any]]]
) -> list[tuple[list[Edit], Sheet | None, str]]:
    """Make every variation of a sheet.

    Parameters
    ----------
    text : str
        The sheet's TOML.
    name : str
    folder : Path
    choices : sequence of (path, values)

    Returns
    -------
    list of (edits, sheet, fault)
        No sheet, and the first fault, where a variation does not hold.
    """
    found: list[tuple[list[Edit], Sheet | None, str]] = []
    for values in itertools.product(*(values for _, values in choices)):
        paths = [path for path, _ in choices]
        edits = [Edit("set", path, value) for path, value in zip(paths, values, strict=True)]
        try:
            found.append((edits, parse_sheet(edit_text(text, edits), name, folder=folder), ""))
        except KeyerError as error:
            found.append((edits, None, str(error).splitlines()[-1]))
    return found
