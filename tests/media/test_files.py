import pytest

from keyer.errors import OutputError
from keyer.kinds import stopping
from keyer.media.files import Files


@pytest.fixture
def folder(tmp_path):
    for name in ("in.png", "shot_0001.png", "shot_0002.png", "other.png"):
        (tmp_path / name).write_bytes(b"precious")
    return tmp_path


@pytest.mark.parametrize("force", [False, True])
def test_an_input_is_refused_under_each_of_its_names(folder, force):
    (folder / "link.png").symlink_to(folder / "in.png")
    (folder / "twin.png").hardlink_to(folder / "in.png")
    files = Files([folder / "in.png", folder / "gone.png"], force=force)
    for name in ("in.png", "link.png", "twin.png", f"../{folder.name}/in.png"):
        with pytest.raises(OutputError, match="is an input"):
            files.write(folder / name)


@pytest.mark.parametrize("sequence", ["shot_%04d.png", "shot_####.png", "."])
def test_a_sequence_is_no_output_and_gets_no_further_picture(folder, sequence):
    files = Files([folder / sequence], force=True)
    with pytest.raises(OutputError, match="is an input"):
        files.write(folder / "shot_0002.png")
    with pytest.raises(OutputError, match="picture of an input sequence"):
        files.write(folder / "shot_0003.png")
    files.write(folder / "new.png")


def test_an_input_that_is_known_later_is_refused_then(folder):
    files = Files(force=True)
    files.write(folder / "in.png")
    with pytest.raises(OutputError, match="is an input"):
        files.read(folder / "in.png")


@pytest.mark.parametrize("second", ["a.png", "./a.png", "A.PNG", "sub/../a.png"])
def test_two_outputs_under_one_name(folder, second):
    (folder / "sub").mkdir()
    files = Files(force=True)
    files.write(folder / "a.png")
    with pytest.raises(OutputError, match="two outputs in one file"):
        files.write(f"{folder}/{second}")
    files.write(folder / "sub" / "a.png")


def test_a_folder_that_is_made_for_outputs(folder):
    files = Files()
    new = files.folder(folder / "new")
    files.still(new / "a.png")
    assert not new.exists()
    files.make_folder(new)
    assert files.check(new / "a.png") == new / "a.png"
    files.make_folder(new / "inner" / "deep")
    stopping.take_back()  # as at the end of each command: what has stayed empty goes
    assert not new.exists()
    for name, why in (("in.png", "is not a folder"), ("gone/new", "does not exist")):
        with pytest.raises(OutputError, match=why):
            files.folder(folder / name)
