"""Cells of CSV that a spreadsheet shows and does not carry out."""

from __future__ import annotations

import re

_FORMULA = re.compile("'*[=+\\-@\t\r\n＝＋－＠]")
"""How a cell begins that a spreadsheet would carry out, or that is marked so that it does not."""


def plain_cell(text: str) -> str:
    """Mark a text that a spreadsheet would take for a formula.

    Returns
    -------
    str
        With an apostrophe before it where it begins like a formula, as the OWASP
        note on CSV injection advises; a spreadsheet then shows it as text.

    Examples
    --------
    >>> plain_cell("=1+1"), plain_cell("Ines")
    ("'=1+1", 'Ines')
    """
    return f"'{text}" if _FORMULA.match(text) else text


def own_text(cell: str) -> str:
    """Return a cell's own text, without the mark that `plain_cell` puts before it.

    Parameters
    ----------
    cell : str
        As `plain_cell` gives it, or as a person writes it.

    Examples
    --------
    >>> own_text(plain_cell("'=1")), own_text("Ines")
    ("'=1", 'Ines')
    """
    return cell[1:] if cell.startswith("'") and _FORMULA.match(cell) else cell
