"""In, hold and out: where the titles of a sheet come, stay and go."""

from __future__ import annotations

from dataclasses import dataclass

from keyer.batch.job import titles_over
from keyer.errors import SettingError
from keyer.render.lettering import settled
from keyer.render.levels import Level
from keyer.sheet.sheet import Overlay, Sheet

CLEAR = -1
"""In the place of a frame's number: a frame on which there is nothing."""


@dataclass(frozen=True)
class Parts:
    """Frames of the sheet that each part shows.

    The first part begins and the last one ends on a clear frame. The first ends and the last
    begins on the full title, so that a player which stops there shows it.

    Attributes
    ----------
    coming, staying, going : tuple of int
        Frames of the sheet, or `CLEAR`.
    """

    coming: tuple[int, ...]
    staying: tuple[int, ...]
    going: tuple[int, ...]


def parts_of(sheet: Sheet) -> Parts:
    """Find the parts of a sheet's titles.

    Raises
    ------
    SettingError
        If its titles are never all fully there.
    """
    shown = list(titles_over(sheet))
    stays = [_stays(level, overlay) for level, overlay, _ in shown]
    first = max((start for start, _ in stays), default=0)
    stop = min((end for _, end in stays), default=0)
    if first >= stop:
        msg = (
            "format parts needs a frame on which every title is fully there, found none. Let the "
            "titles of the sheet stay longer, or at the same time."
        )
        raise SettingError(msg)
    begin, end = min(top.start for _, _, top in shown), max(top.stop for _, _, top in shown)
    return Parts(
        (CLEAR, *range(begin, first + 1)),
        tuple(range(first, stop)),
        (*range(stop - 1, end), CLEAR),
    )


def _stays(level: Level, overlay: Overlay) -> tuple[int, int]:
    """When a title is fully there: first frame of the spot, and the one after the last."""
    first, stop = settled(level.sheet, overlay)
    if level.outer is None or first >= stop:
        return first, stop
    frames = level.frames(first, stop - 1, whole=True)
    return (frames[0], frames[-1] + 1) if frames else (0, 0)
