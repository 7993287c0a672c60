"""Cells of CSV that a spreadsheet shows and does not carry out."""

from __future__ import annotations

_STARTS_A_FORMULA = ("=", "+", "-", "@", "\t", "\r", "\n", "＝", "＋", "－", "＠")


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
    return f"'{text}" if text.startswith(_STARTS_A_FORMULA) else text
