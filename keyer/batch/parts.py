"""In, hold and out: where the titles of a sheet come, stay and go."""

from __future__ import annotations

from dataclasses import dataclass

from keyer.batch.job import sheet_titles
from keyer.errors import SettingError
from keyer.render.lettering import settled
from keyer.sheet.sheet import Sheet

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

    Parameters
    ----------
    sheet : Sheet

    Returns
    -------
    Parts

    Raises
    ------
    SettingError
        If its titles are never all fully there.
    """
    titles = sheet_titles(sheet)
    overlays = [one for one in sheet.overlays if one.source in titles and one.key is None]
    stays = [settled(sheet, one) for one in overlays]
    first = max((start for start, _ in stays), default=0)
    stop = min((end for _, end in stays), default=0)
    if first >= stop:
        msg = (
            "format parts needs a frame on which every title is fully there, found none. Let the "
            "titles of the sheet stay longer, or at the same time."
        )
        raise SettingError(msg)
    begin, end = min(one.start for one in overlays), max(one.stop for one in overlays)
    return Parts(
        (CLEAR, *range(begin, first + 1)),
        tuple(range(first, stop)),
        (*range(stop - 1, end), CLEAR),
    )
