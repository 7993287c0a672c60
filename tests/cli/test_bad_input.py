"""Every wrong request is one line with the cure, the right exit code, and no output."""

import struct
import zlib

import numpy as np
import pytest
from PIL import Image

from keyer.cli.main import perform

WRONG_REQUEST, BAD_FILE, CHECK_FAILED = 2, 3, 4


@pytest.fixture
def work(tmp_path, monkeypatch):
    """A folder with two good pictures and one file for every way to be broken."""
    monkeypatch.chdir(tmp_path)
    rng = np.random.default_rng(1)
    for name in ("a.png", "b.png"):
        Image.fromarray(rng.integers(0, 255, (36, 64, 3), dtype=np.uint8)).save(name)
    Image.fromarray(rng.integers(0, 255, (36, 64, 3), dtype=np.uint8)).save("good.jpg")
    good = (tmp_path / "a.png").read_bytes()
    (tmp_path / "truncated.png").write_bytes(good[: len(good) // 2])
    photo = (tmp_path / "good.jpg").read_bytes()
    (tmp_path / "truncated.jpg").write_bytes(photo[: len(photo) // 2])
    (tmp_path / "empty.png").write_bytes(b"")
    (tmp_path / "text.png").write_text("not a picture\n" * 20)
    (tmp_path / "broken.mp4").write_bytes(b"\0\0\0\x18ftypmp42\0\0\0\0mp42isom" + b"\0" * 500)
    (tmp_path / "huge.png").write_bytes(_header(100_000, 100_000))
    (tmp_path / "zero.png").write_bytes(_header(0, 0))
    Image.fromarray(np.full((1, 1, 3), 90, np.uint8)).save("one.png")
    (tmp_path / "folder").mkdir()
    before = sorted(p.name for p in tmp_path.iterdir())
    yield tmp_path
    assert sorted(p.name for p in tmp_path.iterdir()) == before, "something was left behind"


def _header(width, height):
    """A PNG file that claims a size (W3C PNG, 11.2.1) and holds no rows."""

    def chunk(kind, data):
        body = kind + data
        return struct.pack(">I", len(data)) + body + struct.pack(">I", zlib.crc32(body))

    size = struct.pack(">IIBBBBB", width, height, 8, 2, 0, 0, 0)
    rows = zlib.compress(b"\0" * 100)
    return b"\x89PNG\r\n\x1a\n" + chunk(b"IHDR", size) + chunk(b"IDAT", rows) + chunk(b"IEND", b"")


def refuse(capsys, arguments, code):
    """Run a command that must fail in one line, and return the line."""
    assert perform(arguments.split()) == code
    out, err = capsys.readouterr()
    assert out == ""
    lines = err.strip().splitlines()
    lines = [line for line in lines if "compiling the picture kernels" not in line]
    assert len(lines) == 1, err
    assert lines[0].startswith("keyer: ")
    assert "Traceback" not in err
    assert "defect" not in err
    return lines[0]


@pytest.mark.parametrize(
    "name",
    [
        "missing.png",
        "empty.png",
        "truncated.png",
        "truncated.jpg",
        "text.png",
        "broken.mp4",
        "huge.png",
        "zero.png",
        "folder",
    ],
)
@pytest.mark.parametrize(
    "command",
    [
        "mix {} b.png -o out.png",
        "mix a.png {} -o out.png",
        "key {} --over b.png -o out.png --matte-out matte.png",
        "key a.png --over {} -o out.png --matte-out matte.png",
        "wipe {} b.png -o out.png --pattern 1",
        "measure {}",
        "measure a.png --matte {}",
    ],
)
def test_bad_files(work, capsys, name, command):
    line = refuse(capsys, command.format(name), BAD_FILE)
    assert name.split(".")[0] in line


@pytest.mark.parametrize(
    ("command", "word"),
    [
        ("mix a.png b.png -o out.png --at nan", "at"),
        ("mix a.png b.png -o out.png --at inf", "at"),
        ("mix a.png b.png -o out.png --at 1.5", "at"),
        ("mix a.png b.png -o out.png --at x", "at"),
        ("mix a.png b.png -o out.png --kind sideways", "kind"),
        ("mix a.png b.png -o out.png --light dim", "light"),
        ("mix a.png b.png -o out.bmpx", "out.bmpx"),
        ("mix a.png b.png", "output"),
        ("wipe a.png b.png -o out.png --pattern clokWipe", "clockWipe"),
        ("wipe a.png b.png -o out.png --pattern 9999", "9999"),
        ("wipe a.png b.png -o out.png --pattern 1 --soft nan", "soft"),
        ("wipe a.png b.png -o out.png --pattern 1 --border -1", "border"),
        ("wipe a.png b.png -o out.png --pattern 1 --border-colour red", "border-colour"),
        ("wipe a.png b.png -o out.png --pattern 1 --position 50", "position"),
        ("wipe a.png b.png -o out.png --pattern 1 --position nan,50", "position"),
        ("key a.png --over b.png -o out.png --hue purple", "hue"),
        ("key a.png --over b.png -o out.png --hue nan", "hue"),
        ("key a.png --over b.png -o out.png --acceptance inf", "acceptance"),
        ("key a.png --over b.png -o out.png --clip 200", "clip"),
        ("key a.png --over b.png -o out.png --gain nan", "gain"),
        ("key a.png --over b.png -o out.png --spill -5", "spill"),
        ("mix a.png b.png -o nowhere/out.png", "nowhere"),
        ("mix a.png b.png -o a.png --force", "a.png"),
        ("mix a.png b.png -o good.jpg", "good.jpg"),
        ("sideways a.png", "sideways"),
    ],
)
def test_bad_requests(work, capsys, command, word):
    assert word in refuse(capsys, command, WRONG_REQUEST)


def test_a_picture_without_backing_is_said_to_have_none(work, capsys):
    line = refuse(capsys, "key one.png --over b.png -o out.png", CHECK_FAILED)
    assert "no backing" in line


def test_an_unwritable_folder(work, capsys, monkeypatch):
    monkeypatch.setattr("os.access", lambda *_, **__: False)
    refuse(capsys, "mix a.png b.png -o out.png", WRONG_REQUEST)


def test_a_defect_is_one_line_and_exit_1(work, capsys, monkeypatch):
    def fail(*_args, **_named):
        message = "broken\nin two lines"
        raise RuntimeError(message)

    monkeypatch.setattr("keyer.render.oneshot.mix_files", fail)
    assert perform(["mix", "a.png", "b.png", "-o", "out.png"]) == 1
    assert "defect: RuntimeError: broken in two lines" in capsys.readouterr().err


@pytest.mark.parametrize("at", ["10s", "-1", "nan", "99:00:00:00", "soon"])
def test_times_out_of_range(work, capsys, tmp_path_factory, at):
    sheet = tmp_path_factory.mktemp("sheet") / "sheet.toml"
    sheet.write_text(
        'version = 1\n[sheet]\nformat = "64x36@25"\nlength = "2s"\n'
        '[sources.bars]\nbars = 75\n[[cues]]\nsource = "bars"\n'
    )
    refuse(capsys, f"still {sheet} --at={at} -o out.png", WRONG_REQUEST)


def test_a_name_that_holds_the_end_of_a_line_is_told_in_one(work, capsys):
    assert perform(["measure", "no\nsuch.png"]) == BAD_FILE
    lines = capsys.readouterr().err.splitlines()
    assert len(lines) == 1
    assert lines[0].startswith("keyer: no such.png does not exist.")
