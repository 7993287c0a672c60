"""Remarks and chosen frames: pinned to frames of the sheet, and no part of its picture."""

import pytest

from keyer.errors import SheetError
from keyer.sheet.load import parse_sheet
from keyer.sheet.remarks import Remark

SHEET = """version = 1
[sheet]
format = "64x36@25"
length = 50
stills = [{stills}]
[sources.a]
colour = "#102030"
[[cues]]
source = "a"
{more}
"""


def parsed(stills: str = "", more: str = ""):
    return parse_sheet(SHEET.format(stills=stills, more=more))


def test_they_stand_in_order_of_time_at_the_sheets_rate():
    remarks = '[[remarks]]\nat = "1s"\ntext = "later"\n[[remarks]]\nat = 3\ntext = "x"\nby = "W"'
    sheet = parsed('"1s", 4, "00:00:00:04"', remarks)
    assert sheet.remarks == (Remark(3, "x", "W"), Remark(25, "later"))
    assert sheet.stills == (4, 25)


def test_they_change_no_digest():
    assert parsed("3", '[[remarks]]\nat = 3\ntext = "x"').digest == parsed().digest


@pytest.mark.parametrize(
    ("stills", "more", "path"),
    [
        ("50", "", "sheet.stills[0]"),
        ("", '[[remarks]]\nat = 50\ntext = "x"', "remarks[0].at"),
        ("", '[[remarks]]\nat = 0\ntext = " "', "remarks[0].text"),
    ],
)
def test_what_points_nowhere_is_refused(stills, more, path):
    with pytest.raises(SheetError) as caught:
        parsed(stills, more)
    assert [fault.path for fault in caught.value.faults] == [path]
