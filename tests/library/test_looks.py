"""The library's moving backgrounds, and a user's."""

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
    looks = load_looks(path, load_patterns())
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
    ],
)
def test_a_bad_file_is_refused_by_name_and_line(tmp_path, change, line, message):
    path = tmp_path / "own.toml"
    path.write_text(OWN.replace(*change))
    with pytest.raises(SheetError, match=message) as caught:
        load_looks(path, load_patterns())
    assert str(caught.value).startswith("own.toml")
    assert f"line {line}" in str(caught.value)
