"""`keyer key --board` and `--show`."""

import json

import numpy as np
import pytest
from PIL import Image
from plates import making
from plates.portrait import portrait
from pypdf import PdfReader

from keyer.cli.main import perform
from keyer.report.plates.key_board import edge_window

REQUEST = 2


@pytest.fixture
def folder(tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    plate, matte, _ = portrait()
    tinted = making.spilled(plate, making.flat((0.16, 0.68, 0.22), 360, 480), matte, 0.15, "veil")
    for name, planes in (("plate", tinted), ("under", making.flat((0.2, 0.3, 0.5), 360, 480))):
        pixels = np.clip(255 * planes.transpose(1, 2, 0) + 0.5, 0, 255).astype(np.uint8)
        Image.fromarray(pixels).save(tmp_path / f"{name}.png")
    return tmp_path


KEY = ["key", "plate.png", "--over", "under.png", "-o", "out.png"]


@pytest.mark.parametrize("quality", ["fast", "fine"])
def test_a_board_has_every_step_and_its_numbers(folder, quality, capsys):
    assert perform([*KEY, "--quality", quality, "--board", "board.pdf", "--json"]) == 0
    report = json.loads(capsys.readouterr().out)
    before, after = report["spill"]["before"], report["spill"]["after"]
    (page,) = PdfReader(folder / "board.pdf").pages
    text = " ".join(page.extract_text().split())
    for said in (
        "plate.png", "As recorded", "Key signal", "Matte", "Subject on neutral grey",
        "Spill as recorded", "Spill that is left", "Over the new background", "close up",
        f"{report['coverage']['solid_percent']:.1f} % of the picture",
        f"{before['mean_percent']:.2f} recorded, {after['mean_percent']:.2f} left",
        f"{before['rim_p95_percent']:.2f} recorded, {after['rim_p95_percent']:.2f} left",
    ):  # fmt: skip
        assert said in text, said
    assert ("acceptance" in text) == (quality == "fast")
    assert len(page.images) == 10  # nine pictures and a scale
    assert before["mean_percent"] > after["mean_percent"]


def test_the_same_key_draws_the_same_board(folder):
    for name in ("one.png", "two.png"):
        assert perform([*KEY, "--force", "--quality", "fast", "--board", name]) == 0
    assert (folder / "one.png").read_bytes() == (folder / "two.png").read_bytes()


@pytest.mark.parametrize(
    ("show", "mode"),
    [("matte", "I;16"), ("key-signal", "I;16"), ("subject", "RGB"), ("spill", "RGB")],
)
def test_a_step_can_be_written_instead_of_the_picture(folder, show, mode):
    assert perform([*KEY, "--show", show]) == 0
    with Image.open(folder / "out.png") as picture:
        assert picture.mode == mode
        assert picture.size == (480, 360)


@pytest.mark.parametrize(
    ("arguments", "said"),
    [
        (["--show", "light"], "show"),
        (["--board", "board.gif"], ".png or .pdf"),
        (["--board", "out.png"], "two outputs in one file"),
        (["--board", "plate.png", "--force"], "is an input"),
    ],
)
def test_a_wrong_request_leaves_nothing_behind(folder, arguments, said, capsys):
    before = sorted(folder.iterdir())
    assert perform([*KEY, *arguments]) == REQUEST
    assert said in capsys.readouterr().err.splitlines()[-1]
    assert sorted(folder.iterdir()) == before


def test_the_close_up_is_where_most_edge_is():
    matte = np.zeros((160, 320), np.float32)
    matte[100:110, 200:230] = 0.5
    matte[20, 30] = 0.5
    rows, columns = edge_window(matte)
    assert (rows.stop - rows.start, columns.stop - columns.start) == (20, 40)
    assert (matte[rows, columns] == 0.5).sum() == 10 * 30
    assert edge_window(np.ones((3, 3), np.float32)) == (slice(0, 1), slice(0, 1))
