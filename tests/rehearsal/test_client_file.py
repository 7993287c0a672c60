"""The client view as one file: it fetches nothing, and its remarks come back."""

import base64
import hashlib
import json
import re

import pytest

from keyer.errors import InputFileError
from keyer.rehearsal.client_file import client_page, read_remarks
from keyer.rehearsal.edits import Edit
from keyer.sheet.load import parse_sheet

SHEET = """version = 1
[sheet]
title = "</script><b>x"
format = "64x36@25"
length = 50
stills = [7, 30]
[sources.a]
colour = "#102030"
[[cues]]
source = "a"
[[remarks]]
at = 7
text = "<i>here"
"""


@pytest.fixture
def sheet():
    return parse_sheet(SHEET)


def test_the_file_holds_the_chosen_stills_and_fetches_nothing(sheet):
    page = client_page(sheet)
    assert re.findall(r'data-frame="(\d+)"', page) == ["7", "30"]
    assert "&lt;/script&gt;&lt;b&gt;x" in page
    assert "&lt;i&gt;here" in page
    assert "<b>x" not in page
    assert not re.findall(r'(?:src|href)="(?!data:)', page)


def test_its_policy_lets_its_own_script_run_and_no_other(sheet):
    page = client_page(sheet)
    script = page.rpartition("<script>")[2].partition("</script>")[0]
    known = base64.b64encode(hashlib.sha256(script.encode()).digest()).decode()
    assert f"script-src &#39;sha256-{known}&#39;" in page or f"script-src 'sha256-{known}'" in page


def test_remarks_come_back_once(sheet):
    said = {
        "remarks": [
            {"at": 30, "text": "Slower?", "by": "Wren"},
            {"at": 7, "text": "<i>here", "by": ""},
            {"at": 900, "text": "late"},
            {"at": 3, "text": "  "},
        ]
    }
    assert read_remarks(json.dumps(said).encode(), sheet, 1) == [
        Edit("insert", "remarks[1]", {"at": 30, "text": "Slower?", "by": "Wren"}),
        Edit("insert", "remarks[2]", {"at": 49, "text": "late"}),
    ]


@pytest.mark.parametrize(
    "data",
    [
        b"",
        b"[]",
        b"{}",
        b'{"remarks": 1}',
        b'{"remarks": [1]}',
        b'{"remarks": [{"at": 1e999, "text": ""}]}',
        b"\xff",
        b"[" * 100_000,
    ],
)
def test_what_is_no_file_of_remarks_is_refused(sheet, data):
    with pytest.raises(InputFileError, match="not a file of remarks"):
        read_remarks(data, sheet, 0)
