"""Every signal of the table is found as its standard says, and the document holds the table."""

import pytest
from signals.table import DOCUMENT, SUBJECTS, markdown


@pytest.mark.parametrize("subject", SUBJECTS)
def test_every_signal_is_found_as_expected_and_told(subject):
    rows = list(SUBJECTS[subject]())
    assert len(rows) >= 20
    found = [row.find() for row in rows]
    for row, value in zip(rows, found, strict=True):
        assert value == row.expected, (row.clause, row.signal)
    text = DOCUMENT.read_text(encoding="utf-8")
    assert markdown(rows, found) in text, "write it anew: PYTHONPATH=tests python -m signals.table"
