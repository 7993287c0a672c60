"""Batches rendered, stopped, resumed: the folder is the same whatever happened."""

import io
import os
import random
import signal
import subprocess
import sys
import time
from dataclasses import replace

import numpy as np
import pytest
from batch.made import contents, guests, project, table
from batch.rendering import picture, render_all
from PIL import Image

from keyer.batch import run
from keyer.batch.folder import LOCK, held, sweep
from keyer.batch.front import BatchOrder, batch
from keyer.batch.manifest import (
    NAME,
)
from keyer.errors import OutputError
from keyer.media.write import write_bytes


def test_each_row_is_the_still_of_its_sheet(tmp_path):
    """The one renderer made it: the same pixels as `keyer still` with the row's values."""
    from keyer.render.still import render_still
    from keyer.sheet.load import load_sheet

    sheet = project(tmp_path)
    rows = table(tmp_path, "file,name,role,back\na,Ines,pilot,\nb,Tilda,,other.png\n")
    render_all(BatchOrder(sheet, rows, tmp_path / "out"))
    for name, fields, back in (("a", 'name = "Ines", role = "pilot"', "back.png"),
                               ("b", 'name = "Tilda", role = ""', "other.png")):  # fmt: skip
        text = sheet.read_text().replace('role = ""', fields)
        (tmp_path / "one.toml").write_text(text.replace('"back.png"', f'"{back}"'))
        expected = render_still(load_sheet(tmp_path / "one.toml"), 22)
        assert np.array_equal(picture(tmp_path / "out" / f"{name}.png"), expected)


def test_kinds_agree_with_each_other(tmp_path):
    sheet, rows = project(tmp_path), guests(tmp_path, 2)
    order = BatchOrder(sheet, rows, tmp_path / "over")
    for kind in ("over", "alpha", "keyfill"):
        render_all(replace(order, kind=kind, folder=tmp_path / kind))
    over, back = picture(tmp_path / "over/001.png"), picture(tmp_path / "back.png")
    fill = picture(tmp_path / "keyfill/001-fill.png")
    key = picture(tmp_path / "keyfill/001-key.png")[..., np.newaxis] / 255
    assert np.abs(fill + (1 - key) * back - over).max() <= 1.5  # one code, and over's rounding
    top = Image.open(tmp_path / "alpha/001.png")
    assert top.mode == "RGBA"
    laid = Image.alpha_composite(Image.open(tmp_path / "back.png").convert("RGBA"), top)
    assert np.abs(np.asarray(laid)[..., :3].astype(float) - over).max() <= 1.5


def test_folder_is_kept_to_one_batch_and_swept(tmp_path):
    (tmp_path / ".keyer-0123456789ab.png").touch()
    (tmp_path / ".mine.png").touch()
    with held(tmp_path):
        assert sorted(contents(tmp_path)) == [LOCK, ".mine.png"]
        with pytest.raises(OutputError, match="another batch"), held(tmp_path):
            pass
    assert list(contents(tmp_path)) == [".mine.png"]
    assert sweep(tmp_path) == 0


def test_folder_that_cannot_be(tmp_path):
    (tmp_path / "file").touch()
    with pytest.raises(OutputError, match="cannot be used"), held(tmp_path / "file"):
        pass
    order = BatchOrder(project(tmp_path), guests(tmp_path, 1), tmp_path / "none" / "out")
    with pytest.raises(OutputError, match="Make it first"):
        batch(order)


def test_full_disk_leaves_nothing_broken_and_is_resumed(tmp_path, monkeypatch):
    order = BatchOrder(project(tmp_path), guests(tmp_path, 5), tmp_path / "out")
    written = []

    def full(path, data, files):
        if len(written) == 3:
            msg = "the disk is full"
            raise OutputError(msg)
        written.append(path)
        write_bytes(path, data, files)

    monkeypatch.setattr(run, "write_bytes", full)
    with pytest.raises(OutputError, match="disk is full"):
        render_all(order)
    assert sorted(contents(order.folder)) == ["000.png", "001.png", "002.png", NAME]
    monkeypatch.undo()
    outcome = render_all(replace(order, resume=True))
    assert outcome.rendered == 2
    render_all(replace(order, folder=tmp_path / "undisturbed"))
    assert contents(order.folder) == contents(tmp_path / "undisturbed")


def test_good_rows_of_a_faulty_table(tmp_path):
    sheet = project(tmp_path)
    rows = table(tmp_path, "file,name\na,Ines\nb,\nc,Tilda\n")
    order = BatchOrder(sheet, rows, tmp_path / "out", jobs=1)
    assert batch(order).outcome is None
    assert not order.folder.exists()
    report = batch(replace(order, keep_going=True))
    assert [fault.rows for fault in report.faults] == [(3,)]
    assert report.as_dict()["outputs"] == ["a.png", "c.png"]


COMMAND = "from keyer.__main__ import run; run()"


def command(order, *more):
    return [
        sys.executable, "-c", COMMAND, "batch", str(order.sheet), str(order.rows),
        "-d", str(order.folder), "--jobs", "2", *more,
    ]  # fmt: skip


def killed(order, after):
    """Start a batch in a process and kill it when so many rows are done."""
    with subprocess.Popen(command(order, "--resume"), stderr=subprocess.DEVNULL,
                          stdout=subprocess.DEVNULL) as process:  # fmt: skip
        while process.poll() is None and len(list(order.folder.glob("[0-9]*.png"))) < after:
            time.sleep(0.005)
        process.send_signal(signal.SIGKILL)


@pytest.mark.slow
@pytest.mark.skipif(os.name == "nt", reason="kill -9 is a thing of Unix")
def test_killed_and_resumed_is_as_undisturbed(tmp_path):
    """Killed with -9 at two random moments, then gone on with."""
    order = BatchOrder(project(tmp_path), guests(tmp_path, 16), tmp_path / "out")
    chance = random.Random(5)  # noqa: S311 - moments, no secrets
    done = 0
    for _ in range(2):
        done = min(done + chance.randint(2, 7), 14)
        killed(order, done)
        for path in order.folder.glob("[!.]*.png"):
            with Image.open(io.BytesIO(path.read_bytes())) as whole:
                whole.load()
    subprocess.run(command(order, "--resume"), check=True, stdout=subprocess.DEVNULL, timeout=100)
    render_all(replace(order, folder=tmp_path / "undisturbed"))
    assert contents(order.folder) == contents(tmp_path / "undisturbed")


@pytest.mark.skipif(os.name == "nt", reason="process groups are a thing of Unix")
@pytest.mark.parametrize("seconds", [0.0, 1.0])
def test_stopped_by_hand_says_so_and_leaves_nothing_half_written(tmp_path, seconds):
    """Ctrl-C reaches every process of the group; also while they are only beginning."""
    order = BatchOrder(project(tmp_path), guests(tmp_path, 400), tmp_path / "out")
    with subprocess.Popen(command(order), stderr=subprocess.PIPE, stdout=subprocess.DEVNULL,
                          text=True, start_new_session=True) as process:  # fmt: skip
        while not (order.folder / LOCK).exists():
            assert process.poll() is None
            time.sleep(0.01)
        time.sleep(seconds)
        os.killpg(process.pid, signal.SIGINT)
        _, said = process.communicate(timeout=60)
    assert process.returncode == 130
    assert "Traceback" not in said
    assert "--resume to do the rest" in said
    left = contents(order.folder) if order.folder.is_dir() else {}
    assert all(name == NAME or name.endswith(".png") for name in left)
    assert not [name for name in left if name.startswith(".")]
