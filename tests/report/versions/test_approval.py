"""A version frozen as it is approved, known by its digest, and held against what came after."""

import dataclasses
import hashlib
import json
import zipfile
from datetime import UTC, datetime

import numpy as np
import pytest
from PIL import Image

from keyer.cli.main import perform
from keyer.errors import InputFileError, SettingError
from keyer.report.cue_sheets.cue_files import cue_files
from keyer.report.versions.approval import approvals, find_approval, read_approval
from keyer.report.versions.approve import approve_file
from keyer.report.versions.compare_files import compare_files

SPOT = """version = 1
[sheet]
title = "Trial"
format = "64x36@25"
length = 50
stills = [30]
[sources]
grey = { colour = "#606060" }
lake = { file = "lake.png" }
[[cues]]
source = "grey"
[[cues]]
source = "lake"
at = 20
transition = { kind = "mix", length = 4 }
"""
NOON = datetime(2026, 5, 4, 12, 0, tzinfo=UTC)


@pytest.fixture
def spot(tmp_path):
    picture(tmp_path, 90)
    path = tmp_path / "spot.toml"
    path.write_text(SPOT, encoding="utf-8")
    return path


def picture(folder, code):
    Image.fromarray(np.full((36, 64, 3), code, np.uint8)).save(folder / "lake.png")


def test_the_file_holds_what_was_seen(spot):
    made = approve_file(spot, by="Wren", note="for the client", now=NOON)
    assert made.path == spot.with_name("spot.approved-2026-05-04.zip")
    assert made.words == "2026-05-04 12:00 UTC, by Wren"
    # grey, four mixed frames, and the lake
    assert made.shown == ((0, 0), (20, 1), (21, 2), (22, 3), (23, 4), (24, 5))
    with zipfile.ZipFile(made.path) as archive:
        names = archive.namelist()
        assert json.loads(archive.read("approval.json"))["note"] == "for the client"
        with archive.open("stills/000030.png") as still, Image.open(still) as image:
            assert image.getpixel((5, 5)) == (90, 90, 90)
    assert sum(name.startswith("pictures/") for name in names) == 6
    assert made.seal == hashlib.sha256(made.path.read_bytes()).hexdigest()
    assert read_approval(made.path) == dataclasses.replace(
        made, shown=[list(one) for one in made.shown], stills=[30], files=dict(made.files)
    )


def test_a_second_one_of_a_day_overwrites_nothing(spot):
    first = approve_file(spot, now=NOON)
    before = first.path.read_bytes()
    second = approve_file(spot, now=NOON.replace(hour=13))
    assert second.path.name == "spot.approved-2026-05-04-2.zip"
    assert first.path.read_bytes() == before
    assert [one.path for one in approvals(spot)] == [second.path, first.path]


def test_a_digest_stands_for_the_old_version(spot):
    made = approve_file(spot, now=NOON)
    spot.write_text(SPOT.replace("at = 20", "at = 22"), encoding="utf-8")
    for said in (made.digest[:8], made.seal[:12].upper(), str(made.path)):
        found = compare_files(said, spot, None)
        assert [str(c) for c in found.changes] == ["Shot 2, lake: starts 00:00:00:20 → 00:00:00:22"]
        assert [(run.first, run.last) for run in found.runs] == [(20, 25)]
        assert found.called == "approved 2026-05-04 12:00 UTC"
    for said in ("123456", made.digest[:3]):
        with pytest.raises(SettingError, match=f"Approved are {made.digest[:12]}"):
            find_approval(said, spot)


def test_a_file_that_has_changed_shows_by_the_pictures_that_were_kept(spot):
    made = approve_file(spot, now=NOON)
    assert compare_files(str(made.path), spot, None).differing == 0
    picture(spot.parent, 200)
    found = compare_files(str(made.path), spot, None)
    assert [str(change) for change in found.changes] == ["File lake.png: has changed"]
    assert [(run.first, run.last) for run in found.runs] == [(20, 49)]
    assert found.pairs[-1].before.mean() == 90  # what was seen then
    assert found.pairs[-1].now.mean() == 200
    (spot.parent / "lake.png").unlink()
    spot.write_text(SPOT.replace('file = "lake.png"', "bars = 75"), encoding="utf-8")
    found = compare_files(str(made.path), spot, None)
    assert "File lake.png: is not there" in [str(change) for change in found.changes]
    assert found.runs


def test_by_pictures_that_were_kept_a_change_measures_as_it_does_in_full(spot):
    made = approve_file(spot, now=NOON)
    spot.write_text(SPOT.replace("#606060", "#606870"), encoding="utf-8")
    full = compare_files(str(made.path), spot, None)
    (spot.parent / "lake.png").write_bytes((spot.parent / "lake.png").read_bytes() + b"more")
    kept = compare_files(str(made.path), spot, None)
    assert [str(one) for one in kept.changes][-1] == "File lake.png: has changed"
    assert [one.difference for one in kept.runs] == [one.difference for one in full.runs]


def test_the_cue_sheet_says_whether_it_is_as_approved(spot, tmp_path):
    out = tmp_path / "cues.html"
    assert "approved" not in _crew(spot, out)
    made = approve_file(spot, by="Wren", now=NOON)
    held = f"2026-05-04 12:00 UTC, by Wren ({made.path.name}, SHA-256 {made.seal[:12]})"
    assert f"As approved on {held}" in _crew(spot, out)
    picture(tmp_path, 91)
    assert f"lake.png changed since it was approved on {held}" in _crew(spot, out)
    picture(tmp_path, 90)
    assert f"As approved on {held}" in _crew(spot, out)
    spot.write_text(SPOT.replace("at = 20", "at = 22"), encoding="utf-8")
    assert f"Changed since it was approved on {held}" in _crew(spot, out)


def _crew(spot, out):
    cue_files(spot, out, force=True)
    return out.read_text(encoding="utf-8")


def test_a_picture_made_again_says_that_its_version_was_approved(spot, tmp_path, capsys):
    made = approve_file(spot, by="Wren", now=NOON)
    still, again = tmp_path / "a.png", tmp_path / "b.png"
    assert perform(["still", str(spot), "--at", "30", "-o", str(still)]) == 0
    assert perform(["remake", str(still), "-o", str(again)]) == 0
    words = f"its version was approved on 2026-05-04 12:00 UTC, by Wren ({made.path.name})"
    assert words in capsys.readouterr().err


@pytest.mark.parametrize(
    ("old", "new"),
    [
        (b"PK", b"KP"),
        (b"approval.json", b"approval.jsom"),
        (b'"form": 1', b'"form": "'),  # and its check sum no longer holds
        (b"", b""),  # cut off
    ],
)
def test_a_damaged_file_is_refused_in_one_line(spot, old, new, capsys):
    made = approve_file(spot, now=NOON)
    with zipfile.ZipFile(made.path) as archive:
        entries = {name: archive.read(name) for name in archive.namelist()}
    with zipfile.ZipFile(made.path, "w") as archive:  # stored, so that the harm meets the text
        for name, data in entries.items():
            archive.writestr(name, data)
    data = made.path.read_bytes()
    made.path.write_bytes(data.replace(old, new) if old else data[: len(data) // 2])
    with pytest.raises(InputFileError, match="no approved version, or is damaged"):
        read_approval(made.path)
    assert perform(["compare", str(made.path), str(spot)]) == 3
    assert len(capsys.readouterr().err.splitlines()) == 1
    assert approvals(spot) == []


def test_a_note_of_what_was_approved_reaches_no_file_outside(spot, tmp_path):
    made = approve_file(spot, now=NOON)
    with zipfile.ZipFile(made.path) as archive:
        entries = {name: archive.read(name) for name in archive.namelist()}
    facts = json.loads(entries["approval.json"])
    facts["sheet"] = facts["sheet"].replace("lake.png", "../outside.png")
    with zipfile.ZipFile(made.path, "w") as archive:
        for name, data in (entries | {"approval.json": json.dumps(facts).encode()}).items():
            archive.writestr(name, data)
    assert perform(["compare", str(made.path), str(spot)]) != 0


def test_the_command(spot, capsys):
    assert perform(["approve", str(spot), "--by", "Wren", "--json"]) == 0
    said = json.loads(capsys.readouterr().out)
    assert (said["by"], said["pictures"], said["stills"]) == ("Wren", 6, [30])
