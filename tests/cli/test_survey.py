"""`keyer survey`: what is told of plates, photographs and clips, and what is refused."""

import json
from fractions import Fraction

import numpy as np
import pytest
from PIL import Image
from plates import making
from plates.portrait import LIME, eyes, portrait, product, scarf
from plates.proof import BLUE, GREEN
from pypdf import PdfReader
from signals.curves import relit

from keyer.cli.main import perform
from keyer.media.clip_write import ClipWriter
from keyer.pixel.colour.load import from_array, load
from keyer.pixel.compose.generate import bars, colour

REQUEST, FILE, CHECK = 2, 3, 4


def write(path, planes):
    pixels = np.clip(255 * planes.transpose(1, 2, 0) + 0.5, 0, 255).astype(np.uint8)
    Image.fromarray(pixels).save(path)
    return str(path)


def told(capsys):
    out = capsys.readouterr().out
    return json.loads(out)


@pytest.mark.parametrize("paint", [eyes, scarf, product])
def test_a_clash_is_told_with_its_share_of_the_subject(paint, tmp_path, capsys):
    plate, matte, marks = portrait(paint=paint)
    name = write(tmp_path / "plate.png", plate)
    assert perform(["survey", name, "--json"]) == 0
    found = told(capsys)
    true = 100 * marks.sum() / (matte > 0.5).sum()
    assert found["subject"]["clash_percent"] == pytest.approx(true, rel=0.12)
    assert found["subject"]["best"] == "blue"
    verdict = next(v for v in found["verdicts"] if v["measure"] == "subject.clash")
    assert verdict["verdict"] in {"watch", "fails"}
    assert "frames" not in found
    assert perform(["survey", name]) == 0
    said = " ".join(capsys.readouterr().out.split())
    assert f"{found['subject']['clash_percent']:.1f} % of the subject" in said
    assert "Hang a blue backing." in said


def test_numbers_of_a_backing(tmp_path, capsys):
    slope = relit(making.flat(GREEN, 180, 320), np.linspace(-0.4, 0.4, 320))
    name = write(tmp_path / "slope.png", slope.astype(np.float32))
    assert perform(["survey", name, "--json"]) == 0
    found = told(capsys)
    assert found["backing"]["evenness_stops"] == pytest.approx(0.8, abs=0.03)
    assert found["shadows"]["share_percent"] == 0
    assert found["subject"]["share_percent"] == 0
    assert "No subject is in the picture." in found["subject"]["reasons"]
    assert [v["verdict"] for v in found["verdicts"]] == ["watch", *["holds"] * 4]


NOTHING = {
    "grey card": load(colour(320, 180, (0.5, 0.5, 0.5))),
    "black frame": load(colour(320, 180, (0.0, 0.0, 0.0))),
    "bars": load(bars(320, 180, 75)),
}


@pytest.mark.parametrize("name", NOTHING)
def test_a_picture_without_a_backing_is_said_to_have_none(name, tmp_path, capsys):
    path = write(tmp_path / "none.png", NOTHING[name])
    board = tmp_path / "board.png"
    assert perform(["survey", path, "-o", str(board)]) == CHECK
    error = capsys.readouterr().err.splitlines()[-1]
    assert "no backing" in error
    assert "Shoot before" in error
    assert "--subject" in error
    assert not board.exists()


@pytest.mark.parametrize(
    ("paint", "best"), [((LIME,), "blue"), ((BLUE,), "green"), ((GREEN, BLUE), "magenta")]
)
def test_before_the_shoot_it_says_which_backing_to_hang(paint, best, tmp_path, capsys):
    picture = making.flat((0.95, 0.95, 0.95), 200, 300)
    for number, part in enumerate(paint):
        left = 90 + 60 * number
        picture[:, 60:150, left : left + 60] = np.array(part, np.float32)[:, None, None]
    board = tmp_path / "board.png"
    name = write(tmp_path / "product.png", picture)
    assert perform(["survey", name, "--subject", "-o", str(board), "--json"]) == 0
    found = told(capsys)
    assert found["subject"]["best"] == best
    assert found["verdicts"][0]["verdict"] == "holds"
    assert found["output"] == str(board)
    with Image.open(board) as drawn:
        assert drawn.size == (3307, 2339)  # A3 at 200 dpi


def test_a_plate_surveyed_as_a_subject_is_told_to_have_a_backing(tmp_path, capsys):
    name = write(tmp_path / "plate.png", portrait()[0])
    assert perform(["survey", name, "--subject"]) == 0
    assert "green backing" in capsys.readouterr().err


def test_boards_of_a_plate(tmp_path, capsys):
    name = write(tmp_path / "plate.png", portrait(paint=scarf)[0])
    assert perform(["survey", name, "-o", str(tmp_path / "board.pdf")]) == 0
    (page,) = PdfReader(tmp_path / "board.pdf").pages
    text = page.extract_text()
    for said in ("plate.png", "Hue", "Evenness", "FAILS", "Hang a blue backing.", "Waveform"):
        assert said in text, said
    assert str(tmp_path / "board.pdf") in capsys.readouterr().out


def clip(path, frames):
    height, width = frames[0].shape[1:]
    with ClipWriter(path, width, height, Fraction(25), codec="png") as writer:
        for frame in frames:
            pixels = np.clip(255 * frame.transpose(1, 2, 0) + 0.5, 0, 255).astype(np.uint8)
            writer.write(from_array(np.ascontiguousarray(pixels)))
    return str(path)


def test_of_a_clip_the_worst_frame_is_told(tmp_path, capsys):
    good, bad = portrait()[0], portrait(paint=scarf)[0]
    name = clip(tmp_path / "clip.mov", [good, good, bad, good])
    assert perform(["survey", name, "--json"]) == 0
    found = told(capsys)
    assert found["frame"] == 2
    assert [one["frame"] for one in found["frames"]] == [0, 1, 2, 3]
    verdict = next(v for v in found["verdicts"] if v["measure"] == "subject.clash")
    assert (verdict["frame"], verdict["verdict"]) == (2, "fails")
    assert perform(["survey", name]) == 0
    said = capsys.readouterr().out
    assert "4 frames looked at; frame 2 is the worst" in said


def test_frames_without_a_backing_fail_and_the_rest_is_surveyed(tmp_path, capsys):
    plate = portrait()[0]
    name = clip(tmp_path / "clip.mov", [np.zeros_like(plate), plate])
    assert perform(["survey", name, "--json"]) == 0
    verdict = told(capsys)["verdicts"][0]
    assert (verdict["measure"], verdict["verdict"]) == ("key.backing", "fails")
    assert (verdict["value"], verdict["frame"]) == (50.0, 0)
    assert perform(["survey", clip(tmp_path / "black.mov", [np.zeros_like(plate)] * 2)]) == CHECK


@pytest.mark.parametrize(
    ("arguments", "code", "said"),
    [
        (["none.png"], FILE, "does not exist"),
        (["plate.png", "--sample", "1,2,3"], REQUEST, "X,Y,W,H"),
        (["plate.png", "--sample", "1,2,3,9000"], REQUEST, "inside the picture"),
        (["plate.png", "--hue", "red"], REQUEST, "hue"),
        (["plate.png", "--acceptance", "5"], REQUEST, "acceptance"),
        (["plate.png", "-o", "board.gif"], REQUEST, ".png or .pdf"),
        (["plate.png", "-o", "plate.png", "--force"], REQUEST, "is an input"),
        (["plate.png", "--subject", "--hue", "green"], REQUEST, "--subject"),
    ],
)
def test_a_wrong_request_is_one_line(arguments, code, said, tmp_path, monkeypatch, capsys):
    monkeypatch.chdir(tmp_path)
    write(tmp_path / "plate.png", portrait()[0])
    before = sorted(tmp_path.iterdir())
    assert perform(["survey", *arguments]) == code
    error = capsys.readouterr().err.splitlines()[-1]
    assert said in error
    assert sorted(tmp_path.iterdir()) == before
