"""Fonts that are none, or are damaged: a title is drawn or refused in one line."""

import random
import struct
from pathlib import Path

import pytest
from titles.drawing import draw_title
from titles.system_fonts import square_font, system_with

from keyer.errors import InputFileError, KeyerError, SettingError
from keyer.titles.coverage import assign_faces
from keyer.titles.fonts import faces_in, shipped_faces
from keyer.titles.ink import Canvas
from keyer.titles.read import parse_design

DESIGN = """
name = "Trial"
[fields.name]
[styles.s]
font = "own.otf"
size = 9
[[boxes]]
id = "a"
place = "top left"
[[boxes.texts]]
text = "${name}"
style = "s"
"""
GEORGIAN = "\u10d0"


def tables(data):
    """Tag, offset and length of each table (OpenType specification, Table Directory)."""
    (count,) = struct.unpack(">H", data[4:6])
    for i in range(count):
        tag, _, offset, length = struct.unpack(">4sLLL", data[12 + 16 * i : 28 + 16 * i])
        yield tag, offset, length


def damaged(data, chance):
    """A font cut, with bytes changed anywhere, in its directory or in one table."""
    changed = bytearray(data)
    way = chance.randrange(4)
    if way == 0:
        return bytes(changed[: chance.randrange(len(data))])
    _, offset, length = chance.choice(list(tables(data)))
    start, room = [(0, len(data)), (0, 300), (offset, min(length, 64))][way - 1]
    for _ in range(chance.randrange(1, 60)):
        changed[start + chance.randrange(room)] = chance.randrange(256)
    return bytes(changed)


def drawn(folder):
    design = parse_design(DESIGN, folder=folder).design
    return draw_title(design, {"name": "Ines Åge Ấ"}, Canvas(320, 180), folder=folder)


def test_every_damaged_font_is_drawn_or_refused(tmp_path):
    good = Path(shipped_faces()[0].path).read_bytes()
    refused = 0
    for seed in range(60):
        folder = tmp_path / str(seed)
        folder.mkdir()
        (folder / "own.otf").write_bytes(damaged(good, random.Random(seed)))  # noqa: S311 - damage, no secrets
        try:
            drawn(folder)
        except KeyerError as error:
            refused += "\n" not in str(error)
    assert refused >= 15


@pytest.mark.parametrize(
    "tag",
    [b"cmap", b"hmtx", b"hhea", b"head", b"maxp", b"CFF ", b"name", b"OS/2", b"GPOS", b"post"],
)
def test_font_with_a_table_of_rubbish(tmp_path, tag):
    data = bytearray(Path(shipped_faces()[0].path).read_bytes())
    _, offset, length = next(table for table in tables(data) if table[0] == tag)
    data[offset : offset + length] = b"\xa5" * length
    (tmp_path / "own.otf").write_bytes(data)
    try:
        drawn(tmp_path)
    except InputFileError as error:
        said = str(error)
    else:
        said = "drawn"
    assert said == "drawn" or "own.otf cannot be read as an OpenType or TrueType file" in said


@pytest.mark.parametrize("data", [b"", b"OTTO", b"wOF2" + bytes(99), b"\x89PNG\r\n", bytes(9000)])
def test_files_that_are_no_fonts(tmp_path, data):
    (tmp_path / "own.otf").write_bytes(data)
    with pytest.raises(InputFileError, match="cannot be read as an OpenType"):
        faces_in(tmp_path / "own.otf")


def test_broken_font_of_the_system_is_passed_over(tmp_path, monkeypatch):
    """Its list of characters is found to be broken only when somebody looks for one."""
    square_font(tmp_path / "a.ttf", "Good", GEORGIAN)
    square_font(tmp_path / "b.ttf", "Bad", "\u10d1")
    data = bytearray((tmp_path / "b.ttf").read_bytes())
    _, offset, length = next(table for table in tables(data) if table[0] == b"cmap")
    data[offset + 4 : offset + length] = b"\xff" * (length - 4)
    (tmp_path / "b.ttf").write_bytes(data)
    main = shipped_faces()[0]
    with system_with(tmp_path, monkeypatch):
        assert assign_faces(GEORGIAN, [main])[0][1].family == "Good"
        with pytest.raises(SettingError, match="must be in a font that is here"):
            assign_faces("\u10d1", [main])
