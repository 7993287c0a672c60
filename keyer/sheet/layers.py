"""How many pictures a frame of a sheet is made of, with all that lies within each other.

Ten effects that each show the next one twice are a thousand pictures.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from itertools import accumulate

from keyer.sheet.sheet import Sheet
from keyer.sheet.source import EffectOf, OtherSheet
from keyer.sheet.stack import NamedEffect

MOST_LAYERS = 1000
"""Pictures in one frame; each of them is drawn for it."""

_AT_ONCE = 2
"""Cues on air during a transition."""


def layers(sheet: Sheet) -> int:
    """Return the largest number of pictures that one frame is made of.

    Parameters
    ----------
    sheet : Sheet
        Without an effect that is within itself.
    """
    known: dict[str, int] = {}

    def of_source(name: str | None) -> int:
        if name is None or name not in sheet.sources:
            return 0
        if name not in known:
            known[name] = 1 + _within(sheet, sheet.sources[name].content, of_source)
        return known[name]

    return _stacked(sheet, of_source)


def _within(sheet: Sheet, content: object, of_source: Callable[[str | None], int]) -> int:
    match content:
        case EffectOf(effect=name) if name in sheet.effects:
            return _stacked(sheet.effects[name], of_source)
        case OtherSheet(sheet=other):
            return layers(other)
    return 0


def _stacked(stack: Sheet | NamedEffect, of_source: Callable[[str | None], int]) -> int:
    cues = sorted(
        of_source(cue.source) + of_source(cue.transition.border_source) for cue in stack.cues
    )
    changes: list[tuple[int, int]] = []
    for overlay in stack.overlays:
        names = [overlay.source, overlay.enter.border_source, overlay.leave.border_source]
        count = sum(map(of_source, [*names, *(overlay.key.sources if overlay.key else ())]))
        changes += [(overlay.start, count), (overlay.stop, -count)]
    most = max(accumulate(change for _, change in sorted(changes)), default=0)
    return sum(cues[-_AT_ONCE:]) + most


def deepest(within: Mapping[str, set[str]]) -> dict[str, tuple[str, ...]]:
    """Find the longest way down from each effect, itself first.

    Parameters
    ----------
    within : mapping of str to set of str
        What each shows; nothing is within itself.
    """
    from graphlib import TopologicalSorter

    ways: dict[str, tuple[str, ...]] = {}
    for name in TopologicalSorter(within).static_order():
        inner = (ways[one] for one in sorted(within[name]))
        ways[name] = (name, *max(inner, key=len, default=()))
    return ways


def way_back(name: str, within: Mapping[str, set[str]]) -> tuple[str, ...]:
    """Find the shortest way from an effect back to itself; empty if there is none.

    Parameters
    ----------
    name : str
    within : mapping of str to set of str

    Returns
    -------
    tuple of str
        Both ends are the effect.
    """
    came: dict[str, str] = {}
    todo = [name]
    for here in todo:
        for inner in sorted(within[here]):
            if inner == name:
                way = [name, here]
                while way[-1] != name:
                    way.append(came[way[-1]])
                return tuple(reversed(way)) if here != name else (name, name)
            if inner not in came:
                came[inner] = here
                todo.append(inner)
    return ()
