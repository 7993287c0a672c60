"""What is no plain file is refused at every door, in one line and without waiting."""

import os
import shutil
import socket
import sys

import pytest
from cli.whole_project import make_project

from keyer.cli.main import perform

pytestmark = pytest.mark.skipif(sys.platform == "win32", reason="special files are for Unix")

DOORS = {
    "sheet": ("sheet.toml", "still sheet.toml --at 1 -o o.png"),
    "include": ("house.toml", "still sheet.toml --at 1 -o o.png"),
    "design": ("designs/name.toml", "still sheet.toml --at 1 -o o.png"),
    "font": ("designs/own.ttf", "title designs/name.toml -o o.png"),
    "page": ("pages/0007.toml", "title 7 -o o.png"),
    "still": ("plate.png", "still sheet.toml --at 1 -o o.png"),
    "numbered still": ("shots/shot_0000.png", "still sheet.toml --at 0 -o o.png"),
    "clip": ("clip.mov", "still sheet.toml --at 1 -o o.png"),
    "sound": ("tone.wav", "clip sheet.toml -o o.mov"),
    "named pattern": ("patterns/grey/named.png", "patterns --patterns {project}/patterns"),
    "rows": ("rows.csv", "batch sheet.toml rows.csv -d out"),
    "table": ("rows.xlsx", "batch sheet.toml rows.xlsx -d out"),
    "foreground": ("plate.png", "key plate.png --over back.png -o o.png"),
    "background": ("back.png", "key plate.png --over back.png -o o.png"),
    "mask": ("mask.png", "key plate.png --over back.png --hold mask.png -o o.png"),
    "clean plate": ("clean.png", "key plate.png --over back.png --clean-plate clean.png -o o.png"),
    "mix": ("third.png", "mix back.png third.png -o o.png"),
    "matte": ("mask.png", "measure plate.png --matte mask.png"),
    "survey": ("plate.png", "survey plate.png"),
    "remake": ("made.png", "remake made.png -o o.png"),
    "check": ("sheet.toml", "check sheet.toml"),
    "cues": ("sheet.toml", "cues sheet.toml -o o.csv"),
}


def make_pipe(path):
    os.mkfifo(path)


def make_socket(path):
    """Its name may be no longer than 107 bytes, so it is made by a short one."""
    folder = os.open(path.parent, os.O_RDONLY)
    with socket.socket(socket.AF_UNIX) as made:
        made.bind(f"/proc/self/fd/{folder}/{path.name}")
    os.close(folder)


def make_device(path):
    path.symlink_to("/dev/zero")


def make_folder(path):
    path.mkdir()


def make_circle(path):
    path.symlink_to(path.name)


MAKERS = [make_pipe, make_device, make_folder, make_circle]
if sys.platform == "linux":
    MAKERS.append(make_socket)


@pytest.fixture(scope="module")
def whole(tmp_path_factory):
    folder = tmp_path_factory.mktemp("special")
    make_project(folder)
    return folder


@pytest.mark.timeout(60)
@pytest.mark.parametrize("make", MAKERS)
@pytest.mark.parametrize("door", DOORS)
def test_a_special_file_is_refused(door, make, whole, tmp_path, monkeypatch, capsys):
    name, command = DOORS[door]
    project = tmp_path / "project"
    shutil.copytree(whole, project)
    monkeypatch.chdir(project)
    (project / name).unlink(missing_ok=True)
    make(project / name)
    before = sorted(project.rglob("*"))
    capsys.readouterr()
    code = perform(command.format(project=project).split())
    said = [line for line in capsys.readouterr().err.splitlines() if "compiling" not in line]
    assert code in (2, 3), said
    assert "defect" not in "".join(said)
    assert any(name.rsplit("/", 1)[-1] in line for line in said), said
    assert sorted(project.rglob("*")) == before
