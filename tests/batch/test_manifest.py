"""The manifest of a folder: its lines, torn ones, and files that are none."""

import errno
import json
import os
from dataclasses import replace

import pytest
from batch.made import contents, guests, project
from batch.rendering import render_all

from keyer.batch import manifest
from keyer.batch.front import BatchOrder, check_batch
from keyer.batch.manifest import (
    NAME,
    Entry,
    add_line,
    end_torn_line,
    read_manifest,
    write_manifest,
)
from keyer.errors import OutputError, StorageError


def test_manifest_tells_what_was_made(tmp_path):
    outcome = render_all(BatchOrder(project(tmp_path), guests(tmp_path, 2), tmp_path / "out"))
    assert outcome.rendered == 2
    lines = (tmp_path / "out" / NAME).read_text(encoding="utf-8").splitlines()
    first = json.loads(lines[0])
    assert (first["row"], first["name"], first["settings"]["name"]) == (2, "000", "Guest 0")
    assert first["outputs"][0]["file"] == "000.png"
    assert {v["measure"] for v in first["verdicts"]} >= {"title.contrast", "title.reading_time"}


def test_torn_manifest_is_read_as_far_as_it_goes(tmp_path):
    first = Entry(2, "a", (("a.png", "0"),), "k")
    write_manifest(tmp_path, [first])
    add_line(tmp_path, replace(first, name="b", outputs=(("b.png", "1"),)))
    with (tmp_path / NAME).open("ab") as stream:
        stream.write(b'{"batch": 4, "name": "c", "outp\xff')
    assert list(read_manifest(tmp_path).entries) == ["a.png", "b.png"]
    end_torn_line(tmp_path)
    add_line(tmp_path, replace(first, outputs=(("a.png", "2"),)))
    found = read_manifest(tmp_path)
    assert list(found.entries) == ["a.png", "b.png"]
    assert found.made == {"a.png": {"0", "2"}, "b.png": {"1"}}


@pytest.mark.parametrize("line", ["{}", "[1]", "hello", '{"file": "a.png"}', "\0" * 9])
def test_file_of_another_program_is_no_manifest(tmp_path, line):
    (tmp_path / "out").mkdir()
    (tmp_path / "out" / NAME).write_text(line + "\n")
    order = BatchOrder(project(tmp_path), guests(tmp_path, 1), tmp_path / "out")
    for more in ({}, {"resume": True}, {"force": True}):
        with pytest.raises(OutputError, match="is not the manifest of a batch"):
            check_batch(replace(order, **more))


def test_full_disk_at_the_manifest(tmp_path, monkeypatch):
    order = BatchOrder(project(tmp_path), guests(tmp_path, 2), tmp_path / "out")

    def full(handle):
        os.ftruncate(handle, 0)
        raise OSError(errno.ENOSPC, "No space left on device")

    monkeypatch.setattr(manifest.os, "fsync", full)
    with pytest.raises(StorageError, match=r"manifest\.jsonl cannot be written: no space left"):
        render_all(order)
    assert not contents(order.folder)
