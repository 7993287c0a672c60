"""Frames of a sheet as people say them: "Shot 2:30%", "Presenter.out - 1s", the paper's timecode.

A place is a shot, an overlay or the end of the sheet, called as the paper calls
it (`Shot 2`, `Cue 2`, `Overlay 1`), by its name, or by the source that it
shows. `.in` and `.out` are what the cue sheet prints, a share is one of the
transition, and an offset is a time.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from fractions import Fraction
from typing import TYPE_CHECKING

from keyer.documents.faults import nearest
from keyer.errors import TimeError
from keyer.kinds.timing import frames_per_day, is_timecode, is_written, parse_time

if TYPE_CHECKING:
    from keyer.sheet.effect import Transition
    from keyer.sheet.sheet import Sheet
    from keyer.sheet.stack import Cue, Overlay

_REST = re.compile(
    r"\s*(?:\.\s*(?P<edge>in|out))?\s*"
    r"(?::\s*(?P<share>[0-9]{1,3}(?:\.[0-9]{1,6})?)\s?%)?\s*"
    r"(?:(?P<sign>[+\N{MINUS SIGN}-])\s*(?P<offset>[0-9][0-9:;.\sfs]*))?",
    re.IGNORECASE,
)
_WAYS = (
    'Write frames (75), seconds ("2.5s"), timecode ("00:00:02:12"), or a place with what lies '
    'between ("Shot 2 + 12", "Shot 2:30%").'
)


@dataclass(frozen=True)
class Place:
    """A shot or an overlay, with the names and frames by which it can be said.

    Attributes
    ----------
    called : str
        As the paper calls it, `Shot 2`.
    names : tuple of str
        What it may be called, plainest first.
    source : str
        What it shows, by which it may be called where nothing has that name.
    start, stop : int
        First frame on which it is seen, first on which it is gone.
    enter, leave : Transition or None
        How it comes and goes; None where nothing of its own takes it off.
    path : str
        In the sheet.
    """

    called: str
    names: tuple[str, ...]
    source: str
    start: int
    stop: int
    enter: Transition
    leave: Transition | None
    path: str


def places(sheet: Sheet) -> Iterator[Place]:
    """Yield the shots and overlays of a sheet."""
    for cue in sheet.cues:
        after = sheet.cues[cue.index + 1] if cue.index + 1 < len(sheet.cues) else None
        stop = sheet.length if after is None else after.at + after.transition.length
        yield Place(
            f"Shot {cue.index + 1}", _called(("Shot", "Cue"), cue), cue.source or "", cue.at,
            min(stop, sheet.length), cue.transition, after.transition if after else None,
            f"cues[{cue.index}]",
        )  # fmt: skip
    for overlay in sheet.overlays:
        yield Place(
            f"Overlay {overlay.index + 1}", _called(("Overlay",), overlay), overlay.source,
            overlay.start, overlay.stop, overlay.enter, overlay.leave,
            f"overlays[{overlay.index}]",
        )  # fmt: skip


def called(kinds: tuple[str, ...], index: int, name: str, own: str) -> tuple[str, ...]:
    """List what a shot or an overlay is called on pages and on paper.

    Parameters
    ----------
    kinds : tuple of str
        `Shot`, `Cue`, `Overlay`.
    index : int
        Its place in the sheet, from 0.
    name : str
        Its own, or that of its source.
    own : str
        Its own; empty if it has none.

    Returns
    -------
    tuple of str
        Plainest first.
    """
    plain = [f"{kind} {index + 1}" for kind in kinds]
    joined = [f"{kind}{mark} {name}" for kind in plain for mark in ":," if name]
    return (*plain, *joined, *((own,) if own else ()))


def _called(kinds: tuple[str, ...], one: Cue | Overlay) -> tuple[str, ...]:
    return called(kinds, one.index, one.name or one.source or "", one.name)


def said_frame(sheet: Sheet, value: str | float, name: str, last: int) -> int:
    """Read a frame as people say it.

    Parameters
    ----------
    sheet : Sheet
    value : str, int or float
        A time counted from 0, the timecode that the paper prints, or a place
        with `.in` or `.out`, a share of its transition and an offset.
    name : str
        How the user calls the parameter.
    last : int
        The last frame that is one.

    Raises
    ------
    TimeError
        If it cannot be read or lies outside; names the nearest that does not.
    """
    if not isinstance(value, str) or is_written(value):
        frame = _counted(sheet, value, name, last)
    else:
        known = list(places(sheet))
        frame = placed(known, " ".join(value.split()), sheet.format.rate, name)
    if 0 <= frame <= last:
        return frame
    near = min(max(frame, 0), last)
    demand = (
        f"must lie within the sheet, frames 0 to {last} ({sheet.label(last)}), got "
        f'{value!r:.60}. The nearest is "{near}f" ({sheet.label(near)}).'
    )
    raise TimeError(demand, name)


def _counted(sheet: Sheet, value: str | float, name: str, last: int) -> int:
    """Read a time; timecode that lies past the end, or can only be so, is the paper's."""
    rate = sheet.format.rate
    frame = parse_time(value, rate, name)
    if not sheet.start or not is_timecode(value):
        return frame
    printed = (frame - sheet.start) % frames_per_day(rate, drop=sheet.drop)
    if printed > last:
        return frame
    if frame <= last and frame != printed:
        demand = (
            f"must be clear, and {value!r} is frame {frame} counted from 0 and frame "
            f'{printed} as the paper prints it. Write "{frame}f" or "{printed}f".'
        )
        raise TimeError(demand, name)
    return printed


def _as_it_is(place: Place, edge: str) -> Place:  # noqa: ARG001  its times are known
    return place


def placed(
    known: Sequence[Place],
    text: str,
    rate: Fraction,
    name: str,
    settle: Callable[[Place, str], Place] = _as_it_is,
) -> int:
    """Read a place with what is said after it.

    Parameters
    ----------
    known : sequence of Place
    text : str
    rate : Fraction
        Frames a second.
    name : str
        How the user calls the parameter.
    settle : callable, optional
        Fills in a place's start ("in") or stop ("out"), where it is not known yet.

    Returns
    -------
    int
        It may lie anywhere.

    Raises
    ------
    TimeError
        If it cannot be read, or may be several.
    """
    found = _find(known, text)
    if not found:
        head = re.split(r"[:+.]|\s-\s", text)[0].strip()
        names = dict.fromkeys(one for place in known for one in place.names)
        demand = f"must be a time, got {text!r:.60}.{nearest(head, names)} {_WAYS}"
        raise TimeError(demand, name)
    if len(found) > 1:
        which = " and ".join(place.called for place, _ in found)
        demand = f"must say which, and {text!r:.60} may be {which}. Write one of these."
        raise TimeError(demand, name)
    place, rest = found[0]
    frame = _at(settle(place, (rest["edge"] or "in").lower()), rest, name)
    if rest["offset"]:
        offset = parse_time(rest["offset"].strip(), rate, f"{name}, after the sign,")
        frame += offset if rest["sign"] == "+" else -offset
    return frame


def _find(known: Sequence[Place], text: str) -> list[tuple[Place, re.Match[str]]]:
    """Find what a text may speak of: by the longest name, by its own rather than its source's."""
    folded = text.casefold()
    found = []
    for place in known:
        ways = [(name, True) for name in place.names] + [(place.source, False)]
        for name, named in ways:
            plain = " ".join(name.casefold().split())
            if (
                plain
                and folded.startswith(plain)
                and (rest := _REST.fullmatch(folded[len(plain) :]))
            ):
                found.append((len(plain), named, place, rest))
                break
    best = max(((length, named) for length, named, *_ in found), default=None)
    return [(place, rest) for length, named, place, rest in found if (length, named) == best]


def _at(place: Place, rest: re.Match[str], name: str) -> int:
    edge = (rest["edge"] or "in").lower()
    if not rest["share"]:
        return place.start if edge == "in" else place.stop
    move = place.enter if edge == "in" else place.leave
    if move is None or not move.length:
        why = "it stays to the end" if move is None else "that is a cut"
        what = "comes" if edge == "in" else "goes"
        demand = f"must be a share of a transition, and as {place.called} {what}, {why}."
        raise TimeError(demand, name)
    start = place.start if edge == "in" else place.stop - move.length
    # of N mixed frames, frame i from 0 stands at (i + 1) / (N + 1): keyer.sheet.effect
    share = min(float(rest["share"]), 100.0) / 100
    return start + round(share * (move.length + 1)) - 1
