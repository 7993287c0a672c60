"""Where a spot shows what is varied, and the refusal of values that make no difference."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from typing import Any

import numpy as np
from numpy.typing import NDArray

from keyer.documents.locate import read_path
from keyer.errors import KeyerError, SettingError
from keyer.report.boards.choices import Choice, place_of_key
from keyer.report.boards.story import middle
from keyer.sheet.sheet import Cue, Overlay, Sheet

Changes = Mapping[str, Any]
"""A variation: value by path."""

Place = tuple[str, int, str]
"""Table, number and part of a cue or an overlay, as `place_of_key` reads them."""

NOWHERE: Place = ("", -1, "")


def groups(choice: Choice, asked: Sequence[Changes]) -> list[list[int]]:
    """Gather the numbers of the variations that differ in one key alone.

    Parameters
    ----------
    choice : Choice
    asked : sequence of Changes
        Every combination.

    Returns
    -------
    list of list of int
    """
    found: dict[str, list[int]] = {}
    for number, changes in enumerate(asked):
        others = repr([item for item in changes.items() if item[0] != choice.key])
        found.setdefault(others, []).append(number)
    return list(found.values())


def varied_place(
    choices: Sequence[Choice], asked: Sequence[Changes], sheets: Sequence[Sheet]
) -> Place:
    """Find the cue or overlay in which what is varied is seen.

    Parameters
    ----------
    choices : sequence of Choice
    asked : sequence of Changes
    sheets : sequence of Sheet
        Varied so.

    Returns
    -------
    Place
        That of the first key that belongs to one; of a key that stands elsewhere (a variable, a
        house setting, a source), the first cue or overlay that it changes. `NOWHERE` for none.
    """
    for choice in choices:
        place = place_of_key(choice.key)
        table, number, _ = place
        if table and number < len(getattr(sheets[0], table)):
            return place
        alone = [sheets[number] for number in groups(choice, asked)[0]]
        place = _changed(alone)
        if place != NOWHERE:
            return place
    return NOWHERE


def _changed(sheets: Sequence[Sheet]) -> Place:
    first = sheets[0]
    other = next((sheet for sheet in sheets if sheet != first), first)
    sources = {name for name in first.sources if first.sources[name] != other.sources.get(name)}
    for old, new in zip(first.cues, other.cues, strict=False):
        if old != new:
            return "cues", old.index, "transition"
        if old.source in sources:
            return "cues", old.index, "source"
        if old.transition.border_source in sources:
            return "cues", old.index, "transition"
    for before, after in zip(first.overlays, other.overlays, strict=False):
        shown = {before.source, *(before.key.sources if before.key else ())}
        if before != after or shown & sources:
            return "overlays", before.index, _part(before, after)
    return NOWHERE


def _part(before: Overlay, after: Overlay) -> str:
    if before.enter != after.enter:
        return "transition_in"
    return "transition_out" if before.leave != after.leave else ""


def varied_frame(sheet: Sheet, place: Place) -> int:
    """Choose the frame on which variations are shown.

    Parameters
    ----------
    sheet : Sheet
    place : Place
        From `varied_place`.

    Returns
    -------
    int
        Half way through the transition or overlay, or through what a cue shows if its source is
        varied; else half way through the sheet.
    """
    table, number, part = place
    if table == "cues" and number < len(sheet.cues):
        frame = _frame_of_cue(sheet, sheet.cues[number], part)
    elif table == "overlays" and number < len(sheet.overlays):
        frame = _frame_of_overlay(sheet.overlays[number], part)
    else:
        frame = sheet.length // 2
    return min(frame, sheet.length - 1)


def _frame_of_cue(sheet: Sheet, cue: Cue, part: str) -> int:
    if part != "source":
        return middle(cue.at, cue.transition.length)
    begins = cue.at + cue.transition.length
    ends = [other.at for other in sheet.cues[cue.index + 1 : cue.index + 2]] or [sheet.length]
    return middle(begins, ends[0] - begins)


def _frame_of_overlay(overlay: Overlay, part: str) -> int:
    if part == "transition_in":
        return middle(overlay.start, overlay.enter.length)
    if part == "transition_out":
        length = overlay.leave.length
        return middle(overlay.stop - length, length)
    return middle(overlay.start, overlay.stop - overlay.start)


def refuse_idle(
    flat: Sheet,
    choices: Sequence[Choice],
    asked: Sequence[Changes],
    sheets: Sequence[Sheet],
    vary: Callable[[Sheet, Changes], Sheet],
) -> None:
    """Refuse a key none of whose values changes what the sheet says.

    Parameters
    ----------
    flat : Sheet
    choices : sequence of Choice
    asked : sequence of Changes
    sheets : sequence of Sheet
        Varied so.
    vary : callable
        Makes a variation of a sheet.

    Raises
    ------
    SettingError
    """
    for choice in choices:
        if all(value == _stated(flat, choice.key) for value in choice.values):
            continue
        without = [{k: v for k, v in changes.items() if k != choice.key} for changes in asked]
        if all(
            sheet == _held(flat, changes, vary)
            for sheet, changes in zip(sheets, without, strict=True)
        ):
            msg = (
                f"vary {choice.key} must change the picture, but the sheet stays the same with "
                "every value: nothing uses that key, or another overrides it. Name the one "
                "that is used."
            )
            raise SettingError(msg)


def _held(flat: Sheet, changes: Changes, vary: Callable[[Sheet, Changes], Sheet]) -> Sheet | None:
    """Vary a sheet; None where this does not hold by itself."""
    try:
        return vary(flat, changes) if changes else flat
    except KeyerError:
        return None


def _stated(flat: Sheet, key: str) -> Any:
    found: Any = flat.unfilled
    try:
        for step in read_path(key):
            found = found[step]
    except (KeyError, IndexError, TypeError):
        return None
    return found


def refuse_alike(
    choices: Sequence[Choice],
    asked: Sequence[Changes],
    pictures: Sequence[NDArray[np.uint8]],
    when: str,
) -> None:
    """Refuse a key with which every picture looks alike, whatever its value.

    Parameters
    ----------
    choices : sequence of Choice
    asked : sequence of Changes
    pictures : sequence of (H, W, 3) uint8
        Rendered so.
    when : str
        The moment that is shown, for the message.

    Raises
    ------
    SettingError
    """
    for choice in choices:
        alike = [
            np.array_equal(pictures[group[0]], pictures[number])
            for group in groups(choice, asked)
            for number in group[1:]
        ]
        if alike and all(alike):
            msg = (
                f"vary {choice.key} must change the picture, and {when} it looks the same with"
                " every value. Choose a time at which it is seen (--at), or other values."
            )
            raise SettingError(msg)
