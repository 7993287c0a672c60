"""The files that a sheet is read from and shows: none of them is ever written over."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from contextlib import suppress
from pathlib import Path

from keyer.errors import KeyerError
from keyer.sheet.sheet import Sheet
from keyer.sheet.source import File, OtherSheet, Title
from keyer.titles.page_list import page_name


def sheet_inputs(sheet: Sheet) -> Iterator[Path]:
    """Yield every file that a sheet names, shown or not: itself and its includes as well.

    Yields
    ------
    Path
        For `keyer.media.files.Files`: files, folders and patterns of numbered
        stills, whether they are there or not.
    """
    yield from sheet.documents
    for source in sheet.sources.values():
        match source.content:
            case File(path=path):
                yield path
            case Title():
                yield from _title_inputs(source.content)
            case OtherSheet(sheet=other):
                yield from sheet_inputs(other)
    yield from (one.file.path for one in sheet.sounds if isinstance(one.file, File))
    yield from pattern_inputs(folder.path for folder in sheet.patterns)


def _title_inputs(title: Title) -> Iterator[Path]:
    from keyer.render.lettering import shown_pictures, title_parts

    if title.design is not None:
        yield title.design
    if title.page is not None:
        yield title.store / page_name(title.page)
    with suppress(KeyerError):  # a title that does not hold is told where it is planned
        design, fields, _ = title_parts(title)
        yield from design.files()
        yield from shown_pictures(design, fields)


def pattern_inputs(folders: Iterable[Path]) -> Iterator[Path]:
    """Yield the files of folders of the user's own patterns."""
    for folder in folders:
        with suppress(OSError):
            yield from (path for path in folder.rglob("*") if path.is_file())
