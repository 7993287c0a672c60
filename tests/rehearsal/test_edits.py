"""Edits of a sheet's text: comments and order stay, and the result is what was asked for."""

import tomllib

import pytest

from keyer.errors import SettingError
from keyer.rehearsal.edits import Edit, edit_text, read_edits

SHEET = """version = 1
# the whole
[sheet]
format = "1080p25"  # high
length = 100

[sources]
a = { colour = "#102030" }
b = { bars = 75 }

[[cues]]
source = "a"

# the second
[[cues]]
source = "b"
at = 30
transition = { kind = "mix", length = 10 } # dissolve

[[overlays]]
source = "b"
"""


def edited(*edits: Edit) -> dict:
    text = edit_text(SHEET, edits)
    for comment in ("# the whole", "# high", "# the second\n[[cues]]", "# dissolve"):
        assert comment in text
    return tomllib.loads(text)


def test_a_value_is_set_where_it_stands():
    text = edit_text(SHEET, [Edit("set", "sheet.length", 120)])
    assert text == SHEET.replace("length = 100", "length = 120")


def test_a_key_is_put_before_the_comment_that_leads_to_the_next_table():
    text = edit_text(SHEET, [Edit("set", "cues[0].name", "First")])
    assert 'source = "a"\nname = "First"\n\n# the second\n[[cues]]' in text


def test_a_transition_gets_a_heading_of_its_own():
    text = edit_text(
        SHEET,
        [
            Edit("set", "cues[0].transition.kind", "fade"),
            Edit("set", "cues[0].transition.length", 5),
        ],
    )
    assert '[cues.transition]\nkind = "fade"\nlength = 5\n\n# the second\n[[cues]]' in text


def test_inline_tables_stay_inline():
    data = edited(Edit("set", "cues[1].transition.modulate.wave", "sine"))
    assert data["cues"][1]["transition"] == {
        "kind": "mix", "length": 10, "modulate": {"wave": "sine"},
    }  # fmt: skip


def test_items_are_put_in_and_moved():
    data = edited(
        Edit("insert", "overlays[1]", {"source": "a", "placement": {"scale": 40}}),
        Edit("move", "overlays[1]", 0),
    )
    assert data["overlays"] == [{"source": "a", "placement": {"scale": 40}}, {"source": "b"}]


def test_lists_that_are_not_there_yet_are_made():
    data = edited(
        Edit("insert", "sound[0]", {"file": "s.wav"}),
        Edit("set", "overlays[0].key.kind", "chroma"),
        Edit("insert", "overlays[0].key.garbage[0]", {"rectangle": [1, 2, 3, 4]}),
        Edit("set", "sources.c", {"file": "c.png"}),
    )
    assert data["sound"] == [{"file": "s.wav"}]
    assert data["overlays"][0]["key"]["garbage"] == [{"rectangle": [1, 2, 3, 4]}]
    assert data["sources"]["c"] == {"file": "c.png"}


def test_a_sheet_can_begin_from_nothing():
    text = edit_text(
        "",
        [
            Edit("set", "version", 1),
            Edit("set", "sheet", {"format": "1080p25", "length": 10}),
            Edit("set", "sources.a", {"colour": "#000000"}),
            Edit("insert", "cues[0]", {"source": "a"}),
        ],
    )
    assert (
        text
        == """version = 1

[sheet]
format = "1080p25"
length = 10

[sources.a]
colour = "#000000"

[[cues]]
source = "a"
"""
    )


@pytest.mark.parametrize("path", ["cues[7].at", "cues.at", "overlays[0].source.x", "cues[0"])
@pytest.mark.parametrize("act", ["set", "remove"])
def test_a_path_that_leads_nowhere_is_refused(act, path):
    with pytest.raises(SettingError, match="path must"):
        edit_text(SHEET, [Edit(act, path, 1)])


@pytest.mark.parametrize("said", [None, [], {}, [{"act": "drop", "path": "x"}], [{"act": "set"}]])
def test_edits_from_outside_are_checked(said):
    with pytest.raises(SettingError):
        read_edits(said)


@pytest.mark.parametrize(
    ("value", "fault"),
    [("\ud800", "sheet.title must be whole letters"), ([[]], "nested so deeply")],
)
def test_a_value_that_cannot_be_written_is_refused(value, fault):
    for _ in range(1000 if value == [[]] else 0):
        value = [value]
    with pytest.raises(SettingError, match=fault):
        edit_text(SHEET, [Edit("set", "sheet.title", value)])


def test_a_text_does_not_take_the_place_of_a_table_with_a_heading():
    with pytest.raises(SettingError, match=r"cues\[0\] must be a table"):
        edit_text('[[cues]]\nsource = "a"\n', [Edit("set", "cues[0]", "x")])


def test_nothing_is_set_in_a_text_that_is_no_toml():
    with pytest.raises(SettingError, match="not valid TOML"):
        edit_text(SHEET + "\n[[[\n", [Edit("set", "sheet.title", "x")])
