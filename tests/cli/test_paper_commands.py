"""Boards, cue sheets, reports and remakes: one line and the right exit code."""

import json

import pytest
from report.made_spot import write_spot

from keyer.cli.main import perform

REQUEST, FILE = 2, 3


@pytest.fixture
def spot(tmp_path, monkeypatch):
    sheet = write_spot(tmp_path / "spot")
    monkeypatch.chdir(sheet.parent)
    return sheet


@pytest.mark.parametrize(
    ("arguments", "code", "said"),
    [
        (["board", "none.toml", "-o", "b.png"], FILE, "no such file"),
        (["board", "spot.toml", "-o", "b.gif"], REQUEST, ".png or .pdf"),
        (["board", "spot.toml", "-o", "b.png", "--paper", "A6"], REQUEST, "A3, A4"),
        (["board", "spot.toml", "-o", "b.png", "--vary", "soft"], REQUEST, "KEY=V1,V2"),
        (
            ["board", "spot.toml", "-o", "b.png", "--vary", "cues[1].transition.soft=-1"],
            REQUEST,
            "soft=-1 makes a sheet with faults",
        ),
        (
            ["board", "spot.toml", "-o", "b.png", "--at", "9s", "--vary", "sheet.light=video"],
            REQUEST,
            "within the sheet",
        ),
        (["board", "spot.toml", "-o", "spot.toml", "--force"], REQUEST, ".png or .pdf"),
        (["cues", "none.toml", "-o", "c.html"], FILE, "no such file"),
        (["cues", "spot.toml", "-o", "c.txt"], REQUEST, ".html, .csv or .edl"),
        (["report", "none.toml", "-o", "r.html"], FILE, "no such file"),
        (["report", "spot.toml", "-o", "r.html", "--at", "5s"], REQUEST, "within the sheet"),
        (["remake", "none.png", "-o", "again.png"], FILE, "does not exist"),
        (["remake", "media/lake.png", "-o", "again.png"], FILE, "does not say how"),
    ],
    ids=lambda value: " ".join(value) if isinstance(value, list) else None,
)
def test_a_wrong_request_is_one_line(spot, arguments, code, said, capsys):
    before = sorted(spot.parent.rglob("*"))
    assert perform(arguments) == code
    error = capsys.readouterr().err.replace(
        "keyer: compiling the picture kernels for this machine, once; ten to twenty seconds.\n", ""
    )
    assert said in error
    assert error.count("\n") == 1
    assert sorted(spot.parent.rglob("*")) == before


def test_a_board_and_one_of_its_pictures(spot, capsys):
    vary = ["--vary", "cues[1].transition.pattern=201,102", "--vary", "cues[1].transition.soft=0,9"]
    assert perform(["board", "spot.toml", "-o", "b.png", "--json", *vary]) == 0
    told = json.loads(capsys.readouterr().out)
    assert told["outputs"] == ["b.png"]
    assert told["cells"][3]["changes"] == {
        "cues[1].transition.pattern": 102,
        "cues[1].transition.soft": 9,
    }
    assert perform(["remake", "b.png", "--cell", "4", "-o", "four.png"]) == 0
    assert perform(["remake", "four.png", "-o", "five.png", "--json"]) == 0
    last = capsys.readouterr().out
    assert json.loads(last[last.index("{") :])["same"] is True
    assert (spot.parent / "four.png").read_bytes() == (spot.parent / "five.png").read_bytes()
