import tomllib

import pytest
from hypothesis import given
from hypothesis import strategies as st
from sheet.making import BESIDE, FEWER, SPOT, docs, documents

from keyer.documents.locate import read_path
from keyer.errors import SettingError, SheetError
from keyer.sheet.edit import change_sheet, flatten_sheet, work_in
from keyer.sheet.load import build_sheet, parse_sheet


def value_at(text, path):
    found = tomllib.loads(text)
    for step in read_path(path):
        found = found[step]
    return found


def test_a_sheet_is_written_as_it_was_read():
    assert parse_sheet(SPOT).text == SPOT


@pytest.mark.parametrize(
    ("path", "value"),
    [
        ("sheet.title", "Row after breakfast"),
        ("sheet.note", "new key"),
        ("cues[1].transition.soft", 5.5),
        ("cues[1].transition.border", 2),
        ("cues[0].name", "opening"),
        ("transitions.house.soft", 4),
        ("cues[1].transition.modulate.phase", 0.5),
        ("overlays[0].placement.scale", 90),
        ("overlays[0].placement.position", [10, 20.5]),
        ("overlays[0].placement.keyframes[0].position", [1, 2]),
        ("overlays[0].placement.keyframes[1].position[0]", 60),
        ("overlays[0].transition_out.kind", "mix"),
        ("sources.lake.file", "media/sea.png"),
        ("sources.spare", {"bars": 75}),
        ('sources."with space"', {"bars": 100}),
    ],
)
def test_one_change_changes_one_thing_and_keeps_the_comments(path, value):
    changed = change_sheet(parse_sheet(SPOT), {path: value})
    text = changed.text
    assert value_at(text, path) == value
    assert "# two takes" in text
    assert "# after the oars" in text
    gone = set(SPOT.splitlines()) - set(text.splitlines())
    assert len(gone) <= 1


def test_several_changes_are_checked_together():
    sheet = parse_sheet(SPOT)
    longer = change_sheet(sheet, {"sheet.length": 300, "cues[2].at": 275})
    assert (longer.length, longer.cues[2].at) == (300, 275)
    with pytest.raises(SheetError, match=r"cues\[2\].at"):
        change_sheet(sheet, {"cues[2].at": 275})
    assert sheet.length == 250


def test_none_takes_a_key_out():
    changed = change_sheet(parse_sheet(SPOT), {"overlays[0].transition_in": None})
    assert changed.overlays[0].enter.kind == "cut"
    assert "transition_in" not in changed.text


def test_pairs_may_be_tuples():
    changed = change_sheet(parse_sheet(SPOT), {"transitions.house.position": (40, 60)})
    assert changed.cues[1].transition.modifiers.position == (40, 60)


@pytest.mark.parametrize(
    "path", ["", "cues[9].at", "cues.x", "sheet.title.x", "cues[1].transition.soft[0]", "cues[7]"]
)
def test_paths_that_lead_nowhere_are_refused(path):
    with pytest.raises(SettingError, match="path must lead to a key"):
        change_sheet(parse_sheet(SPOT), {path: 1})


def test_unknown_keys_are_refused_as_when_read():
    with pytest.raises(SheetError, match="Did you mean 'title'"):
        change_sheet(parse_sheet(SPOT), {"sheet.titl": "x"})


def test_changes_of_a_worked_in_sheet_keep_the_variables_that_were_given():
    text = SPOT.replace("Row", "${name}").replace("[sheet]", '[variables]\nname = "x"\n[sheet]')
    sheet = work_in(parse_sheet(text, variables={"name": "Anna"}))
    changed = change_sheet(sheet, {"sheet.light": "linear"})
    assert changed.title == "Anna before breakfast"


@FEWER
@given(documents(), st.data())
def test_a_change_of_any_sheet_changes_nothing_else(data, draw):
    sheet = build_sheet(data)
    index = draw.draw(st.integers(0, len(sheet.cues) - 1))
    changed = change_sheet(sheet, {f"cues[{index}].note": "changed"})
    assert changed.cues[index].note == "changed"
    back = change_sheet(changed, {f"cues[{index}].note": sheet.cues[index].note})
    assert back == sheet


@pytest.mark.parametrize("text", [SPOT, *docs()], ids=range(len(docs()) + 1))
def test_a_flat_sheet_says_the_same_and_needs_no_other(text):
    sheet = parse_sheet(text, folder=BESIDE)
    flat = flatten_sheet(sheet)
    assert parse_sheet(flat, folder=BESIDE) == sheet
    assert "include" not in flat


def test_a_flat_sheet_keeps_variables_that_can_be_changed_and_texts_that_look_like_them():
    text = SPOT.replace("Row", "$${all} ${name}")
    text = text.replace("[sheet]", '[variables]\nname = "x"\n[sheet]')
    sheet = parse_sheet(text, variables={"name": "Anna"})
    flat = parse_sheet(flatten_sheet(sheet))
    assert flat == sheet
    assert flat.title.startswith("${all} Anna ")
    changed = change_sheet(flat, {"variables.name": "Bo"})
    assert changed.title == sheet.title.replace("Anna", "Bo")


@FEWER
@given(documents())
def test_any_sheet_is_the_same_when_flat(data):
    sheet = build_sheet(data)
    assert parse_sheet(flatten_sheet(sheet)) == sheet
