"""The page's server: what a window hears, the exact picture, arrivals, and what is refused."""

import io
import json
import re
import struct
import wave
from contextlib import contextmanager

import numpy as np
import pillow_heif
import pytest
from PIL import Image
from starlette.testclient import TestClient

from keyer.media.decode_still import STILL_SUFFIXES
from keyer.rehearsal.arrivals import CLIPS, PICTURES, SOUNDS
from keyer.rehearsal.draft import Draft
from keyer.rehearsal.live import Live
from keyer.rehearsal.server import application
from keyer.render.still import render_still
from keyer.sheet.load import load_sheet

SHEET = """version = 1
[sheet]
title = "<b>Two</b> fields"
format = "64x36@25"
length = 20
[sources]
a = { colour = "#102030" }
b = { gradient = { first = "#000000", second = "#FFFFFF" } }
[[cues]]
source = "a"
[[cues]]
source = "b"
at = 5
transition = { kind = "wipe", pattern = 1, length = 9, soft = 20 }
"""


@pytest.fixture
def path(tmp_path):
    file = tmp_path / "spot.toml"
    file.write_text(SHEET)
    return file


@pytest.fixture
def client(path):
    with TestClient(application(Live(Draft(path)))) as made:
        yield made


@pytest.fixture
def window(client):
    with client.websocket_connect("/live") as socket:
        yield socket


@contextmanager
def looking(path):
    """A window on a sheet's page, as it opens."""
    made = TestClient(application(Live(Draft(path))))
    with made as client, client.websocket_connect("/live") as socket:
        yield socket


def hear(socket, what):
    """Wait for a message of a kind; pictures come as their head and their bytes."""
    for _ in range(50):
        message = socket.receive()
        if message.get("text"):
            said = json.loads(message["text"])
            if said["do"] == what:
                return said
        elif message.get("bytes"):
            size = struct.unpack(">I", message["bytes"][:4])[0]
            head = json.loads(message["bytes"][4 : 4 + size])
            if head["do"] == what:
                return head, message["bytes"][4 + size :]
    raise AssertionError(what)


def test_a_sheet_that_is_broken_as_the_page_opens_is_told_by_its_lines(path):
    path.write_text(SHEET.replace("length = 20", "length = 2q"))
    with looking(path) as window:
        said = hear(window, "sheet")
        (fault,) = said["faults"]
        assert said["facts"] is None
        assert fault["line"] == 5
        assert fault["near"] == [
            [3, 'title = "<b>Two</b> fields"'], [4, 'format = "64x36@25"'], [5, "length = 2q"],
            [6, "[sources]"], [7, 'a = { colour = "#102030" }'],
        ]  # fmt: skip


def test_a_broken_picture_is_told_with_the_place_that_names_it(path, monkeypatch):
    """Named from where keyer was started or not, nothing of this machine's folders is told."""
    path.write_text(SHEET.replace('a = { colour = "#102030" }', 'a = { file = "gone.png" }'))
    monkeypatch.chdir(path.parent.parent)
    relative = path.relative_to(path.parent.parent)
    with looking(relative) as window:
        hear(window, "sheet")
        window.send_json({"do": "show", "frame": 0, "rows": 90, "tag": 1})
        head, _ = hear(window, "picture")
        assert head["error"].startswith("sources.a, line 7: gone.png does not exist.")
        assert str(path.parent.parent) not in head["error"]


def test_a_window_is_told_the_sheet(window):
    said = hear(window, "sheet")
    assert said["facts"]["length"] == 20
    assert [row["id"] for row in said["rows"]] == ["cues[0]", "cues[1]"]
    assert said["rows"][1]["enter"]["pattern"] == "barWipe/leftToRight"
    assert said["settings"]["cues[1].transition"]["soft"] == {
        "value": 20, "origin": "own", "where": "cues[1].transition.soft",
    }  # fmt: skip


def test_a_row_says_where_its_shapes_stand_in_frames_of_the_sheet(path):
    path.write_text(
        SHEET
        + """[[overlays]]
source = "a"
in = 3
key = { kind = "luminance", hold = [
  { rectangle = [10, 20, 30, 40], soft = 2, keyframes = [{ at = "0.2s", rectangle = [1, 2, 3, 4] }] },
] }
"""  # noqa: E501
    )
    with looking(path) as window:
        (mask,) = hear(window, "sheet")["rows"][1]["masks"]
    assert mask == {
        "list": "hold", "index": 0, "shape": "rectangle", "numbers": [10, 20, 30, 40], "soft": 2,
        "source": "", "moves": [{"at": 8, "numbers": [1, 2, 3, 4], "curve": "linear"}],
    }  # fmt: skip


def test_a_value_of_an_included_sheet_is_told_with_the_sheet_and_changed_here_alone(path):
    house = '[sheet]\nformat = "64x36@25"\n[sources]\na = { colour = "#102030" }\n'
    (path.parent / "house.toml").write_text("version = 1\n" + house)
    own = SHEET.replace('format = "64x36@25"\n', "").replace('a = { colour = "#102030" }\n', "")
    path.write_text(own.replace("version = 1", 'version = 1\ninclude = "house.toml"', 1))
    with looking(path) as window:
        told = hear(window, "sheet")["settings"]["sources.a"]["colour"]
        assert told == {"value": "#102030", "origin": "include", "where": "house.toml"}
        edit = {"act": "set", "path": "sources.a.colour", "value": "#FFFFFF"}
        window.send_json({"do": "edit", "edits": [edit], "tag": "x"})
        told = hear(window, "sheet")["settings"]["sources.a"]["colour"]
        assert told == {"value": "#FFFFFF", "origin": "own", "where": "sources.a.colour"}
        hear(window, "done")
    assert house in (path.parent / "house.toml").read_text()


def test_the_exact_picture_is_the_still_bit_for_bit(client, path):
    answer = client.get("/exact/9")
    found = np.asarray(Image.open(io.BytesIO(answer.content)))
    np.testing.assert_array_equal(found, render_still(load_sheet(path), 9))


def test_a_picture_under_the_hand_is_near_the_still(window, path):
    hear(window, "sheet")
    window.send_text(json.dumps({"do": "show", "frame": 9, "rows": 180, "tag": 7}))
    head, data = hear(window, "picture")
    assert (head["frame"], head["tag"], head["exact"]) == (9, 7, False)
    found = np.asarray(Image.open(io.BytesIO(data))).astype(int)
    expected = render_still(load_sheet(path), 9).astype(int)
    assert np.abs(found - expected).mean() < 2  # JPEG


def test_two_windows_agree(client):
    with client.websocket_connect("/live") as one, client.websocket_connect("/live") as two:
        hear(one, "sheet")
        hear(two, "sheet")
        edit = {"act": "set", "path": "cues[1].transition.soft", "value": 4}
        one.send_text(json.dumps({"do": "edit", "edits": [edit], "tag": "x"}))
        assert hear(one, "done")["tag"] == "x"
        assert hear(two, "sheet")["settings"]["cues[1].transition"]["soft"]["value"] == 4


@pytest.mark.parametrize(
    "said",
    [
        {"do": "wall", "path": "cues[1].transition"},
        {"do": "vary", "choices": [{"path": "cues[1].transition.soft", "values": [0, 9]}]},
        {"do": "designs"},
    ],
)
def test_what_is_chosen_by_sight_is_seen(window, said):
    hear(window, "sheet")
    for _ in range(2):  # the second while the first is being drawn
        window.send_text(json.dumps({"frame": 9, **said}))
    head, data = hear(window, "picture")
    assert head["slot"] == "wall"
    assert data


def test_what_would_not_hold_is_refused_with_path_and_cure(window):
    hear(window, "sheet")
    edit = {"act": "set", "path": "cues[1].transition.soft", "value": 900}
    window.send_text(json.dumps({"do": "edit", "edits": [edit], "tag": "x"}))
    fault = hear(window, "refused")["faults"][0]
    assert fault["path"] == "cues[1].transition.soft"
    assert "[0, 100]" in fault["message"]


def test_what_keeps_a_picture_from_being_drawn_is_told_with_its_line(path):
    words = "as wide as no picture can ever be, however small its letters are set"
    (path.parent / "design.toml").write_text(
        "name = 'x'\n[fields.words]\n[styles.words]\nsize = 20\n[[boxes]]\nid = 'words'\n"
        "place = 'bottom left'\n[[boxes.texts]]\ntext = '${words}'\nstyle = 'words'\n"
    )
    title = f'[sources.t.title]\ndesign = "design.toml"\nfields = {{ words = "{words}" }}\n'
    path.write_text(SHEET + title + '[[overlays]]\nsource = "t"\n')
    with (
        TestClient(application(Live(Draft(path)))) as client,
        client.websocket_connect("/live") as socket,
    ):
        hear(socket, "sheet")
        socket.send_text(json.dumps({"do": "show", "frame": 0, "rows": 90}))
        head, _ = hear(socket, "picture")
    assert "sources.t, line" in head["error"]
    assert "too wide" in head["error"]


def test_a_saved_draft_is_in_the_file(window, path):
    hear(window, "sheet")
    edit = {"act": "set", "path": "cues[1].name", "value": "Second"}
    window.send_text(json.dumps({"do": "edit", "edits": [edit], "tag": "x"}))
    hear(window, "done")
    window.send_text(json.dumps({"do": "save"}))
    assert hear(window, "sheet")["changed"] is False
    assert load_sheet(path).cues[1].name == "Second"


@pytest.mark.parametrize(
    "said",
    [
        {}, {"do": "format"}, {"do": "edit"}, {"do": "show"}, {"do": "show", "frame": "x"},
        {"do": "show", "frame": 1, "view": "secret"}, {"do": "small"}, {"do": "ahead"},
        {"do": "show", "frame": True}, {"do": "ahead", "frames": ["x"], "rows": 180},
    ],
)  # fmt: skip
def test_messages_that_make_no_sense_are_answered(window, said):
    hear(window, "sheet")
    window.send_text(json.dumps(said))
    assert hear(window, "refused")["faults"]


def test_a_defect_is_told_and_does_not_end_the_page(window, monkeypatch):
    hear(window, "sheet")
    monkeypatch.setattr("keyer.rehearsal.live.pattern_wall", lambda *_: 1 / 0)
    window.send_text(json.dumps({"do": "wall", "path": "cues[1].transition", "tag": 5}))
    said = hear(window, "refused")
    assert (said["tag"], said["faults"][0]["message"]) == (
        5,
        "defect: ZeroDivisionError: division by zero",
    )
    window.send_text(json.dumps({"do": "show", "frame": 9, "rows": 180, "tag": 7}))
    assert hear(window, "picture")[0]["tag"] == 7


def test_who_saves_over_another_is_told_so(window, path):
    hear(window, "sheet")
    edit = {"act": "set", "path": "cues[1].name", "value": "Second"}
    window.send_text(json.dumps({"do": "edit", "edits": [edit], "tag": "x"}))
    hear(window, "done")
    other = SHEET.replace("length = 20", "length = 30")
    path.write_text(other)
    window.send_text(json.dumps({"do": "save"}))
    assert hear(window, "sheet")["theirs"] is True
    assert path.read_text() == other


@pytest.mark.parametrize(
    "path_", ["/static/..%2fserver.py", "/static/../server.py", "/static/x.js", "/face/1", "/etc"]
)
def test_no_other_file_is_served(client, path_):
    assert client.get(path_).status_code == 404


def test_the_page_and_its_parts_are_served(client):
    assert "module" in client.get("/").text
    assert client.get("/static/main.js").headers["content-type"].startswith("text/javascript")
    assert client.get("/face/400").content[:4] in (b"\x00\x01\x00\x00", b"OTTO")
    said = client.get("/controls").json()
    assert said["controls"]["transition"]
    assert said["names"]["coverage.holes"] == "Holes in the matte"


def picture(colour=(9, 99, 199)) -> bytes:
    memory = io.BytesIO()
    Image.new("RGB", (8, 8), colour).save(memory, "PNG")
    return memory.getvalue()


def test_what_arrives_is_kept_beside_the_sheet_and_never_over_a_file(client, path):
    names = [
        client.post("/arrive?name=..%2F..%2Fa b.png", content=picture((n, n, n))).json()["path"]
        for n in (1, 2)
    ]
    assert names == ["media/a-b.png", "media/a-b-2.png"]
    kept = [np.asarray(Image.open(path.parent / name))[0, 0, 0] for name in names]
    assert kept == [1, 2]


@pytest.mark.parametrize(
    ("name", "content"),
    [("x.toml", b""), ("x.png", b"no picture"), ("x", b"x"), ("x.wav", b"RIFF"), (".png", b"")],
)
def test_what_cannot_be_read_does_not_stay(client, path, name, content):
    answer = client.post(f"/arrive?name={name}", content=content)
    assert answer.status_code == 422
    assert str(path.parent) not in answer.text
    assert list(path.parent.iterdir()) == [path]


def test_the_page_offers_every_kind_that_is_taken(client):
    script = client.get("/static/arrive.js").text
    offered = re.search(r'const KINDS = "([^"]+)"', script)[1]
    assert set(offered.split(",")) == PICTURES | CLIPS | SOUNDS >= STILL_SUFFIXES


def test_a_photograph_of_a_telephone_is_kept(client, path):
    memory = io.BytesIO()
    pillow_heif.from_pillow(Image.new("RGB", (64, 48), (9, 99, 199))).save(memory)
    answer = client.post("/arrive?name=IMG_1.HEIC", content=memory.getvalue())
    assert answer.json() == {"path": "media/IMG_1.heic", "kind": "picture"}


def test_an_arrival_that_is_too_large_is_refused(client, path, monkeypatch):
    monkeypatch.setattr("keyer.rehearsal.arrivals.MOST_BYTES", 10)
    answer = client.post("/arrive?name=x.png", content=picture())
    assert answer.status_code == 422
    assert "larger" in answer.text


def test_a_sheet_without_sound_has_no_guide_track(client):
    assert client.get("/sound").status_code == 404


def test_the_guide_track_is_as_long_as_the_sheet(path):
    with wave.open(str(path.parent / "tone.wav"), "wb") as out:
        out.setparams((1, 2, 48000, 0, "NONE", ""))
        out.writeframes(b"\x00\x10" * 9600)
    path.write_text(SHEET + '[[sound]]\nfile = "tone.wav"\nat = 5\n')
    with TestClient(application(Live(Draft(path)))) as client:
        data = client.get("/sound").content
    with wave.open(io.BytesIO(data)) as found:
        assert found.getnframes() == 48000 * 20 // 25
        samples = np.frombuffer(found.readframes(found.getnframes()), "<i2").reshape(-1, 2)
    assert not samples[: 5 * 1920].any()  # frame 5 at 25 frames and 48,000 samples a second
    assert samples[5 * 1920 + 10 : 9 * 1920].all()


def test_no_answer_names_a_folder_of_the_machine(tmp_path):
    folder = tmp_path / "secret-folder"
    folder.mkdir()
    path = folder / "spot.toml"
    path.write_text(SHEET.replace('colour = "#102030"', 'file = "gone.png"'))
    with TestClient(application(Live(Draft(path)))) as client:
        said = client.get("/exact/0").text
        with client.websocket_connect("/live") as socket:
            said += json.dumps(hear(socket, "sheet"))
            socket.send_text(json.dumps({"do": "show", "frame": 0, "rows": 180}))
            said += json.dumps(hear(socket, "picture")[0])
    assert "gone.png" in said
    assert str(tmp_path) not in said


def test_what_is_approved_is_the_saved_file(window, path):
    hear(window, "sheet")
    edit = {"act": "set", "path": "cues[1].name", "value": "Second"}
    window.send_text(json.dumps({"do": "edit", "edits": [edit], "tag": "x"}))
    hear(window, "done")
    window.send_text(json.dumps({"do": "make", "paper": "approve", "frame": 0}))
    assert "Save it first" in hear(window, "refused")["faults"][0]["message"]
    window.send_text(json.dumps({"do": "save"}))
    window.send_text(json.dumps({"do": "make", "paper": "approve", "frame": 0}))
    while not (said := hear(window, "paper")).get("over"):
        pass
    assert (path.parent / said["file"]).is_file()


def test_a_paper_lies_beside_the_sheet_and_replaces_nothing(window, path):
    hear(window, "sheet")
    made = []
    for _ in range(2):
        window.send_text(json.dumps({"do": "make", "paper": "cues", "frame": 0}))
        while not (said := hear(window, "paper")).get("over"):
            pass
        made.append(said["file"])
    assert made == ["spot-cues.html", "spot-2-cues.html"]
    assert all((path.parent / name).read_text().startswith("<!DOCTYPE") for name in made)


def test_a_design_that_cannot_be_shown_names_no_folder_of_ours(path):
    path.write_text(SHEET.replace('colour = "#102030"', 'file = "gone.png"'))
    with (
        TestClient(application(Live(Draft(path)))) as client,
        client.websocket_connect("/live") as socket,
    ):
        hear(socket, "sheet")
        socket.send_text(json.dumps({"do": "designs", "frame": 0}))
        head, _ = hear(socket, "picture")
    assert head["error"] == "this design cannot be shown over this frame."
