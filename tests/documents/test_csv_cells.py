"""Cells that a spreadsheet shows and does not carry out."""

import pytest

from keyer.documents.csv_cells import own_text, plain_cell


@pytest.mark.parametrize("start", ["=", "+", "-", "@", "\t", "\r", "\n", "＝", "＠"])
def test_formula_is_marked_as_text(start):
    """OWASP, CSV injection: characters at which a cell is taken for a formula."""
    assert plain_cell(f"{start}1+1") == f"'{start}1+1"


@pytest.mark.parametrize("text", ["", "Ines", " =1", "00:00:01:20", "#FFC83D"])
def test_other_texts_stay(text):
    assert plain_cell(text) == text


@pytest.mark.parametrize("text", ["", "Ines", "=1", "'=1", "''-5 °C", "'tis", "'", "+49", "\n"])
def test_the_mark_comes_off_again(text):
    assert own_text(plain_cell(text)) == text
