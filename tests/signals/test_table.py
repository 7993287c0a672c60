"""Every signal of the table is found as its standard says, and the document holds the table."""

from signals.table import markdown, rows
from support import HERE


def test_every_signal_is_found_as_expected_and_told():
    table = rows()
    assert len(table) >= 80
    found = [row.find() for row in table]
    for row, value in zip(table, found, strict=True):
        assert value == row.expected, (row.clause, row.signal)
    text = (HERE.parent / "docs" / "checking.md").read_text(encoding="utf-8")
    assert markdown(found) in text, "print it anew: PYTHONPATH=tests python -m signals.table"
