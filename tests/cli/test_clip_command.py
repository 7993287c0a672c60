import json
import signal
import subprocess
import sys
import time

import pytest
from media.tones import sine, write_sound

from keyer.cli.clip import Estimate
from keyer.cli.main import perform
from keyer.media.source import open_source

SPOT = """\
version = 1
[sheet]
format = "160x96@25"
length = {length}
start = "10:00:00:00"
[sources.grey]
colour = "#808080"
[sources.ramp]
ramp = true
[[cues]]
source = "grey"
[[cues]]
source = "ramp"
at = 1
transition = {{ kind = "mix", length = {mixed} }}
[[sound]]
file = "tone.wav"
level = -6
"""


@pytest.fixture
def spot(tmp_path):
    write_sound(tmp_path / "tone.wav", sine(2, level=0.5))
    path = tmp_path / "spot.toml"
    path.write_text(SPOT.format(length=25, mixed=20), encoding="utf-8")
    return path


def test_one_line_says_what_was_written_and_how_loud_it_is(spot, tmp_path, capsys):
    """A tone of amplitude 1/2, 6.02 dB lower: a peak of -12.0 dBFS; 1 kHz reads its own level."""
    output = tmp_path / "a.mp4"
    assert perform(["clip", str(spot), "-o", str(output), "--from", "5", "--scale", "50"]) == 0
    out, err = capsys.readouterr()
    lines = out.splitlines()
    assert lines[0].startswith(f"{output}: 20 frames from 10:00:00:05, h264, 80 x 48, 25 frames")
    assert "loudness -12.0 LUFS (ITU-R BS.1770)" in lines[1]
    assert "sample peak -12.0 dBFS" in lines[1]
    assert "cut off at the end" in err
    assert open_source(output).props.frames == 20


def test_json_is_one_object_and_nothing_else(spot, tmp_path, capsys):
    output = tmp_path / "a.gif"
    assert perform(["clip", str(spot), "-o", str(output), "--to", "1s", "--json"]) == 0
    out, err = capsys.readouterr()
    found = json.loads(out)
    assert found["output"] == str(output)
    assert found["sound"] is None
    assert (found["frames"], found["rate"], found["width"]) == (25, "25", 160)
    assert found["notices"] == ["gif holds no sound; it is left out."]
    assert found["notices"][0] in err


def test_json_of_sound(spot, tmp_path, capsys):
    assert perform(["clip", str(spot), "-o", str(tmp_path / "a.mkv"), "--json"]) == 0
    sound = json.loads(capsys.readouterr().out)["sound"]
    assert sound["sample_peak_dbfs"] == pytest.approx(-12.02, abs=0.02)
    assert sound["integrated_lufs"] == pytest.approx(-12, abs=0.2)


@pytest.mark.parametrize(
    ("arguments", "code", "finding"),
    [
        (["-o", "a.avi"], 2, "output must end in .mp4"),
        (["-o", "a.mp4", "--codec", "none"], 2, "codec must be one of"),
        (["-o", "a.mp4", "--from", "soon"], 2, "from must be a time"),
        (["-o", "a.mp4", "--from", "9", "--to", "9"], 2, "to must come after from"),
        (["-o", "a.mp4", "--scale", "0"], 2, "scale must be in"),
        (["-o", "none/a.mp4"], 2, "does not exist"),
        ([], 2, "--output"),
    ],
)
def test_wrong_requests_are_one_line(spot, capsys, monkeypatch, arguments, code, finding):
    monkeypatch.chdir(spot.parent)
    assert perform(["clip", str(spot), *arguments]) == code
    err = capsys.readouterr().err.strip()
    assert finding in err
    assert len(err.splitlines()) == 1


def test_nothing_but_notices_is_said_where_there_is_no_terminal(spot, tmp_path, capsys):
    assert perform(["clip", str(spot), "-o", str(tmp_path / "a.mkv"), "--json"]) == 0
    assert all(line.startswith("keyer: ") for line in capsys.readouterr().err.splitlines())


@pytest.mark.skipif(sys.platform == "win32", reason="signals are for Unix")
@pytest.mark.parametrize("name", ["SIGINT", "SIGTERM", "SIGHUP"])
def test_stopping_it_leaves_nothing(spot, tmp_path, name):
    """Ctrl-C, or a request to end, while pictures are being written."""
    spot.write_text(SPOT.format(length=50_000, mixed=49_000), encoding="utf-8")
    before = sorted(path.name for path in tmp_path.iterdir())
    command = [sys.executable, "-m", "keyer", "clip", str(spot), "-o", str(tmp_path / "a.mp4")]
    with subprocess.Popen(command, stderr=subprocess.PIPE, text=True) as run:
        began = time.monotonic()
        while len(list(tmp_path.iterdir())) == len(before) and time.monotonic() - began < 90:
            time.sleep(0.05)
        time.sleep(0.3)
        run.send_signal(getattr(signal, name))
        _, err = run.communicate(timeout=30)
    assert run.returncode == 130
    assert err.splitlines()[-1] == "keyer: stopped; nothing was half-written."
    assert "Traceback" not in err
    assert sorted(path.name for path in tmp_path.iterdir()) == before


def test_progress_is_shown_on_a_terminal(spot, tmp_path, monkeypatch, capsys):
    """Frames a second and time left, on standard error; gone when done."""
    monkeypatch.setattr(sys.stderr, "isatty", lambda: True)
    monkeypatch.setenv("TERM", "xterm")
    monkeypatch.setenv("COLUMNS", "100")
    assert perform(["clip", str(spot), "-o", str(tmp_path / "a.mkv"), "--json"]) == 0
    out, err = capsys.readouterr()
    json.loads(out)
    assert "frames" in err
    assert "left" in err


SWALLOWING = """
import contextlib, signal, sys
from keyer.media.clip_write import ClipWriter
write = ClipWriter.write
def swallowing(self, picture):
    with contextlib.suppress(KeyboardInterrupt):
        signal.raise_signal(signal.SIGINT)
    write(self, picture)
ClipWriter.write = swallowing
from keyer.__main__ import run
run()
"""


@pytest.mark.skipif(sys.platform == "win32", reason="signals are for Unix")
def test_a_request_to_stop_that_a_library_swallows_is_heard_at_the_next_picture(spot, tmp_path):
    """As where an exception is raised in what a library calls back."""
    spot.write_text(SPOT.format(length=50_000, mixed=49_000), encoding="utf-8")
    before = sorted(path.name for path in tmp_path.iterdir())
    command = [sys.executable, "-c", SWALLOWING, "clip", str(spot), "-o", str(tmp_path / "a.mp4")]
    began = time.monotonic()
    run = subprocess.run(command, stderr=subprocess.PIPE, text=True, check=False, timeout=60)
    assert run.returncode == 130
    assert run.stderr.splitlines()[-1] == "keyer: stopped; nothing was half-written."
    assert sorted(path.name for path in tmp_path.iterdir()) == before
    assert time.monotonic() - began < 60


def test_parts_by_hand_and_joined(tmp_path, capfd):
    """As on two machines that share a disk, then joined on either."""
    sheet = tmp_path / "s.toml"
    sheet.write_text(
        'version = 1\n[sheet]\nformat = "32x16@25"\nlength = 10\n[sources.a]\nramp = true\n'
        '[[cues]]\nsource = "a"\n'
    )
    out = tmp_path / "a.mov"
    order = ["clip", str(sheet), "-o", str(out), "--codec", "png"]
    assert perform([*order, "--part", "2/2"]) == 0
    said = capfd.readouterr().out
    assert "part-002-of-002.mov: pictures 5 to 9" in said
    assert "1 of 2 parts are missing: 1." in said
    assert perform([*order, "--part", "1/2", "--json"]) == 0
    told = json.loads(capfd.readouterr().out)
    assert (told["part"], told["parts"], told["frames"], told["missing"]) == (1, 2, 5, [])
    assert perform([*order, "--parts", "2", "--json"]) == 0
    assert json.loads(capfd.readouterr().out)["frames"] == 10
    assert sorted(path.name for path in tmp_path.iterdir()) == ["a.mov", "s.toml"]


@pytest.mark.parametrize(
    ("asked", "says"),
    [
        (["--part", "3"], "part must be K/N, such as 3/10, got '3'."),
        (["--part", "3/2"], "part must be in [1, 2], got 3."),
        (["--parts", "0"], "parts must be in [1, 10] for 10 pictures, got 0"),
        (["--part", "1/2", "--parts", "2"], "part and parts exclude each other"),
    ],
)
def test_wrong_parts_are_one_line(tmp_path, capfd, asked, says):
    sheet = tmp_path / "s.toml"
    sheet.write_text(
        'version = 1\n[sheet]\nformat = "32x16@25"\nlength = 10\n[sources.a]\nramp = true\n'
        '[[cues]]\nsource = "a"\n'
    )
    code = perform(["clip", str(sheet), "-o", str(tmp_path / "a.mov"), *asked])
    err = capfd.readouterr().err
    assert (code, err.count("\n")) == (2, 1)
    assert says in err
    assert [path.name for path in tmp_path.iterdir()] == ["s.toml"]


def test_a_long_clip_says_once_how_long_the_rest_takes(capsys):
    """By hand: 20 s are over with frame 19, at half a second each 281 frames take 140 s."""
    now = 0.0
    told = Estimate(lambda: now)
    for done in range(1, 301):
        now += 4.0 if done <= 3 else 0.5
        told(done, 300)
    said = capsys.readouterr().err.splitlines()
    assert said == ["keyer: 19 of 300 frames are done; the rest takes about 2 min."]


def test_a_short_clip_says_nothing(capsys):
    now = 0.0
    told = Estimate(lambda: now)
    for done in range(1, 51):
        now += 0.5
        told(done, 50)
    assert capsys.readouterr().err == ""
