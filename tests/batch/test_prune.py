"""Pictures of rows that are gone: moved aside where they are still the batch's own."""

from dataclasses import replace

import pytest
from batch.made import guests, project
from batch.rendering import in_process

from keyer.batch.front import BatchOrder, check_batch, named_by
from keyer.batch.manifest import read_manifest
from keyer.batch.prune import ASIDE
from keyer.batch.run import run_batch


@pytest.fixture
def order(tmp_path):
    return BatchOrder(project(tmp_path), guests(tmp_path, 4), tmp_path / "out")


def run(order, *, prune=False):
    checked = check_batch(order)
    render = in_process(checked.job, order.folder)
    return run_batch(
        checked.found.tasks, order.folder, render, checked.known, checked.kept, checked.left,
        spared=named_by(checked) if prune else None,
    )  # fmt: skip


def without(order, *names):
    lines = order.rows.read_text("utf-8").splitlines()
    kept = [line for line in lines if line.partition(",")[0] not in names]
    order.rows.write_text("\n".join(kept), encoding="utf-8")
    return replace(order, resume=True)


def test_files_of_rows_that_are_gone_are_moved_and_not_deleted(order):
    run(order)
    before = {path.name: path.read_bytes() for path in order.folder.glob("*.png")}
    outcome = run(without(order, "001", "003"), prune=True)
    assert (outcome.aside, outcome.gone) == (("001.png", "003.png"), ())
    assert sorted(path.name for path in order.folder.glob("*.png")) == ["000.png", "002.png"]
    moved = {path.name: path.read_bytes() for path in (order.folder / ASIDE).iterdir()}
    assert moved == {name: before[name] for name in ("001.png", "003.png")}
    assert set(read_manifest(order.folder).entries) == {"000.png", "002.png"}


def test_what_lies_aside_already_stays(order):
    run(order)
    (order.folder / ASIDE).mkdir()
    (order.folder / ASIDE / "001.png").write_bytes(b"mine")
    run(without(order, "001"), prune=True)
    assert (order.folder / ASIDE / "001.png").read_bytes() == b"mine"
    assert (order.folder / ASIDE / "001-2.png").is_file()


def test_a_file_that_somebody_has_changed_stays_and_is_told(order):
    run(order)
    (order.folder / "001.png").write_bytes(b"changed by hand")
    outcome = run(without(order, "001", "002"), prune=True)
    assert (outcome.aside, outcome.gone) == (("002.png",), ("001.png",))
    assert (order.folder / "001.png").read_bytes() == b"changed by hand"


def test_without_being_asked_nothing_moves(order):
    run(order)
    outcome = run(without(order, "001"))
    assert (outcome.aside, outcome.gone) == ((), ("001.png",))
    assert (order.folder / "001.png").is_file()


def test_rows_that_were_not_chosen_are_not_gone(order):
    run(order)
    outcome = run(replace(order, resume=True, only="2"), prune=True)
    assert (outcome.aside, outcome.gone) == ((), ())
    assert len(list(order.folder.glob("*.png"))) == 4


def test_a_row_at_fault_still_names_its_picture(order):
    run(order)
    text = order.rows.read_text("utf-8")
    order.rows.write_text(text.replace("001,Guest 1", "001,"), encoding="utf-8")
    outcome = run(replace(order, resume=True), prune=True)
    assert (outcome.aside, outcome.gone) == ((), ("001.png",))
    assert (order.folder / "001.png").is_file()
