"""`keyer patterns`."""

import json

import pytest
from PIL import Image

from keyer.cli.main import perform


def test_the_list_has_every_pattern(capsys):
    assert perform(["patterns", "--json"]) == 0
    rows = json.loads(capsys.readouterr().out)["patterns"]
    assert len(rows) == 144
    assert rows[0] == {
        "name": "barWipe/leftToRight",
        "type": "barWipe",
        "subtype": "leftToRight",
        "code": 1,
        "family": "edge",
        "summary": rows[0]["summary"],
    }


def test_a_family_alone(capsys):
    assert perform(["patterns", "--family", "matrix", "--json"]) == 0
    rows = json.loads(capsys.readouterr().out)["patterns"]
    assert {row["family"] for row in rows} == {"matrix"}


def test_a_gallery_is_written_and_not_overwritten(tmp_path, capsys):
    target = tmp_path / "sheet.png"
    assert perform(["patterns", "--family", "move", "--chart", str(target)]) == 0
    assert capsys.readouterr().out == f"{target}: 11 patterns\n"
    with Image.open(target) as image:
        assert image.width == 2504  # 318 mm at 200 dpi
    assert perform(["patterns", "--family", "move", "--chart", str(target)]) == 2
    assert perform(["patterns", "--family", "move", "--chart", str(target), "--force"]) == 0


def test_ones_own_patterns_are_added(tmp_path, capsys):
    (tmp_path / "more.toml").write_text(
        '[[pattern]]\ntype = "ours"\nsubtype = "hex"\nsummary = "A hexagon"\n'
        'function = "polygon"\nparams = { corners = 6, first_deg = 30 }\n'
    )
    assert perform(["patterns", "--patterns", str(tmp_path), "--family", "more", "--json"]) == 0
    rows = json.loads(capsys.readouterr().out)["patterns"]
    assert [row["name"] for row in rows] == ["ours/hex"]


@pytest.mark.parametrize(
    ("arguments", "code", "said"),
    [
        (["--family", "round"], 2, "family must be one of edge"),
        (["--patterns", "nowhere"], 3, "must be a folder of patterns"),
        (["--chart", "nowhere/x.png"], 2, "nowhere"),
        (["--chart", "x.doc"], 2, "x.doc"),
    ],
)
def test_wrong_requests_are_one_line(arguments, code, said, capsys, tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    assert perform(["patterns", *arguments]) == code
    error = capsys.readouterr().err.strip()
    assert said in error
    assert "\n" not in error


def test_the_backgrounds_are_listed_and_drawn(tmp_path, capsys):
    assert perform(["patterns", "--backgrounds", "--json"]) == 0
    rows = json.loads(capsys.readouterr().out)["backgrounds"]
    assert len(rows) == 10
    assert rows[0]["name"] == "dawn-haze"
    assert perform(["patterns", "--backgrounds"]) == 0
    assert "copper-silk" in capsys.readouterr().out
    target = tmp_path / "looks.png"
    assert perform(["patterns", "--backgrounds", "--chart", str(target)]) == 0
    assert capsys.readouterr().out.strip() == f"{target}: 10 backgrounds"
    assert target.is_file()
    assert perform(["patterns", "--backgrounds", "--family", "edge"]) == 2
    assert "family belongs to patterns" in capsys.readouterr().err
