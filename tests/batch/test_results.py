"""The command that sets many rows in one picture."""

import json

import numpy as np
import pytest
import tifffile
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


def title(tmp_path, capsys, *more):
    words = ["title", str(DEMO / "designs" / "jetty.toml"), "-f", "name=Ines", "-f", "role=Pilot"]
    code = perform([*words, "--format", "320x180@25", *more, "-o", str(tmp_path / "t.tif")])
    return code, capsys.readouterr().err


def test_one_title_has_16_bits_as_tiff_and_premultiplied_where_it_is_asked_for(tmp_path, capsys):
    assert title(tmp_path, capsys, "--depth", "16")[0] == 0
    straight = tifffile.imread(tmp_path / "t.tif")
    assert straight.dtype == np.uint16
    assert title(tmp_path, capsys, "--depth", "16", "--premultiplied", "--force")[0] == 0
    with tifffile.TiffFile(tmp_path / "t.tif") as file:
        assert file.pages[0].tags["ExtraSamples"].value == (1,)
        multiplied = file.asarray().astype(float)
    wanted = straight[..., :3] * (straight[..., 3:] / 65535)
    assert np.abs(multiplied[..., :3] - wanted).max() <= 1.5  # three roundings by half a code
    code, said = title(tmp_path, capsys, "--premultiplied", "--kind", "keyfill", "--force")
    assert code == 2
    assert "premultiplied is for kind alpha" in said


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
