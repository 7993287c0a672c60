"""Title designs to choose from by sight: those beside the sheet, and the demo's."""

from __future__ import annotations

import contextlib
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from keyer.errors import KeyerError, OutputError, SettingError
from keyer.kinds.timing import count_rate
from keyer.media.files import Files
from keyer.media.write import write_bytes
from keyer.rehearsal.edits import Edit, edit_text
from keyer.rehearsal.rows import design_list
from keyer.sheet.load import parse_sheet
from keyer.sheet.sheet import Sheet
from keyer.titles.read import DesignFile, load_design

FOLDER = "designs"
TRIED = "a-title-to-be-chosen"
SETTLED_SECONDS = 2
"""How long a title has been there where it is shown: one that moves is in sight by then."""


@dataclass(frozen=True)
class Offer:
    """A title design that the page offers, with the texts that show it.

    Attributes
    ----------
    name : str
        To ask for it by: its path beside the sheet, or the demo's file name.
    file : Path
    design : DesignFile
    ours : bool
        Whether it is one of the demo's, which is copied when it is taken.
    """

    name: str
    file: Path
    design: DesignFile
    ours: bool

    @property
    def fields(self) -> dict[str, str]:
        """Give each text field what it is shown with."""
        rules = self.design.design.fields
        return {name: one.example or name for name, one in rules.items() if one.kind == "text"}


def offers(folder: Path) -> Iterator[Offer]:
    """List the designs beside a sheet, then those of the demo that are not there yet.

    Yields
    ------
    Offer
        Each that can be read, and that has no table: its rows would be wanted.
    """
    return (one for one in _all_offers(folder) if one.design.design.table is None)


def _all_offers(folder: Path) -> Iterator[Offer]:
    there = design_list(folder)
    for name in there:
        with contextlib.suppress(KeyerError):
            yield Offer(name, folder / name, load_design(folder / name), ours=False)
    from keyer.demo.project import demo_folder

    for file in sorted((demo_folder() / FOLDER).glob("*.toml")):
        if f"{FOLDER}/{file.name}" not in there:
            yield Offer(file.name, file, load_design(file), ours=True)


def take_design(folder: Path, name: str) -> dict[str, Any]:
    """Take a design for a title; one of the demo's is copied beside the sheet.

    Parameters
    ----------
    folder : Path
        The sheet's.
    name : str
        As `offers` has it.

    Returns
    -------
    dict
        `path` from the sheet's folder, `name` and `fields` with examples.

    Raises
    ------
    KeyerError
        If there is no such design, or it cannot be copied.
    """
    found = next((one for one in offers(folder) if one.name == name), None)
    if found is None:
        msg = f"there is no design called {name!r:.60}. Choose one that is shown."
        raise SettingError(msg)
    path = found.name
    if found.ours:
        path = f"{FOLDER}/{found.file.name}"
        _copy(found, folder / FOLDER)
    return {"path": path, "name": found.design.design.name, "fields": found.fields}


def _copy(offer: Offer, target: Path) -> None:
    """Copy a design with the pictures and fonts that it names; nothing that is there is touched."""
    home = offer.file.parent
    try:
        for file in offer.design.files():
            copy = target / file.relative_to(home)
            if not copy.exists():
                copy.parent.mkdir(parents=True, exist_ok=True)
                write_bytes(copy, file.read_bytes(), Files())
    except OSError as error:
        msg = f"{FOLDER} cannot be written beside the sheet: {error.strerror}."
        raise OutputError(msg) from error


def with_title(text: str, path: Path, sheet: Sheet, offer: Offer, frame: int) -> Sheet:
    """Lay a title over a sheet, as it would be with a design.

    Parameters
    ----------
    text : str
        The sheet's TOML.
    path : Path
        The sheet's file.
    sheet : Sheet
        What the text says.
    offer : Offer
    frame : int
        On which it has been there for a while.

    Raises
    ------
    KeyerError
    """
    start = max(frame - SETTLED_SECONDS * count_rate(sheet.format.rate), 0)
    title = {"design": str(offer.file.absolute()), "fields": offer.fields}
    edits = [
        Edit("set", f"sources.{TRIED}", {"title": title}),
        Edit("insert", f"overlays[{len(sheet.overlays)}]", {"source": TRIED, "in": start}),
    ]
    return parse_sheet(edit_text(text, edits), path.name, folder=path.parent)
