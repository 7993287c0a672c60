import pytest
from report.made_spot import write_spot

from keyer.errors import InputFileError
from keyer.render.recipe import file_print, recipe_of, source_files
from keyer.sheet.load import load_sheet, parse_sheet

MEBI = 1 << 20


def test_a_file_is_told_by_its_content_and_not_by_its_name(tmp_path):
    for name, data in (("a", b"one"), ("b", b"one"), ("c", b"two")):
        (tmp_path / name).write_bytes(data)
    a, b, c = (file_print(tmp_path / name) for name in "abc")
    assert a == b != c


def test_large_files_are_told_by_three_parts(tmp_path):
    """Of 20 MiB the first, middle and last 4 are read; a change in between is not seen."""
    data = bytearray(20 * MEBI)
    file = tmp_path / "clip"
    prints = []
    for change in (None, 0, 10 * MEBI, 20 * MEBI - 1, 14 * MEBI):
        changed = bytearray(data)
        if change is not None:
            changed[change] = 1
        file.unlink(missing_ok=True)
        file.write_bytes(changed)
        prints.append(file_print(file))
    assert len(set(prints[:4])) == 4
    assert prints[4] == prints[0]


def test_a_sequence_is_told_by_its_files(tmp_path):
    for number in (1, 2, 3):
        (tmp_path / f"shot_{number:04d}.png").write_bytes(b"x" * number)
    before = file_print(tmp_path / "shot_%04d.png")
    assert before == file_print(tmp_path / "shot_####.png")
    (tmp_path / "shot_0002.png").write_bytes(b"longer")
    assert file_print(tmp_path / "shot_%04d.png") != before


def test_a_file_that_is_gone_is_one_line(tmp_path):
    with pytest.raises(InputFileError, match="cannot be read"):
        file_print(tmp_path / "gone.png")


def test_the_files_are_those_that_are_shown(tmp_path):
    spot = write_spot(tmp_path / "spot")
    text = spot.read_text("utf-8") + '\n[sources.unused]\nfile = "media/none.png"\n'
    spot.write_text(text, "utf-8")
    names = ["media/lake.png", "media/jetty.png", "media/rower.png"]
    assert list(source_files(load_sheet(spot))) == names


def test_the_files_of_a_title_are_its_design_and_its_fonts(tmp_path):
    (tmp_path / "third.toml").write_text(
        'name = "T"\n[styles.big]\nsize = 9\n[[boxes]]\nid = "w"\nplace = "bottom"\n'
        '[[boxes.texts]]\ntext = "Hello"\nstyle = "big"\n'
    )
    sheet = parse_sheet(
        'version = 1\n[sheet]\nformat = "64x36@25"\nlength = 5\n'
        '[sources.t]\ntitle = { design = "third.toml" }\n[[cues]]\nsource = "t"\n',
        folder=tmp_path,
    )
    assert list(source_files(sheet)) == ["third.toml"]


def test_the_recipe_reads_as_the_same_sheet(tmp_path):
    sheet = load_sheet(write_spot(tmp_path / "spot"))
    recipe = recipe_of(sheet, 35)
    assert parse_sheet(recipe.sheet, folder=sheet.folder).digest == recipe.digest == sheet.digest
