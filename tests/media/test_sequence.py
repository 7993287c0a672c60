import numpy as np
import pytest
from PIL import Image

from keyer.errors import InputFileError, TimeError
from keyer.media.sequence import is_pattern, sequence_files
from keyer.media.source import open_source


def write(folder, names, size=(6, 4)):
    for value, name in enumerate(names):
        Image.new("RGB", size, (value, 0, 0)).save(folder / name)


@pytest.mark.parametrize("pattern", ["shot_%04d.png", "shot_####.png", "shot_%d.png", "shot_#.png"])
def test_a_pattern_is_read_in_order_of_number(tmp_path, pattern):
    names = [f"shot_{number:04d}.png" for number in (9, 10, 11, 12)]
    write(tmp_path, names)
    write(tmp_path, ["other_0001.png", "shot_final.png", "shot_0010.jpg"])
    with_pattern = open_source(tmp_path / pattern)
    assert with_pattern.props.frames == 4
    assert with_pattern.props.rate is None
    reds = [int(with_pattern.read(index).planes[0, 0, 0]) for index in range(4)]
    assert reds == [0, 1, 2, 3]
    assert int(with_pattern.read(1).planes[0, 0, 0]) == 1
    with_pattern.close()


def test_a_folder_is_a_sequence(tmp_path):
    write(tmp_path, ["a1.png", "a2.png", "a3.png"])
    (tmp_path / "notes.txt").write_text("2 of 3")
    source = open_source(tmp_path)
    assert source.props.frames == 3
    assert "sequence of 3 stills, 6 x 4" in source.props.description


def test_a_name_with_a_number_sign_may_be_a_file(tmp_path):
    write(tmp_path, ["take#2.png"])
    assert open_source(tmp_path / "take#2.png").props.frames is None


@pytest.mark.parametrize(
    ("name", "expected"),
    [("a_%04d.png", True), ("a_###.png", True), ("a.png", False), ("a_#_#.png", False)],
)
def test_what_is_a_pattern(tmp_path, name, expected):
    assert is_pattern(tmp_path / name) is expected


def test_frames_outside_are_refused(tmp_path):
    write(tmp_path, ["s1.png", "s2.png"])
    source = open_source(tmp_path / "s#.png")
    for index in (-1, 2):
        with pytest.raises(TimeError, match="frame must be 0 to 1"):
            source.read(index)


def test_a_gap_is_named(tmp_path):
    write(tmp_path, ["s1.png", "s2.png", "s4.png"])
    with pytest.raises(InputFileError, match="number 3 is missing"):
        sequence_files(tmp_path / "s#.png")


def test_nothing_to_find(tmp_path):
    with pytest.raises(InputFileError, match="no numbered still"):
        open_source(tmp_path)
    with pytest.raises(InputFileError, match="no numbered still"):
        open_source(tmp_path / "s_%04d.png")
    with pytest.raises(InputFileError, match="does not exist"):
        open_source(tmp_path / "gone" / "s_%04d.png")


def test_two_sequences_in_a_folder(tmp_path):
    write(tmp_path, ["a1.png", "b1.png"])
    with pytest.raises(InputFileError, match="several sequences"):
        open_source(tmp_path)


def test_a_change_of_size_names_the_file(tmp_path):
    write(tmp_path, ["s1.png"])
    Image.new("RGB", (5, 4)).save(tmp_path / "s2.png")
    source = open_source(tmp_path)
    with pytest.raises(InputFileError, match=r"s2\.png is 5 x 4 in a sequence of 6 x 4"):
        source.read(1)


def test_a_broken_member_names_the_file(tmp_path):
    write(tmp_path, ["s1.png"])
    (tmp_path / "s2.png").write_bytes(b"")
    with pytest.raises(InputFileError, match=r"s2\.png is empty"):
        open_source(tmp_path).read(1)


def test_alpha_is_told_from_the_first(tmp_path):
    Image.new("RGBA", (3, 3), (1, 2, 3, 4)).save(tmp_path / "s1.png")
    source = open_source(tmp_path)
    assert source.props.has_alpha
    assert np.all(source.read(0).alpha == 4)
