import io
import json
import logging
import os
import subprocess
import sys
from pathlib import Path

import pytest

from keyer.cli.common import print_json, print_table
from keyer.cli.voice import escaped, own_voice, plain, say, tell

NASTY = "a\x1b]0;mine\x07\x9b2J\r\u202eb\u2028c\udc80[bold]:skull:"


def test_nothing_but_text_is_left():
    shown = plain(NASTY)
    assert shown == r"a\x1b]0;mine\x07\x9b2J\r\u202eb\u2028c\udc80[bold]:skull:"
    assert plain("Zürich, \u0627\u0644, \u0915\u094d\u200d\u0937") == (
        "Zürich, \u0627\u0644, \u0915\u094d\u200d\u0937"  # joiners are letters' business
    )


def test_lines_tables_and_json_go_through_it(capsys):
    say(NASTY)
    tell(NASTY)
    print_table(("name",), [(NASTY,)])
    print_json({"name": NASTY})
    out, err = capsys.readouterr()
    for text in (out, err):
        assert not set(text) & set("\x1b\x07\x9b\r\u202e\u2028\udc80")
    assert out.count("[bold]:skull:") == 3
    assert json.loads(out[out.index("{") :])["name"] == NASTY


def test_endless_words_and_lines_are_cut(capsys):
    tell(f"row 2: accent got '{'x' * 20_000}z'. White is #FFFFFF.", "a b " * 5000)
    first, second = capsys.readouterr().err.splitlines()
    assert first.startswith("row 2: accent got 'xxx")
    assert first.endswith("xz'. White is #FFFFFF.")
    assert len(first) < 400
    assert len(second) < 2100
    assert second.endswith("... and 18000 letters more.")


def test_escaped_json_is_the_same_json():
    assert json.loads(escaped(json.dumps({"a": NASTY}, ensure_ascii=False))) == {"a": NASTY}


def test_output_that_takes_ascii_alone(monkeypatch):
    """As under LC_ALL=C: nothing is a defect, and JSON stays JSON."""
    stream = io.TextIOWrapper(io.BytesIO(), "ascii", errors="backslashreplace")
    monkeypatch.setattr(sys, "stdout", stream)
    say("Zürich")
    print_json({"town": "Zürich"})
    stream.flush()
    first, rest = stream.buffer.getvalue().decode("ascii").split("\n", 1)
    assert first == r"Z\xfcrich"
    assert json.loads(rest) == {"town": "Zürich"}


NOISY = """
import os, sys, threading, warnings, logging
import keyer.cli.main as main
def noisy(arguments):
    os.write(2, b"libpng warning: foreign\\n")
    warnings.warn("foreign")
    thread = threading.Thread(target=lambda: 1 / 0)
    thread.start()
    thread.join()
    main._say("our own")
    return 0
main._performed = noisy
from keyer.__main__ import run
run()
"""


def test_what_libraries_print_of_their_own_accord_is_not_heard():
    done = subprocess.run(
        [sys.executable, "-c", NOISY], capture_output=True, text=True, check=False, timeout=60
    )
    assert (done.returncode, done.stderr) == (0, "keyer: our own\n")


def ended(*arguments, stdout=subprocess.PIPE, **environment):
    return subprocess.run(
        [sys.executable, "-m", "keyer", *arguments],
        stdout=stdout, stderr=subprocess.PIPE, text=True, check=False, timeout=60,
        env={**os.environ, **environment},
    )  # fmt: skip


@pytest.mark.skipif(sys.platform != "linux", reason="/dev/full is for Linux")
def test_a_full_disk_under_standard_output():
    with Path("/dev/full").open("w") as full:
        done = ended("patterns", "--family", "move", stdout=full)
    assert done.returncode == 3
    assert done.stderr.startswith("keyer: standard output cannot be written: no space left")
    assert len(done.stderr.splitlines()) == 1


def test_the_list_of_patterns_on_an_ascii_terminal():
    done = ended("patterns", "--family", "move", PYTHONIOENCODING="ascii:strict")
    assert (done.returncode, done.stderr) == (0, "")
    assert done.stdout.isascii()


@pytest.mark.skipif(sys.platform == "win32", reason="pipes are closed otherwise there")
def test_a_reader_that_goes_away_is_no_defect():
    command = f"'{sys.executable}' -m keyer patterns --json | true; exit ${{PIPESTATUS[0]}}"
    done = subprocess.run(
        ["bash", "-c", command], capture_output=True, text=True, check=False, timeout=60
    )
    assert done.returncode in (0, 141)
    assert done.stderr == ""


def test_what_libraries_log_is_not_printed(capfd, monkeypatch):
    """A log that nobody reads is printed by the standard library's last resort."""
    monkeypatch.setattr(logging.getLogger(), "handlers", [])
    with own_voice():
        logging.getLogger("PIL.TiffImagePlugin").error("More samples per pixel than expected")
        tell("keyer: done")
    assert capfd.readouterr().err == "keyer: done\n"
    with own_voice(debug=True):
        logging.getLogger("PIL.TiffImagePlugin").error("More samples per pixel than expected")
    assert "More samples" in capfd.readouterr().err
