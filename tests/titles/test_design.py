"""Title designs read from TOML: every fault with its path and line."""

import pytest
from support import DEMO

from keyer.errors import InputFileError, SettingError, SheetError
from keyer.titles.design import rgb
from keyer.titles.read import load_design, parse_design

SOUND = """
name = "Trial"
[fields.name]
example = "Ines"
[fields.tint]
kind = "colour"
default = "#FF8000"
[styles.big]
size = 6
colour = "${tint}"
[[boxes]]
id = "a"
place = "top left"
[[boxes.texts]]
text = "${name}"
style = "big"
"""
DESIGNS = sorted(DEMO.rglob("designs/*.toml"))


def faults_of(text):
    with pytest.raises(SheetError) as caught:
        parse_design(text, "trial.toml")
    return [(fault.path, fault.line, fault.message) for fault in caught.value.faults]


def test_sound_design():
    file = parse_design(SOUND)
    assert file.design.values({"name": "x"}) == {"name": "x", "tint": "#FF8000"}
    assert file.design.examples() == {"name": "Ines", "tint": "#FF8000"}
    assert rgb("${tint}", {"tint": "#FFFFFF"}) == (1, 1, 1)
    assert len(file.digest) == 64


# line numbers by hand, counted in SOUND
@pytest.mark.parametrize(
    ("old", "new", "path", "line", "says"),
    [
        ('name = "Trial"', 'nam = "Trial"', "nam", 2, "Did you mean 'name'?"),
        ("size = 6", "size = -6", "styles.big.size", 9, "must be at least 0.5, got -6"),
        ("size = 6", "size = inf", "styles.big.size", 9, "must be a finite number"),
        ("size = 6", "sizes = 6", "styles.big.sizes", 9, "Did you mean 'size'?"),
        ('"${tint}"', '"${tnt}"', "styles.big.colour", 10, "Is it 'tint'?"),
        ('"${tint}"', '"${name}"', "styles.big.colour", 10, 'kind = "colour"'),
        ('"${tint}"', '"orange"', "styles.big.colour", 10, "#RRGGBB"),
        ('"top left"', '"topleft"', "boxes[0].place", 13, "Did you mean 'top left'?"),
        (
            'place = "top left"',
            'above = "b"',
            "boxes[0].above",
            13,
            "box 'b' is not in this design",
        ),
        ('place = "top left"', 'above = "a"', "boxes[0]", 11, "depend on itself"),
        ('place = "top left"', "", "boxes[0]", 11, "one of place, above, below"),
        ('"${name}"', '"${nme}"', "boxes[0].texts[0].text", 15, "Is it 'name'?"),
        ('"${name}"', '"<big>${name}"', "boxes[0].texts[0].text", 15, "without </big>"),
        ('"${name}"', '"<bg>${name}</bg>"', "boxes[0].texts[0].text", 15, "Is it 'big'?"),
        ('style = "big"', 'style = "bg"', "boxes[0].texts[0].style", 16, "Is it 'big'?"),
        (
            'style = "big"',
            'style = "big"\nfit = "shrink"',
            "boxes[0].texts[0]",
            14,
            "smallest must",
        ),
        ('id = "a"', 'id = "a"\nwidth = "b"', "boxes[0].width", 13, "box 'b' is not"),
        ("size = 6", 'language = "turkish"', "styles.big.language", 9, "Is it 'tr'?"),
        ('id = "a"', 'id = "a"\nwidth = -1', "boxes[0].width", 13, "0 to 400 percent"),
    ],
)
def test_faults_by_path_and_line(old, new, path, line, says):
    assert old in SOUND
    found = faults_of(SOUND.replace(old, new, 1))
    assert any((p, n) == (path, line) and says in message for p, n, message in found), found


def test_every_fault_at_once():
    text = SOUND.replace("size = 6", "size = -6").replace("top left", "topleft")
    assert len(faults_of(text)) == 2


def test_crawl_in_parts_of_a_pixel_wants_to_be_meant():
    crawl = SOUND + '[move]\nkind = "crawl"\npixels = 2.5\n'
    assert "whole number so that letters do not shimmer" in faults_of(crawl)[0][2]
    assert parse_design(crawl + "whole = false\n").design.move.pixels == 2.5


def test_values_are_checked():
    design = parse_design(SOUND).design
    with pytest.raises(SettingError, match=r"field 'nme' is not in this design. Is it 'name'\?"):
        design.values({"nme": "x"})
    with pytest.raises(SettingError, match="field name must have a value"):
        design.values({})
    with pytest.raises(SettingError, match="tint must be written as #RRGGBB"):
        rgb("${tint}", {"tint": "orange"})


def test_missing_file(tmp_path):
    with pytest.raises(InputFileError, match="cannot be read as a title design"):
        load_design(tmp_path / "none.toml")


@pytest.mark.parametrize("path", DESIGNS, ids=lambda path: path.name)
def test_shipped_designs_hold(path):
    file = parse_design(path.read_text(encoding="utf-8"), path.name)
    assert file.design.about


def test_shipped_designs_are_all_here():
    assert [path.name for path in DESIGNS] == [
        "jetty.toml", "luggage-label.toml", "notice.toml", "quay.toml", "results.toml",
        "thanks.toml", "waterline.toml", "price-tag.toml",
    ]  # fmt: skip
