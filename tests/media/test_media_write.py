import os

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from hypothesis.extra import numpy as hnp
from PIL import Image
from support import planes

from keyer.errors import OutputError
from keyer.kinds.picture import RgbPicture
from keyer.media.decode_still import decode_still
from keyer.media.files import Files
from keyer.media.write import (
    atomic_path,
    write_bytes,
    write_grey,
    write_still,
)
from keyer.pixel.colour.load import from_array, to_array


@st.composite
def pixels(draw):
    """8- or 16-bit R'G'B' with or without alpha."""
    depth = draw(st.sampled_from([np.uint8, np.uint16]))
    shape = (draw(st.integers(1, 12)), draw(st.integers(1, 12)), draw(st.sampled_from([3, 4])))
    return draw(hnp.arrays(depth, shape))


@pytest.mark.parametrize("suffix", ["png", "tif", "TIFF", "webp"])
@given(array=pixels())
def test_a_picture_comes_back_as_it_was(tmp_path_factory, suffix, array):
    if suffix == "webp":
        array = (array >> 8).astype(np.uint8) if array.dtype == np.uint16 else array
    path = tmp_path_factory.mktemp("out") / f"a.{suffix}"
    write_still(path, from_array(array))
    found = decode_still(path)
    if suffix == "webp" and array.shape[2] == 4 and np.all(array[..., 3] == 255):
        array = array[..., :3] if found.shape[2] == 3 else array
    np.testing.assert_array_equal(found, array)


def test_a_still_of_no_kind_is_refused_before_it_is_rendered(tmp_path):
    assert Files().still(tmp_path / "a.TIF") == tmp_path / "a.TIF"
    with pytest.raises(OutputError, match=r"a\.doc must end in \.png"):
        Files().still(tmp_path / "a.doc")


def test_pillow_reads_what_is_written(tmp_path):
    """Channels stand in the right order for others too."""
    array = np.zeros((4, 4, 4), np.uint8)
    array[:] = (200, 100, 50, 25)
    for suffix in ("png", "tif", "webp"):
        write_still(tmp_path / f"a.{suffix}", from_array(array))
        with Image.open(tmp_path / f"a.{suffix}") as image:
            assert image.mode == "RGBA"
            assert image.getpixel((1, 1)) == (200, 100, 50, 25)


def test_jpeg_is_close_and_has_whole_chroma(tmp_path):
    stripes = np.zeros((32, 32, 3), np.uint8)
    stripes[:, ::2] = (220, 30, 30)
    stripes[:, 1::2] = (30, 30, 220)
    write_still(tmp_path / "a.jpg", from_array(stripes))
    np.testing.assert_allclose(decode_still(tmp_path / "a.jpg"), stripes, atol=16)


def test_float_pictures_become_16_bits_where_they_can(tmp_path):
    picture = RgbPicture(planes(2, 5, 6))
    for suffix, white in (("png", 65535), ("tif", 65535), ("webp", 255)):
        write_still(tmp_path / f"a.{suffix}", picture)
        found = decode_still(tmp_path / f"a.{suffix}")
        np.testing.assert_allclose(found / white, to_array(picture), atol=0.51 / white)


def test_a_matte_is_grey(tmp_path):
    matte = np.linspace(0, 1, 12, dtype=np.float32).reshape(3, 4)
    write_grey(tmp_path / "m.png", matte)
    with Image.open(tmp_path / "m.png") as image:
        assert image.mode == "I;16"
    found = decode_still(tmp_path / "m.png")
    assert found.dtype == np.uint16
    np.testing.assert_allclose(found / 65535, matte, atol=1e-5)
    write_grey(tmp_path / "m.tif", (matte * 255).astype(np.uint8))
    assert decode_still(tmp_path / "m.tif").dtype == np.uint8


def test_a_png_carries_notes_in_any_script(tmp_path):
    notes = {"Title": "Blende – кадр 7", "Sheet": "digest=ab12\nlight=video"}
    write_still(tmp_path / "a.png", from_array(np.zeros((3, 3, 3), np.uint8)), text=notes)
    with Image.open(tmp_path / "a.png") as image:
        image.load()
        assert image.text == notes
    assert decode_still(tmp_path / "a.png").shape == (3, 3, 3)


@pytest.mark.parametrize("key", ["", "x" * 80, "имя"])
def test_a_note_by_an_impossible_name_is_refused(tmp_path, key):
    """PNG 3rd edition, 11.3.3.2: 1 to 79 Latin-1 characters."""
    with pytest.raises(OutputError, match="1 to 79"):
        write_still(tmp_path / "a.png", from_array(np.zeros((3, 3), np.uint8)), text={key: "x"})
    assert not list(tmp_path.iterdir())


def test_the_same_picture_gives_the_same_bytes(tmp_path):
    picture = RgbPicture(planes(4, 40, 50))
    for suffix in ("png", "tif", "webp", "jpg"):
        write_still(tmp_path / f"a.{suffix}", picture)
        write_still(tmp_path / f"b.{suffix}", picture)
        assert (tmp_path / f"a.{suffix}").read_bytes() == (tmp_path / f"b.{suffix}").read_bytes()


@pytest.mark.parametrize("name", ["a.gif", "a", "a.bmp", "png"])
def test_an_unknown_suffix_is_refused(tmp_path, name):
    with pytest.raises(OutputError, match=r"must end in \.png"):
        write_still(tmp_path / name, from_array(np.zeros((3, 3), np.uint8)))
    assert not list(tmp_path.iterdir())


def test_jpeg_holds_no_alpha(tmp_path):
    with pytest.raises(OutputError, match="JPEG cannot hold alpha"):
        write_still(tmp_path / "a.jpg", from_array(np.zeros((3, 3, 4), np.uint8)))


def test_nothing_is_replaced_unless_asked(tmp_path):
    path = tmp_path / "a.json"
    write_bytes(path, b"first")
    with pytest.raises(OutputError, match="exists") as refusal:
        write_bytes(path, b"second")
    assert path.read_bytes() == b"first"
    assert refusal.value.exit_code == 2
    write_bytes(path, b"third", Files(force=True))
    assert path.read_bytes() == b"third"


def test_an_input_is_never_replaced(tmp_path):
    source = tmp_path / "in.png"
    source.write_bytes(b"source")
    (tmp_path / "link.png").symlink_to(source)
    (tmp_path / "twin.png").hardlink_to(source)
    for name in ("in.png", "link.png", "twin.png", "../" + tmp_path.name + "/in.png"):
        with pytest.raises(OutputError, match="is an input"):
            write_bytes(tmp_path / name, b"x", Files([source, tmp_path / "gone"], force=True))
    assert source.read_bytes() == b"source"


def test_a_missing_folder(tmp_path):
    with pytest.raises(OutputError, match=r"folder of .* does not exist"):
        write_bytes(tmp_path / "gone" / "a.json", b"x")


def test_a_folder_that_cannot_be_written(tmp_path, monkeypatch):
    """By the answer of the system, since tests may run as root."""
    monkeypatch.setattr(os, "access", lambda *_: False)
    with pytest.raises(OutputError, match="cannot be written"):
        Files().check(tmp_path / "a.json")


@pytest.mark.parametrize("target", ["/dev/null", "."])
def test_devices_and_folders_are_left_alone(target):
    with pytest.raises(OutputError, match="not a plain file"):
        write_bytes(target, b"x", Files(force=True))


def test_a_failure_leaves_nothing_behind(tmp_path):
    path = tmp_path / "a.bin"
    path.write_bytes(b"before")

    def fail():
        with atomic_path(path, Files(force=True)) as temporary:
            temporary.write_bytes(b"half")
            raise KeyboardInterrupt

    with pytest.raises(KeyboardInterrupt):
        fail()
    assert path.read_bytes() == b"before"
    assert [entry.name for entry in tmp_path.iterdir()] == ["a.bin"]


def test_the_file_stands_only_at_the_end(tmp_path):
    path = tmp_path / "a.bin"
    with atomic_path(path) as temporary:
        temporary.write_bytes(b"whole")
        assert not path.exists()
        assert temporary.parent == path.parent
        assert temporary.suffix == path.suffix
    assert path.read_bytes() == b"whole"


def test_a_file_that_appears_meanwhile_is_kept(tmp_path):
    path = tmp_path / "a.bin"

    def collide():
        with atomic_path(path) as temporary:
            temporary.write_bytes(b"ours")
            path.write_bytes(b"theirs")

    with pytest.raises(OutputError, match="exists"):
        collide()
    assert path.read_bytes() == b"theirs"
    assert len(list(tmp_path.iterdir())) == 1


def test_a_full_disk_is_one_line(tmp_path, monkeypatch):
    def full(*_):
        raise OSError(28, "No space left on device")

    monkeypatch.setattr("keyer.media.write._to_disk", full)
    with pytest.raises(OutputError, match=r"no space left on device\. Make room"):
        write_bytes(tmp_path / "a.bin", b"x")
    assert not list(tmp_path.iterdir())


def test_the_usual_permissions(tmp_path):
    """As any other new file has them: not those of a private temporary file."""
    write_bytes(tmp_path / "a.bin", b"x")
    (tmp_path / "b.bin").write_bytes(b"x")
    assert (tmp_path / "a.bin").stat().st_mode == (tmp_path / "b.bin").stat().st_mode


def test_a_long_name(tmp_path):
    write_bytes(tmp_path / ("x" * 240 + ".json"), b"x")
    assert len(list(tmp_path.iterdir())) == 1
