"""Each command is asked to write over each file that it reads, and writes over none.

Which files a command reads is not told by the program: Python says so itself (audit event
`open`, PEP 578). What libav opens, which Python does not see, and what a sheet names and
does not show is listed by hand.
"""

import shutil
from pathlib import Path

import pytest
from cli.whole_project import make_project

from keyer.cli.main import perform

ALL = {
    "sheet.toml", "house.toml", "plate.png", "shots/shot_0000.png", "shots/shot_0001.png",
    "numbered/0.png", "numbered/1.png", "clip.mov", "mask.png", "tone.wav",
    "designs/name.toml", "designs/own.ttf", "patterns/own.toml", "patterns/ramp.png",
    "patterns/grey/named.png", "pages/0007.toml", "house.png",
}  # fmt: skip
"""What the sheet names, whether a picture of it shows it or not."""

OWN = {"patterns/own.toml", "patterns/ramp.png", "patterns/grey/named.png"}
"""Patterns; they are read once and kept."""

COMMANDS = {
    "still": ("still sheet.toml --at 1 -o", ".png", ALL),
    "clip": ("clip sheet.toml -o", ".mov", ALL),
    "board": ("board sheet.toml -o", ".png", ALL),
    "variations": (
        "board sheet.toml --vary overlays[0].source=plate,clip -o",
        ".pdf",
        ALL,
    ),
    "report": ("report sheet.toml -o", ".html", ALL),
    "cues": ("cues sheet.toml -o", ".csv", ALL),
    "remake": ("remake made.png -o", ".png", ALL - {"house.png"}),
    "batch": ("batch sheet.toml rows.csv --jobs 1 -d", "", ALL),
    "contact": ("batch sheet.toml rows.csv --jobs 1 -d new --contact", ".png", ALL),
    "key": (
        "key plate.png --over back.png --clean-plate clean.png --hold mask.png -o",
        ".png",
        set(),
    ),
    "matte": ("key plate.png --over back.png -o new.png --matte-out", ".png", set()),
    "key board": ("key plate.png --over back.png -o new.png --board", ".pdf", set()),
    "mix": ("mix back.png third.png -o", ".png", set()),
    "wipe": (
        "wipe back.png third.png --border-source plate.png --patterns patterns --pattern own -o",
        ".png",
        OWN,
    ),
    "patterns": ("patterns --family move --patterns patterns --chart", ".png", OWN),
    "survey": ("survey plate.png -o", ".png", set()),
    "title": ("title designs/name.toml --over back.png -o", ".png", set()),
    "page": ("title 7 -o", ".png", set()),
    "pages as a table": ("pages export -o", ".csv", set()),
    "proof of pages": ("pages proof -o", ".pdf", set()),
}
"""Command up to its output, suffix of the output, inputs whether they are opened or not."""


@pytest.fixture(scope="module")
def whole(tmp_path_factory):
    folder = tmp_path_factory.mktemp("whole")
    make_project(folder)
    return folder


@pytest.fixture
def project(whole, tmp_path, monkeypatch):
    shutil.copytree(whole, tmp_path / "project")
    monkeypatch.chdir(tmp_path / "project")
    return tmp_path / "project"


@pytest.mark.parametrize("name", COMMANDS)
def test_no_command_writes_over_what_it_reads(name, project, opened, capsys):
    text, suffix, more = COMMANDS[name]
    arguments = text.split()
    if name == "remake":
        assert perform(["still", "sheet.toml", "--at", "1", "-o", "made.png"]) == 0
        opened.clear()
    before = {path: path.read_bytes() for path in project.rglob("*") if path.is_file()}
    opened.clear()
    assert perform([*arguments, str(project / f"first{suffix}")]) in (0, 4), capsys.readouterr().err
    inside = {path for path in before if any(_same(path, heard) for heard in opened)}
    inputs = inside | {project / extra for extra in more}
    assert inputs, "nothing was read"
    capsys.readouterr()
    for number, path in enumerate(sorted(inputs)):
        target = project / (f"twin{number}" if suffix == "" else f"twin{number}{suffix}")
        if suffix == "":  # a folder, in which the row's picture is called x.png
            target.mkdir()
        (target / "x.png" if suffix == "" else target).hardlink_to(path)
        assert perform([*arguments, str(target), "--force"]) == 2, f"{path} was written over"
        said = capsys.readouterr().err
        assert "is an input and is never written over" in said, path
    assert {path: path.read_bytes() for path in before} == before


def _same(path, heard):
    return Path(heard).is_file() and path.samefile(heard)


@pytest.mark.parametrize(
    "command",
    [
        "key plate.png --over back.png -o x.png --matte-out ./x.png",
        "key plate.png --over back.png -o x.png --board x.png",
        "key plate.png --over back.png -o x.png --matte-out y.png --board Y.png",
        "batch sheet.toml rows.csv -d out --contact out/x.png",
    ],
)
def test_two_outputs_under_one_name(command, project, capsys):
    before = set(project.rglob("*"))
    assert perform([*command.split(), "--force"]) == 2
    assert "two outputs in one file" in capsys.readouterr().err
    assert set(project.rglob("*")) == before
