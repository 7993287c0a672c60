"""Files of one kind that are named where another is wanted: told as that, not key by key."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from keyer.documents.faults import sheet_error
from keyer.errors import Fault

_TABLES = (".csv", ".tsv")


def refuse_design(data: Mapping[str, Any], name: str) -> None:
    """Refuse a title design where an effect sheet is wanted.

    Parameters
    ----------
    data : mapping
        The document as read.
    name : str
        File name, for messages.

    Raises
    ------
    SheetError
        If it has the boxes of a design, and nothing that every sheet has.
    """
    if "boxes" in data and not {"sheet", "cues"} & set(data):
        message = (
            "is a title design, not an effect sheet. Name a sheet, or show the design alone with "
            "keyer title."
        )
        raise sheet_error(name, [Fault("", None, message)])


def refuse_sheet(data: Mapping[str, Any], name: str, wanted: str) -> None:
    """Refuse an effect sheet where another document is wanted.

    Parameters
    ----------
    data : mapping
        The document as read.
    name : str
        File name, for messages.
    wanted : str
        What is, such as "a title design".

    Raises
    ------
    SheetError
        If it has what every sheet has, and no boxes.
    """
    if {"sheet", "cues"} <= set(data) and "boxes" not in data:
        message = f"is an effect sheet, not {wanted}. Name the file of that in its place."
        raise sheet_error(name, [Fault("", None, message)])


def table_hint(name: str) -> str:
    """Return the end of a message about a text that is no TOML, if it is a table by its name."""
    if name.lower().endswith(_TABLES):
        return " It is a table of rows: name a sheet or a design (.toml) in its place."
    return ""
