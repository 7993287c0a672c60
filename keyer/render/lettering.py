"""Titles as sources: the design of one, its fields, and its layout for a format.

Apart from the other sources, since lettering takes time to load and most jobs
show none.
"""

from __future__ import annotations

import os
from collections.abc import Mapping
from pathlib import Path

from keyer.documents.reach import Reach
from keyer.errors import KeyerError
from keyer.kinds.formats import VideoFormat
from keyer.sheet.sheet import Overlay, Sheet
from keyer.sheet.source import Title
from keyer.titles.ink import Canvas
from keyer.titles.moving import TimedTitle, time_title
from keyer.titles.pages import load_page
from keyer.titles.read import DesignFile, load_design
from keyer.titles.steps import Step, longest


def title_parts(title: Title) -> tuple[DesignFile, dict[str, str], tuple[str, ...]]:
    """Find the design of a title and the values of its fields.

    Returns
    -------
    design : DesignFile
    fields : dict
        A page's own values, the title's over them.
    notices : tuple of str

    Raises
    ------
    KeyerError
        If the design or page is missing or does not hold.
    """
    if title.page is not None:
        page = load_page(title.store, title.page)
        _confine(page.design, title)
        return page.design, {**page.fields, **_found(title, page.design)}, page.notices
    if title.design is None:
        msg = "a title has a design or a page"
        raise AssertionError(msg)
    design = load_design(title.design)
    _confine(design, title)
    return design, _found(title, design), ()


def _found(title: Title, design: DesignFile) -> dict[str, str]:
    """Give a title's fields, those that are pictures with the files that they name."""
    fields = dict(title.fields)
    reach = Reach(title.folder.absolute(), title.within)
    for name in design.design.picture_fields():
        if fields.get(name):
            fields[name] = str(reach.find(fields[name]))
    return fields


def shown_pictures(design: DesignFile, fields: Mapping[str, str]) -> list[Path]:
    """List the pictures that fields name.

    Parameters
    ----------
    design : DesignFile
    fields : mapping
        As `title_parts` gives them.
    """
    names = [fields.get(name, "") for name in design.design.picture_fields()]
    return [design.folder / name for name in names if name]


def _confine(design: DesignFile, title: Title) -> None:
    """Refuse fonts that a design may not read."""
    reach = Reach(design.folder, title.within)
    for file in design.files():
        reach.find(os.path.relpath(file, design.folder))


Steps = tuple[Step, ...]


def title_steps(sheet: Sheet, source: str | None) -> tuple[Steps, Steps]:
    """Find the steps in which a source is built up and goes: none for all but some titles.

    Parameters
    ----------
    sheet : Sheet
    source : str or None
        Its name.

    Returns
    -------
    tuple of two tuples of Step
    """
    content = sheet.sources[source].content if source is not None else None
    if not isinstance(content, Title):
        return (), ()
    try:
        design = title_parts(content)[0].design
    except KeyerError:
        return (), ()  # which is told where it is planned
    return design.build, design.leave


def settled(sheet: Sheet, overlay: Overlay) -> tuple[int, int]:
    """When an overlay is fully there, a title with all its parts.

    Returns
    -------
    first, stop : int
        Of the sheet: the first frame on which it is, and the first on which
        it is no more. It may never be: then stop is not after first.
    """
    build, leave = (
        longest(steps, sheet.format.rate) for steps in title_steps(sheet, overlay.source)
    )
    first = overlay.start + max(overlay.enter.length, build)
    return first, overlay.stop - max(overlay.leave.length, leave)


def passes(sheet: Sheet, overlay: Overlay) -> bool:
    """Whether an overlay is a title that crawls or rolls, which is seen best half way."""
    content = sheet.sources[overlay.source].content
    if not isinstance(content, Title):
        return False
    try:
        return title_parts(content)[0].design.move is not None
    except KeyerError:
        return False  # which is told where it is planned


def timed(
    design: DesignFile, fields: Mapping[str, str], video: VideoFormat, *, allow_flash: bool
) -> TimedTitle:
    """Lay out a title for a format, ready to be shown in time.

    Raises
    ------
    SettingError
        If a field is unknown or lacks a value, a text does not fit, a
        character is in no font, or it flashes too fast.
    """
    canvas = Canvas(video.width, video.height, float(video.pixel_aspect))
    return time_title(
        design, fields, canvas, video.rate, allow_flash=allow_flash, matrix=video.matrix
    )
