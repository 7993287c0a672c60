"""The command that sets many rows in one picture."""

import json

import pytest
from PIL import Image
from support import DEMO

from keyer.cli.main import perform

WORDS = ["table", str(DEMO / "designs" / "results.toml"), str(DEMO / "lake-round.csv")]


def run(tmp_path, capsys, *more):
    code = perform([*WORDS, "-o", str(tmp_path / "r.png"), "-f", "heading=Round", *more])
    return code, capsys.readouterr()


def test_pages_are_numbered_and_measured_together(tmp_path, capsys):
    over = str(DEMO / "media" / "evening.png")
    code, said = run(tmp_path, capsys, "--over", over, "--json", "--format", "320x180@25")
    found = json.loads(said.out)
    assert code == 0
    names = [str(tmp_path / f"r-{n}.png") for n in (1, 2)]
    assert found["outputs"] == names
    assert [one["measure"] for one in found["verdicts"]].count("title.contrast") == 1
    for name in names:
        with Image.open(name) as opened:
            assert opened.size == (320, 180)


def test_chosen_rows_fit_on_one_picture_as_key_and_fill(tmp_path, capsys):
    code, said = run(
        tmp_path, capsys, "--where", "club=Thimble Yard", "--kind", "keyfill", "--format",
        "320x180@25",
    )  # fmt: skip
    assert code == 0, said.err
    assert sorted(file.name for file in tmp_path.iterdir()) == ["r-fill.png", "r-key.png"]


@pytest.mark.parametrize(
    ("more", "words"),
    [
        (("--where", "club=Nobody"), "a row of lake-round.csv"),
        (("--kind", "over"), "kind over needs a picture"),
        (("-f", "colour=red"), "field 'colour' is not in this design"),
    ],
)
def test_a_wrong_request_is_one_line_and_writes_nothing(tmp_path, capsys, more, words):
    code, said = run(tmp_path, capsys, *more, "--format", "320x180@25")
    assert code in {2, 3}
    assert words in said.err
    assert len(said.err.strip().splitlines()) == 1
    assert not list(tmp_path.iterdir())
