"""The library's moving backgrounds, and a user's."""

from pathlib import Path

import pytest

from keyer.errors import SettingError, SheetError
from keyer.library import load_patterns
from keyer.library.looks import find_look, load_looks

OWN = """
[[background]]
name = "two-greens"
summary = "Two greens"
pattern = 101
colours = ["#103020", "#206040"]
waves = [{ kind = "sine", wavelength = 40 }]
modifiers = { position = [20, 80] }
"""


def test_there_are_ten_and_each_names_a_pattern_that_wipes():
    looks = load_looks()
    assert len(looks) == 10
    for look in looks.values():
        assert load_patterns().find(look.pattern).effect == "wipe"
        assert find_look(look.name.upper()) is look


def test_an_unknown_one_is_refused_with_the_nearest():
    with pytest.raises(SettingError, match=r"one of dawn-haze, .*Did you mean 'copper-silk'\?"):
        find_look("coper-silk")


def test_a_users_file_adds_to_them(tmp_path):
    path = tmp_path / "own.toml"
    path.write_text(OWN)
    looks = load_looks([tmp_path])
    assert len(looks) == 11
    look = find_look("two-greens", looks)
    assert look.pattern == "101"
    assert look.waves[0].wavelength == 40
    assert look.modifiers.position == (20, 80)
    assert len(load_looks()) == 10


@pytest.mark.parametrize(
    ("change", "line", "message"),
    [
        (('"#103020", ', ""), 6, "colours must be 2 to 8"),
        (("#103020", "#10302"), 6, "colours must be written as #RRGGBB"),
        (("pattern = 101", 'pattern = "barWip"'), 5, "Did you mean barWipe"),
        (("pattern = 101", 'pattern = "pushWipe"'), 5, "must be a pattern that wipes"),
        (("wavelength = 40", "wavelength = 0"), 2, "wave wavelength must be in"),
        (("wavelength", "wavelenght"), 7, "unknown key.*Did you mean 'wavelength'"),
        (("[20, 80]", "[20]"), 8, "must be a list of 2, got a list of 1"),
        (('summary = "Two greens"\n', ""), 2, "is missing"),
        (("two-greens", "Copper-Silk"), 3, "Copper-Silk exists already"),
    ],
)
def test_a_bad_file_is_refused_by_name_and_line(tmp_path, change, line, message):
    path = tmp_path / "own.toml"
    path.write_text(OWN.replace(*change))
    with pytest.raises(SheetError, match=message) as caught:
        load_looks([tmp_path])
    assert str(caught.value).startswith("own.toml")
    assert f"line {line}" in str(caught.value)


def test_a_folder_may_hold_patterns_and_backgrounds_that_use_them(tmp_path):
    pattern = (
        '[[pattern]]\ntype = "ours"\nsubtype = "hex"\nsummary = "A hexagon"\n'
        'function = "polygon"\nparams = { corners = 6, first_deg = 30 }\n'
    )
    (tmp_path / "z.toml").write_text(pattern)
    (tmp_path / "own.toml").write_text(OWN.replace("101", '"ours/hex"'))
    look = load_looks([tmp_path])["two-greens"]
    assert look.files == (str(tmp_path / "own.toml"), str(tmp_path / "z.toml"))
    assert load_patterns([tmp_path]).find("ours/hex").files == (str(tmp_path / "z.toml"),)
    assert load_looks()["dawn-haze"].files == ()
    assert load_patterns([tmp_path]) is load_patterns([tmp_path])


def test_a_changed_file_is_read_anew(tmp_path):
    (tmp_path / "own.toml").write_text(OWN)
    before = load_looks([tmp_path])["two-greens"]
    (tmp_path / "own.toml").write_text(OWN.replace("[20, 80]", "[20, 800]"))
    with pytest.raises(SheetError, match="position must be in"):
        load_looks([tmp_path])
    (tmp_path / "own.toml").write_text(OWN.replace("[20, 80]", "[20, 110]"))
    assert load_looks([tmp_path])["two-greens"].modifiers.position == (20, 110)
    assert before.modifiers.position == (20, 80)


def test_a_file_of_nothing_is_refused(tmp_path):
    (tmp_path / "own.toml").write_text("# to be written\n")
    for load in (load_looks, load_patterns):
        with pytest.raises(SheetError, match=r"own\.toml.*\n.*must hold \[\[pattern\]\] or"):
            load([tmp_path])


def test_the_pages_examples_hold(tmp_path):
    page = (Path(__file__).parents[2] / "docs" / "patterns.md").read_text(encoding="utf-8")
    blocks = [part.partition("```")[0] for part in page.split("```toml\n")[1:]]
    for number, block in enumerate(blocks):
        if block.startswith("[["):
            (tmp_path / f"block{number}.toml").write_text(block)
    assert len(list(tmp_path.iterdir())) == 2
    assert load_patterns([tmp_path]).find("ours/eightPoint").function == "star"
    assert load_looks([tmp_path])["two-greens"].runs == 6
