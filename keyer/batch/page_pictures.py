"""A range of pages as pictures, each named by its number."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from pathlib import Path

from keyer.batch.one_title import TitleOrder, TitleReport, check_kind, prepare_title, read_behind
from keyer.batch.stored import suffixes
from keyer.errors import KeyerError
from keyer.media.files import Files
from keyer.sheet.station import load_station
from keyer.titles.pages import load_page, page_file


@dataclass(frozen=True)
class PagePictures:
    """Pages drawn, by number; and by number what is wrong with the others."""

    reports: dict[int, TitleReport]
    faults: dict[int, str]


def draw_pages(
    order: TitleOrder,
    numbers: Sequence[int],
    folder: Path,
    *,
    force: bool = False,
    told: Callable[[int, int], None] = lambda _done, _all: None,
) -> PagePictures:
    """Draw pages, or none if one of them does not hold.

    Parameters
    ----------
    order : TitleOrder
        What is asked of each; its `design` and `page` are not looked at.
    numbers : sequence of int
    folder : Path
        For the pictures; made if its parent is there.
    force : bool
        Replace pictures that are there.
    told : callable, optional
        Called with pages done and pages in all.

    Returns
    -------
    PagePictures
        With faults and no pictures where a page is damaged or its texts do not
        fit; with both where that is seen only when it is drawn.

    Raises
    ------
    KeyerError
        If the pictures cannot be written, or what is asked of all does not hold.
    """
    check_kind(order)
    files = Files(force=force)
    files.folder(folder)
    files.read(*(path for path in (order.over, order.rules) if path is not None))
    faults: dict[int, str] = {}
    for number in numbers:
        for suffix in suffixes("png", order.kind):
            files.write(folder / f"{number:04d}{suffix}")
        files.read(page_file(order.store, number))
        try:
            files.read(*load_page(order.store, number).design.files())
        except KeyerError as error:
            faults[number] = " ".join(str(error).split())
    if faults:
        return PagePictures({}, faults)
    behind = read_behind(order)
    if order.rules is not None:
        load_station(order.rules, order.format.rate)
    reports: dict[int, TitleReport] = {}
    files.make_folder(folder)
    for done, number in enumerate(numbers):
        told(done, len(numbers))
        one = replace(order, design=None, page=number)
        try:
            ready = prepare_title(one, folder / f"{number:04d}.png", force=force, behind=behind)
        except KeyerError as error:
            faults[number] = " ".join(str(error).split())
            continue
        reports[number] = ready.write()
    told(len(numbers), len(numbers))
    return PagePictures(reports, faults)
