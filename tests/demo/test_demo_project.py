"""The demo project: what it holds, and what `keyer demo` makes of it."""

import hashlib
import json

import pytest
from support import DEMO, demo_matte

from keyer.cli.main import perform
from keyer.demo.project import demo_folder, write_demo
from keyer.render.inputs import sheet_inputs
from keyer.sheet.load import load_sheet

MOST_BYTES = 30_000_000
"""A promise to whoever fetches the checkout or the wheel."""

SHEETS = sorted(
    str(path.relative_to(DEMO)) for path in DEMO.rglob("*.toml") if path.parent.name != "designs"
)


def _digests(folder):
    return {
        str(path.relative_to(folder)): hashlib.sha256(path.read_bytes()).hexdigest()
        for path in folder.rglob("*")
        if path.is_file()
    }


def test_a_checkout_has_the_demo_among_its_examples():
    assert demo_folder() == DEMO
    assert sum(path.stat().st_size for path in DEMO.rglob("*")) < MOST_BYTES


def test_there_are_the_sheets_that_the_documents_name():
    spot = ["backgrounds.toml", "desk.toml", "faults.toml", "sheet.toml"]
    assert sorted(SHEETS) == sorted([*spot, "market/desk.toml"])


@pytest.mark.parametrize("name", SHEETS)
def test_every_file_that_a_sheet_names_is_there(name):
    inputs = sheet_inputs(load_sheet(DEMO / name))
    assert inputs
    for path in inputs:
        assert path.is_file()


def test_mattes_are_kept_in_sixteen_bits():
    matte = demo_matte("bicycle-true-matte.png") * 65535
    assert (matte % 257 != 0).any()  # 257 n: what eight bits can hold


@pytest.mark.parametrize(
    ("sheet", "rows", "count"),
    [("desk.toml", "names.csv", 6), ("market/desk.toml", "market/stalls.csv", 8)],
)
def test_every_row_of_the_tables_fits_its_design(sheet, rows, count, tmp_path, capsys):
    order = ["batch", str(DEMO / sheet), str(DEMO / rows), "-d", str(tmp_path / "out"), "--dry-run"]
    assert perform([*order, "--json"]) == 0
    found = json.loads(capsys.readouterr().out)
    assert (found["rows"], found["faults"]) == (count, [])


@pytest.mark.slow
def test_the_demo_is_copied_whole_and_rendered(tmp_path):
    said = []
    written = write_demo(tmp_path / "demo", said.append)
    names = {str(path.relative_to(tmp_path / "demo")) for path in written}
    copied = _digests(DEMO)
    found = _digests(tmp_path / "demo")
    assert set(found) == names
    assert {name: found[name] for name in copied} == copied
    made = names - set(copied)
    assert sum(name.startswith("stills/") for name in made) == 16
    assert sum(name.startswith("mattes/") for name in made) == 4
    numbers = json.loads((tmp_path / "demo" / "numbers.json").read_text())
    for key in numbers["keys"].values():
        assert key["matte_mse_against_truth"] < 4e-3
    assert len(said) == 2
