"""Title designs to choose from: beside the sheet, and the demo's, copied when one is taken."""

import pytest

from keyer.errors import SettingError
from keyer.rehearsal.designs import offers, take_design, with_title
from keyer.render.still import render_still
from keyer.sheet.load import parse_sheet

SHEET = """version = 1
[sheet]
format = "160x90@25"
length = 100
[sources]
a = { colour = "#102030" }
[[cues]]
source = "a"
"""


def test_one_of_ours_is_copied_once_and_then_stands_beside_the_sheet(tmp_path):
    name = next(one.name for one in offers(tmp_path))
    taken = take_design(tmp_path, name)
    assert (tmp_path / taken["path"]).is_file()
    assert taken["fields"]
    again = [one for one in offers(tmp_path) if one.name == taken["path"]]
    assert [one.ours for one in again] == [False]
    (tmp_path / taken["path"]).write_text(again[0].design.text + "# mine\n")
    assert take_design(tmp_path, taken["path"])["path"] == taken["path"]
    assert (tmp_path / taken["path"]).read_text().endswith("# mine\n")


@pytest.mark.parametrize("name", ["", "gone.toml", "../spot.toml", "/etc/passwd"])
def test_no_other_file_is_taken(tmp_path, name):
    (tmp_path / "designs").mkdir()
    with pytest.raises(SettingError):
        take_design(tmp_path / "designs", name)
    assert not list((tmp_path / "designs").iterdir())


def test_a_design_is_shown_over_the_sheet(tmp_path):
    path = tmp_path / "spot.toml"
    sheet = parse_sheet(SHEET, path.name, folder=tmp_path)
    offer = next(one for one in offers(tmp_path) if one.name == "jetty.toml")
    titled = render_still(with_title(SHEET, path, sheet, offer, 60), 60)
    changed = (titled != render_still(sheet, 60)).any(axis=(1, 2))
    assert changed[45:].any()  # a lower third
    assert not changed[:45].any()


def test_its_pictures_come_along(tmp_path):
    taken = take_design(tmp_path, "quay.toml")
    assert (tmp_path / "designs" / "quillmere.png").is_file()
    sheet = parse_sheet(
        SHEET.replace("length = 100", "length = 60")
        + f'[sources.guest.title]\ndesign = "{taken["path"]}"\n'
        + 'fields = { name = "Wren", role = "Ferry" }\n[[overlays]]\nsource = "guest"\n',
        folder=tmp_path,
    )
    assert render_still(sheet, 50).shape == (90, 160, 3)
