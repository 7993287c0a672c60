"""`keyer key` on clips: one picture of it, or all of them with alpha or over a background."""

import json

import numpy as np
import pytest
from media.made import write_clip
from PIL import Image

from keyer.cli.main import perform
from keyer.media.source import open_source
from keyer.pixel.colour.load import load, load_alpha

SIZE = (96, 64)
FRAMES = 8


def moving(number, _size=None):
    """A subject that moves to the right by eight columns a frame, before green."""
    picture = np.empty((SIZE[1], SIZE[0], 3), np.uint8)
    picture[:] = (30, 150, 40)
    picture[16:, 8 * number : 8 * number + 24] = (190, 130, 100)
    return picture


@pytest.fixture
def folder(tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    (tmp_path / "run").mkdir()
    for number in range(FRAMES):
        Image.fromarray(moving(number)).save(tmp_path / "run" / f"p{number:02d}.png")
    Image.fromarray(np.full((SIZE[1], SIZE[0], 3), 128, np.uint8)).save(tmp_path / "back.png")
    return tmp_path


def keyed(capsys, *options, code=0):
    assert perform(["key", "run/p%02d.png", *options, "--quality", "fast", "--json"]) == code
    said = capsys.readouterr()
    return json.loads(said.out) if code == 0 else said.err


def middles(mattes):
    """Where the solid part of each matte stands, its middle column."""
    return [float(np.mean(np.nonzero(matte[40] > 0.5)[0])) for matte in mattes]


EXPECTED = [8 * number + 11.5 for number in range(FRAMES)]


def test_one_picture_of_a_clip(folder, capsys):
    keyed(capsys, "--at", "3", "-o", "a.png")
    with Image.open("a.png") as image:
        assert middles([np.asarray(image)[..., 3] / 255]) == pytest.approx([EXPECTED[3]], abs=1)


def test_all_of_it_as_numbered_stills_with_alpha(folder, capsys):
    report = keyed(capsys, "-o", "out-%03d.png")
    assert (report["frames"], report["codec"]) == (FRAMES, None)
    assert report["verdicts"]
    mattes = []
    for number in range(FRAMES):
        with Image.open(f"out-{number:03d}.png") as image:
            mattes.append(np.asarray(image)[..., 3] / 255)
    assert middles(mattes) == pytest.approx(EXPECTED, abs=1)


@pytest.mark.parametrize(("name", "codec"), [("a.mov", "prores-4444"), ("a.mkv", "ffv1-alpha")])
def test_all_of_it_as_a_clip_with_alpha(folder, capsys, name, codec):
    assert keyed(capsys, "-o", name)["codec"] == codec
    made = open_source(folder / name)
    pictures = [made.read(number) for number in range(FRAMES)]
    assert middles([load_alpha(one) for one in pictures]) == pytest.approx(EXPECTED, abs=1.5)
    made.close()


def test_all_of_it_over_a_background(folder, capsys):
    report = keyed(capsys, "--over", "back.png", "-o", "a.mp4")
    assert (report["frames"], report["codec"]) == (FRAMES, "h264")
    made = open_source(folder / "a.mp4")
    rgb = load(made.read(2))
    assert rgb[:, 40, 80].mean() == pytest.approx(128 / 255, abs=0.03)  # the new ground
    assert rgb[0, 40, 28] > rgb[2, 40, 28] + 0.2  # the subject
    made.close()


def test_a_clip_keeps_its_rate(folder, capsys):
    from fractions import Fraction

    write_clip(folder / "c.mkv", codec="ffv1", layout="bgr0", frames=4, size=SIZE,
               rate=Fraction(50), draw=lambda number, *_: moving(number))  # fmt: skip
    assert perform(["key", "c.mkv", "-o", "d.mov", "--quality", "fast", "--json"]) == 0
    capsys.readouterr()
    made = open_source(folder / "d.mov")
    assert (made.props.rate, made.props.frames) == (50, 4)
    made.close()


@pytest.mark.parametrize(
    ("options", "words"),
    [
        (["--at", "8", "-o", "a.png"], 'The nearest is "7f" (00:00:00:07)'),
        (["-o", "a.mp4"], "must keep the alpha of a cut-out"),
        (["-o", "a.mov", "--show", "matte"], "need one picture of the clip"),
        (["-o", "out-%03d.jpg"], "alpha"),
    ],
)
def test_what_cannot_be_is_refused(folder, capsys, options, words):
    before = sorted(path.name for path in folder.iterdir())
    assert words in keyed(capsys, *options, code=2)
    assert sorted(path.name for path in folder.iterdir()) == before


def test_a_still_has_no_times(folder, capsys):
    assert perform(["key", "back.png", "-o", "a.png", "--at", "1s"]) == 2
    assert "is a still" in capsys.readouterr().err
