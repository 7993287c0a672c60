"""What the sheet on the page can be compared with."""

import pytest

from keyer.errors import SettingError
from keyer.rehearsal.draft import Draft
from keyer.rehearsal.earlier import earlier_sheet, others
from keyer.rehearsal.edits import Edit
from keyer.report.versions.approve import approve_file

SHEET = """version = 1
[sheet]
title = "{title}"
format = "64x36@25"
length = 10
[sources.a]
colour = "#102030"
[[cues]]
source = "a"
"""


@pytest.fixture
def draft(tmp_path):
    path = tmp_path / "spot.toml"
    path.write_text(SHEET.format(title="First"))
    return Draft(path)


def test_saved_approved_and_others_are_offered_and_read(draft):
    approve_file(draft.path, by="Wren")
    (draft.path.parent / "other.toml").write_text(SHEET.format(title="Other"))
    (draft.path.parent / "design.toml").write_text("[styles.x]\n")
    draft.edit([Edit("set", "sheet.title", "Second")])
    draft.save()
    draft.edit([Edit("set", "sheet.title", "Third")])
    offered = others(draft)
    assert [one["name"] for one in offered][::2] == ["saved", "other.toml"]
    assert "Wren" in offered[1]["label"]
    titles = [earlier_sheet(draft, one["name"]).title for one in offered]
    assert titles == ["Second", "First", "Other"]


@pytest.mark.parametrize("name", ["", "../other.toml", "/etc/passwd", "gone.toml", "0" * 64])
def test_nothing_else_is_read(draft, name):
    (draft.path.parent.parent / "other.toml").write_text(SHEET.format(title="Outside"))
    with pytest.raises(SettingError, match="nothing called"):
        earlier_sheet(draft, name)
