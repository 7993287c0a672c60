"""Pictures with straight alpha, and fill and key: of a key, and of a sheet's frame."""

import json

import cv2
import numpy as np
import pytest
from PIL import Image

from keyer.cli.main import perform
from keyer.media.notes import read_notes

SIZE = (120, 68)
GREEN, RED = (30, 170, 40), (200, 60, 50)


@pytest.fixture
def folder(tmp_path, monkeypatch):
    """A plate in 8 and 16 bits, and a sheet of it over nothing."""
    monkeypatch.chdir(tmp_path)
    plate = np.empty((SIZE[1], SIZE[0], 3), np.uint8)
    plate[:] = GREEN
    plate[20:50, 40:80] = RED
    plate = cv2.GaussianBlur(plate, (0, 0), 1.0)
    Image.fromarray(plate).save("plate.png")
    cv2.imwrite("deep.png", plate[..., ::-1].astype(np.uint16) * 257)
    for light in ("video", "linear"):
        (tmp_path / f"{light}.toml").write_text(
            f'version = 1\n[sheet]\nformat = "120x68@25"\nlength = 4\nlight = "{light}"\n'
            '[sources]\nnothing = { clear = true }\nplate = { file = "plate.png" }\n'
            '[[cues]]\nsource = "nothing"\n[[overlays]]\nsource = "plate"\n'
            'key = { kind = "chroma" }\nopacity = 0.5\n'
        )
    return tmp_path


def read(name):
    """Channels last, red first, in their own depth."""
    found = cv2.imread(name, cv2.IMREAD_UNCHANGED)
    return found if found.ndim == 2 else found[..., [2, 1, 0, *range(3, found.shape[2])]]


@pytest.mark.parametrize("suffix", [".png", ".tif"])
@pytest.mark.parametrize(("plate", "depth"), [("plate.png", np.uint8), ("deep.png", np.uint16)])
def test_a_key_without_a_background_is_a_cut_out(folder, suffix, plate, depth, capsys):
    assert perform(["key", plate, "-o", f"out{suffix}", "--matte-out", "m.png", "--json"]) == 0
    assert json.loads(capsys.readouterr().out)["coverage"]["solid_percent"] > 10
    found, white = read(f"out{suffix}"), np.iinfo(depth).max
    assert found.dtype == depth
    assert found.shape == (SIZE[1], SIZE[0], 4)
    assert (found[:15, :, 3] == 0).all()
    assert (found[25:45, 45:75, 3] == white).all()
    straight = found[25:45, 45:75, :3].astype(float) / white * 255
    np.testing.assert_allclose(straight, np.broadcast_to(RED, straight.shape), atol=8)
    matte = read("m.png") / 65535
    np.testing.assert_allclose(found[..., 3] / white, matte, atol=0.5 / 255 + 1e-6)


def test_a_cut_out_laid_over_a_background_is_the_key_over_it(folder):
    """Porter and Duff over, by hand, of the straight picture."""
    Image.new("RGB", SIZE, (20, 60, 220)).save("back.png")
    assert perform(["key", "plate.png", "-o", "cut.png"]) == 0
    assert perform(["key", "plate.png", "--over", "back.png", "-o", "over.png"]) == 0
    cut, alpha = read("cut.png")[..., :3] / 255, read("cut.png")[..., 3:] / 255
    laid = alpha * cut + (1 - alpha) * np.array((20, 60, 220)) / 255
    np.testing.assert_allclose(255 * laid, read("over.png"), atol=1.6)


def test_the_notes_say_what_it_is(folder):
    perform(["key", "plate.png", "-o", "cut.png"])
    assert "straight alpha" in read_notes(folder / "cut.png")["Description"]
    perform(["still", "video.toml", "--at", "0", "--kind", "alpha", "-o", "still.png"])
    assert "with straight alpha, frame 0" in read_notes(folder / "still.png")["Description"]


def test_what_cannot_hold_alpha_is_refused(folder, capsys):
    assert perform(["key", "plate.png", "-o", "out.jpg"]) == 2
    assert "JPEG cannot hold alpha" in capsys.readouterr().err
    assert perform(["still", "video.toml", "--at", "0", "--kind", "alpha", "-o", "x.jpg"]) == 2
    assert perform(["key", "plate.png", "-o", "out.png", "--board", "b.png"]) == 2
    assert "board needs --over" in capsys.readouterr().err
    assert not [path.name for path in folder.iterdir() if path.suffix == ".jpg"]


def test_a_still_with_alpha_and_the_two_that_make_it_again(folder):
    assert perform(["still", "video.toml", "--at", "0", "--kind", "alpha", "-o", "a.png"]) == 0
    assert perform(["still", "video.toml", "--at", "0", "--kind", "keyfill", "-o", "kf.png"]) == 0
    whole, fill, key = read("a.png"), read("kf-fill.png"), read("kf-key.png") / 65535
    assert whole[30, 60, 3] == 128
    np.testing.assert_allclose(whole[..., 3] / 255, key, atol=0.5 / 255 + 1e-6)
    premultiplied = whole[..., :3] * (whole[..., 3:] / 255)
    np.testing.assert_allclose(premultiplied, fill, atol=1.2)
    assert perform(["still", "video.toml", "--at", "0", "--at", "1", "--kind", "keyfill",
                    "-o", "many"]) == 0  # fmt: skip
    assert len(list((folder / "many").iterdir())) == 4


@pytest.mark.parametrize("kind", ["alpha", "keyfill"])
def test_sheets_in_linear_light_refuse_them(folder, kind, capsys):
    assert perform(["still", "linear.toml", "--at", "0", "--kind", kind, "-o", "x.png"]) == 2
    assert 'light = "video"' in capsys.readouterr().err


def test_a_cut_out_is_made_again_from_its_notes(folder, capsys):
    perform(["still", "video.toml", "--at", "0", "--kind", "alpha", "-o", "a.png"])
    assert perform(["remake", "a.png", "-o", "again.png"]) == 0
    np.testing.assert_array_equal(read("a.png"), read("again.png"))
