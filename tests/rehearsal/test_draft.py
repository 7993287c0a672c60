"""The draft: undo, the journal, saving, and what somebody else writes into the file."""

import errno
import os
from pathlib import Path

import pytest

from keyer.errors import InputFileError, OutputError, SheetError
from keyer.rehearsal.draft import Draft
from keyer.rehearsal.edits import Edit

SHEET = """version = 1
[sheet]
format = "64x36@25"
length = 50
[sources]
a = { colour = "#102030" }
[[cues]]
source = "a"
"""


@pytest.fixture
def path(tmp_path):
    file = tmp_path / "spot.toml"
    file.write_text(SHEET)
    return file


def rename(draft: Draft, name: str, gesture: str | None = None) -> None:
    draft.edit([Edit("set", "cues[0].name", name)], name, gesture)


def test_a_change_is_a_step_that_can_be_taken_back_and_brought_again(path):
    draft = Draft(path)
    rename(draft, "One")
    rename(draft, "Two")
    assert draft.undo()
    assert draft.sheet.cues[0].name == "One"
    assert draft.redo()
    assert draft.sheet.cues[0].name == "Two"
    assert draft.undo()
    assert draft.undo()
    assert not draft.undo()
    assert draft.text == SHEET


def test_a_drag_is_one_step(path):
    draft = Draft(path)
    for number in range(30):
        rename(draft, f"at {number}", "drag")
    draft.undo()
    assert draft.text == SHEET


def test_what_would_not_hold_changes_nothing(path):
    draft = Draft(path)
    with pytest.raises(SheetError):
        draft.edit([Edit("set", "cues[0].source", "nobody")])
    assert draft.text == SHEET
    assert draft.revision == 0
    assert not draft.journal.path.exists()


def test_the_file_changes_only_when_it_is_saved(path):
    draft = Draft(path)
    rename(draft, "One")
    assert path.read_text() == SHEET
    draft.save()
    assert path.read_text() == draft.text != SHEET
    assert not draft.changed
    assert not draft.journal.path.exists()


def test_unsaved_changes_survive_a_crash(path):
    draft = Draft(path)
    rename(draft, "One")
    rename(draft, "Two")
    again = Draft(path)  # nothing of the first was closed
    assert again.taken_up
    assert again.sheet.cues[0].name == "Two"
    again.undo()
    assert again.sheet.cues[0].name == "One"


def test_a_journal_cut_off_in_its_last_line_gives_what_is_whole(path):
    draft = Draft(path)
    rename(draft, "One")
    rename(draft, "Two")
    journal = draft.journal.path
    journal.write_bytes(journal.read_bytes()[:-25])
    assert Draft(path).sheet.cues[0].name == "One"


def test_what_follows_a_line_that_was_cut_off_is_whole(path):
    draft = Draft(path)
    rename(draft, "One")
    rename(draft, "Two")
    journal = draft.journal.path
    journal.write_bytes(journal.read_bytes()[:-25])
    rename(Draft(path), "Three")
    assert Draft(path).sheet.cues[0].name == "Three"


def test_an_undo_after_saving_survives_a_crash(path):
    draft = Draft(path)
    rename(draft, "One")
    draft.save()
    draft.undo()
    again = Draft(path)
    assert (again.text, again.changed) == (SHEET, True)


@pytest.mark.parametrize("room", [0, 9])
def test_a_change_that_the_disk_does_not_take_is_refused_and_changes_nothing(
    path, monkeypatch, room
):
    write = os.write

    def full(handle, data):
        if not room:
            raise OSError(errno.ENOSPC, os.strerror(errno.ENOSPC))
        return write(handle, data[:room])

    with monkeypatch.context() as patch:
        patch.setattr("keyer.rehearsal.journal.os.write", full)
        with pytest.raises(OutputError, match="No space left on device"):
            rename(Draft(path), "One")
        assert list(path.parent.iterdir()) == [path]
    draft = Draft(path)
    rename(draft, "One")
    rename(draft, "Two")
    draft.undo()
    monkeypatch.setattr("keyer.rehearsal.journal.os.write", full)
    for act in (lambda: rename(draft, "Three"), draft.undo, draft.redo):
        with pytest.raises(OutputError, match="No space left on device"):
            act()
        assert draft.sheet.cues[0].name == "One"
    assert (draft.undoable, draft.redoable) == ("One", "Two")
    monkeypatch.undo()
    assert draft.redo()
    assert Draft(path).sheet.cues[0].name == "Two"


def test_what_was_written_just_before_saving_is_not_written_over(path):
    draft = Draft(path)
    rename(draft, "Mine")
    other = SHEET.replace("length = 50", "length = 60")
    path.write_text(other)
    with pytest.raises(OutputError, match="Choose first"):
        draft.save()
    assert path.read_text() == other


@pytest.mark.parametrize("left", [b"", b"\x00\xff", b"[]\n{}\n", b'{"base": 1}\n', b"[" * 99_999])
def test_a_journal_that_says_nothing_is_passed_over(path, left):
    Draft(path).journal.path.write_bytes(left)
    again = Draft(path)
    assert not again.taken_up
    assert again.text == SHEET


def test_an_edit_made_outside_shows(path):
    draft = Draft(path)
    path.write_text(SHEET.replace("#102030", "#ffffff"))
    assert draft.look_outside()
    assert draft.sheet.sources["a"].content.rgb == (1.0, 1.0, 1.0)
    assert not draft.changed
    assert not draft.look_outside()


def test_an_edit_outside_that_does_not_hold_leaves_the_last_good_sheet(path):
    draft = Draft(path)
    path.write_text(SHEET.replace("length = 50", "length = -50"))
    assert draft.look_outside()
    assert draft.sheet.length == 50
    assert draft.error is not None
    path.write_text(SHEET)
    assert draft.look_outside()
    assert draft.error is None


@pytest.mark.parametrize("theirs", [True, False])
def test_where_both_have_changed_a_person_chooses_and_nothing_is_lost(path, theirs):
    draft = Draft(path)
    rename(draft, "Mine")
    other = SHEET.replace("length = 50", "length = 60")
    path.write_text(other)
    assert draft.look_outside()
    mine = draft.text
    with pytest.raises(OutputError, match="Choose first"):
        draft.save()
    draft.choose(theirs=theirs)
    assert draft.text == (other if theirs else mine)
    draft.undo()
    assert draft.text == (mine if theirs else other)


def test_a_file_that_went_on_without_the_journal_is_asked_about(path):
    rename(Draft(path), "Mine")
    path.write_text(SHEET.replace("length = 50", "length = 60"))
    draft = Draft(path)
    assert draft.theirs is not None
    assert draft.sheet.cues[0].name == "Mine"


def test_a_sheet_that_is_not_there_begins_empty(tmp_path):
    draft = Draft(tmp_path / "new.toml")
    assert draft.sheet is None
    assert not draft.path.exists()
    draft.edit([
        Edit("set", "version", 1),
        Edit("set", "sheet", {"format": "64x36@25", "length": 10}),
        Edit("set", "sources.a", {"colour": "#123456"}),
        Edit("insert", "cues[0]", {"source": "a"}),
    ])  # fmt: skip
    draft.save()
    assert draft.path.read_text() == draft.text


def test_two_hundred_undos_end_where_it_began(path):
    draft = Draft(path)
    for number in range(200):
        rename(draft, f"name {number}")
    for number in reversed(range(199)):
        assert draft.undo()
        assert f'"name {number}"' in draft.text
    assert draft.undo()
    assert not draft.undo()
    assert draft.text == SHEET
    while draft.redo():
        pass
    assert draft.sheet.cues[0].name == "name 199"


def test_a_folder_is_no_sheet(tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    with pytest.raises(InputFileError):
        Draft(Path())
