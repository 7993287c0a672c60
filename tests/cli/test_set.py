"""Variables of a sheet from the command line, wherever a sheet is taken."""

import json

import pytest
from PIL import Image

from keyer.cli.main import perform

SPOT = """version = 1
[variables]
accent = "#204060"
starts = 20
loud = false
[sheet]
title = "${accent}"
format = "64x36@25"
length = 50
[sources]
a = { colour = "${accent}" }
b = { colour = "#808080" }
[[cues]]
source = "a"
[[cues]]
source = "b"
at = "${starts}"
"""


@pytest.fixture
def spot(tmp_path):
    path = tmp_path / "spot.toml"
    path.write_text(SPOT, encoding="utf-8")
    return path


def test_a_still_has_the_value_that_was_said(spot, tmp_path):
    out = tmp_path / "a.png"
    order = ["still", str(spot), "--at", "25", "-o", str(out)]
    assert perform([*order, "--set", "starts=30", "--set", "accent=#FF0000"]) == 0
    with Image.open(out) as image:
        assert image.getpixel((3, 3)) == (255, 0, 0)


def test_every_command_that_takes_a_sheet_takes_values(spot, tmp_path, capsys):
    say = ["--set", "starts=30", "--json"]
    orders = [
        ["sheet", spot],
        ["board", spot, "-o", tmp_path / "b.png"],
        ["clip", spot, "-o", tmp_path / "c.mkv", "--codec", "ffv1"],
        ["cues", spot, "-o", tmp_path / "cues.csv"],
        ["check", spot],
        ["report", spot, "-o", tmp_path / "r.html"],
        ["approve", spot],
        ["convert", spot, "--format", "64x36@50", "-o", tmp_path / "new.toml"],
        ["compare", spot, spot],
    ]
    for order in orders:
        assert perform([*map(str, order), *say]) in {0, 4}
        said = json.loads(capsys.readouterr().out)
    assert [one["what"] for one in said["changes"]] == ["starts 00:00:00:20 → 00:00:01:05"]
    assert ",00:00:01:05," in (tmp_path / "cues.csv").read_text(encoding="utf-8")
    assert "at = 60" in (tmp_path / "new.toml").read_text(encoding="utf-8")
    assert spot.read_text(encoding="utf-8") == SPOT


@pytest.mark.parametrize(
    ("said", "words"),
    [
        ("accen=#FF0000", "Did you mean 'accent'"),
        ("accent", "set must be NAME=VALUE"),
        ("starts=soon", "set starts must be a number"),
        ("loud=1", "set loud must be true or false"),
        ("accent=red", "must be a colour|#RRGGBB"),
    ],
)
def test_a_value_that_is_none_is_refused(spot, said, words, capsys):
    assert perform(["sheet", str(spot), "--set", said]) in {2, 3}
    text = capsys.readouterr().err
    assert any(word in text for word in words.split("|"))
