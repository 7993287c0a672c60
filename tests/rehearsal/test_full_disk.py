"""The page on a disk that is full: a line is told, the file stays whole, and it goes on later."""

import contextlib
import shutil
import subprocess

import pytest

from keyer.errors import OutputError
from keyer.rehearsal.draft import Draft
from keyer.rehearsal.edits import Edit

SHEET = """version = 1
[sheet]
format = "64x36@25"
length = 50
[sources]
a = { colour = "#102030" }
[[cues]]
source = "a"
"""


@pytest.fixture
def disk(tmp_path):
    """A file system of 64 KiB in memory."""
    place = tmp_path / "disk"
    place.mkdir()
    mount = shutil.which("mount")
    made = mount and subprocess.run(
        [mount, "-t", "tmpfs", "-o", "size=64k", "tmpfs", place], capture_output=True, check=False
    )
    if not made or made.returncode:
        pytest.skip("a full disk needs a file system of its own, which takes root on Linux")
    yield place
    subprocess.run(["umount", "-l", place], check=True)


def fill(disk):
    with contextlib.suppress(OSError), (disk / "filler").open("wb", buffering=0) as out:
        while True:
            out.write(b"\0" * 4096)


def test_saving_on_a_full_disk_leaves_the_file_and_the_journal(disk):
    path = disk / "spot.toml"
    path.write_text(SHEET)
    draft = Draft(path)
    draft.edit([Edit("set", "cues[0].name", "First " * 700)])
    fill(disk)
    with pytest.raises(OutputError, match="space"):
        draft.save()
    assert path.read_text() == SHEET
    assert draft.changed
    assert {one.name for one in disk.iterdir()} == {"spot.toml", "filler", draft.journal.path.name}
    assert Draft(path).text == draft.text  # what a crash would leave
    (disk / "filler").unlink()
    draft.save()
    assert path.read_text() == draft.text


def test_a_change_on_a_full_disk_is_refused_and_can_be_made_later(disk):
    path = disk / "spot.toml"
    path.write_text(SHEET)
    draft = Draft(path)
    fill(disk)
    with pytest.raises(OutputError, match="space"):
        draft.edit([Edit("set", "cues[0].name", "First")])
    assert draft.text == SHEET
    (disk / "filler").unlink()
    draft.edit([Edit("set", "cues[0].name", "First")])
    assert draft.sheet.cues[0].name == "First"
