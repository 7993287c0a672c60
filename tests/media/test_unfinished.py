import os
import subprocess
import sys

import pytest

from keyer.kinds import stopping
from keyer.media import unfinished
from keyer.media.unfinished import sweep, unfinished_file, unfinished_folder
from keyer.media.write import write_bytes

fcntl = pytest.importorskip("fcntl", reason="locks of files are for Unix")

KILLED = """
import os, sys
from pathlib import Path
from keyer.media.unfinished import unfinished_file, unfinished_folder
with unfinished_file(Path(sys.argv[1]), ".png") as one, unfinished_folder(Path(sys.argv[1])) as two:
    one.write_bytes(b"half")
    (two / "inner").write_bytes(b"half")
    os._exit(9)
"""


def names(folder):
    return sorted(path.name for path in folder.iterdir())


def test_what_a_killed_program_left_is_removed_by_the_next_that_writes_there(tmp_path):
    subprocess.run([sys.executable, "-c", KILLED, str(tmp_path)], check=False, timeout=60)
    assert len(names(tmp_path)) == 2
    unfinished._swept.discard(tmp_path)
    write_bytes(tmp_path / "a.bin", b"x")
    assert names(tmp_path) == ["a.bin"]


def test_what_is_being_written_is_left_alone_and_so_are_names_of_others(tmp_path):
    for name in (".keyer-notes", ".keyer-0123.png", "keyer-0123456789ab.png"):
        (tmp_path / name).touch()
    with unfinished_file(tmp_path, ".png") as one, unfinished_folder(tmp_path) as two:
        assert sweep(tmp_path) == 0
        assert one.exists()
        assert two.is_dir()
    assert len(names(tmp_path)) == 3


def test_a_link_is_never_followed(tmp_path):
    (tmp_path / "there").mkdir()
    (tmp_path / "there" / "precious").touch()
    (tmp_path / ".keyer-0123456789ab").symlink_to(tmp_path / "there")
    assert sweep(tmp_path) == 0
    assert (tmp_path / "there" / "precious").exists()


def test_one_swept_away_while_it_is_made_is_made_again(tmp_path, monkeypatch):
    """The sweeper comes between the making and the lock."""
    lock, removed = unfinished._lock, []

    def swept_first(handle):
        if not removed:
            removed.append(next(tmp_path.iterdir()))
            removed[0].unlink()
        lock(handle)

    monkeypatch.setattr(unfinished, "_lock", swept_first)
    with unfinished_file(tmp_path, ".png") as path:
        assert path.exists()
    assert removed


@pytest.mark.parametrize("moment", ["open", "flock"])
def test_a_folder_swept_away_while_it_is_made_is_made_again(tmp_path, monkeypatch, moment):
    """Another process writes for the first time in the same folder, and sweeps it."""
    place = {"open": unfinished.os, "flock": fcntl}[moment]
    step, removed = getattr(place, moment), []

    def swept_first(what, *rest, **named):
        if not removed:
            removed.append(next(tmp_path.iterdir()))
            removed[0].rmdir()
        return step(what, *rest, **named)

    with monkeypatch.context() as patched:
        patched.setattr(place, moment, swept_first)
        with unfinished_folder(tmp_path) as path:
            assert path.is_dir()
            assert sweep(tmp_path) == 0
    assert removed
    assert not names(tmp_path)


def test_taking_back_removes_what_was_begun_and_empty_folders_alone(tmp_path):
    for name in ("full", "empty", ".keyer-0123456789ab"):
        (tmp_path / name).mkdir()
        stopping.begin(tmp_path / name)
    (tmp_path / "full" / "a").touch()
    (tmp_path / ".keyer-0123456789ab" / "a").touch()
    (tmp_path / "ended").touch()
    stopping.begin(tmp_path / "ended")
    stopping.end(tmp_path / "ended")
    stopping.begin(tmp_path / "gone")
    stopping.take_back()
    assert names(tmp_path) == ["ended", "full"]


def test_a_long_name_of_letters_that_take_three_bytes(tmp_path):
    """File systems count bytes: 255 of them."""
    name = "\u6f22" * 83 + ".json"
    assert len(os.fsencode(name)) == 254
    write_bytes(tmp_path / name, b"x")
    assert names(tmp_path) == [name]
