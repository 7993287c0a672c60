"""Sources that run out while they are on air."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass

from keyer.render.nested import Nested
from keyer.render.sources import OpenSource
from keyer.sheet.sheet import Sheet


@dataclass(frozen=True)
class Ending:
    """A clip that ends while it is on air; its last picture stays.

    Attributes
    ----------
    path : str
        The cue or overlay that shows it.
    source : str
    frame : int
        First frame of the sheet for which it has no picture of its own.
    gone : int
        First frame on which it is off air.
    """

    path: str
    source: str
    frame: int
    gone: int

    @property
    def notice(self) -> str:
        """Say in one line which clip runs out, and the cure."""
        return (
            f"{self.path}: {self.source} ends {self.gone - self.frame} frames before it goes off "
            "air; its last picture stays. Set loop or freeze, or cut earlier."
        )


def find_endings(sheet: Sheet, sources: Mapping[str, OpenSource | Nested]) -> list[Ending]:
    """Find every clip that runs out while it is on air.

    Parameters
    ----------
    sheet : Sheet
    sources : mapping of str to OpenSource or Nested
        By name, opened.
    """
    found = []
    for path, name, start, gone in _spans(sheet):
        source = sources[name]
        lasts = source.frames_on_air()
        began = start if source.source.at is None else source.source.at
        if lasts is not None and began + lasts < gone:
            found.append(Ending(path, name, began + lasts, gone))
    return found


def _spans(sheet: Sheet) -> Iterator[tuple[str, str, int, int]]:
    """Tell which cue or overlay shows which source from when until when."""
    for cue, after in zip(sheet.cues, (*sheet.cues[1:], None), strict=True):
        gone = sheet.length if after is None else after.at + after.transition.length
        path, move = f"cues[{cue.index}]", cue.transition
        if cue.source is not None:
            yield path, cue.source, cue.at, gone
        if move.border_source is not None:
            yield path, move.border_source, cue.at, cue.at + move.length
    for overlay in sheet.overlays:
        path, enter, leave = f"overlays[{overlay.index}]", overlay.enter, overlay.leave
        yield path, overlay.source, overlay.start, overlay.stop
        if enter.border_source is not None:
            yield path, enter.border_source, overlay.start, overlay.start + enter.length
        if leave.border_source is not None:
            yield path, leave.border_source, overlay.stop - leave.length, overlay.stop
