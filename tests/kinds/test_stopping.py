"""Each in a process of its own: a stop is heard by the whole process."""

import signal
import subprocess
import sys
import threading
import time

import pytest
from numba.core.caching import FunctionCache

from keyer.cli.main import perform
from keyer.errors import InputFileError
from keyer.kinds import stopping
from keyer.pixel.kernels.kernel_cache import KernelCache

pytestmark = pytest.mark.skipif(sys.platform == "win32", reason="these signals are for Unix")

STOPS = ["SIGINT", "SIGTERM", "SIGHUP"]


def started(code, *, ignoring=()):
    """Start Python code and wait until it says that it is ready; what is ignored is inherited."""
    before = {kind: signal.signal(kind, signal.SIG_IGN) for kind in ignoring}
    process = subprocess.Popen(
        [sys.executable, "-c", code], stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True
    )
    for kind, handler in before.items():
        signal.signal(kind, handler)
    assert process.stdout.readline() == "ready\n"
    return process


WAITING = """
import time
from keyer.kinds import stopping
stopping.listen()
try:
    print("ready", flush=True)
    time.sleep(30)
except KeyboardInterrupt:
    print("taken back", flush=True)
"""


@pytest.mark.parametrize("name", STOPS)
def test_each_stop_raises_the_same(name):
    with started(WAITING) as process:
        process.send_signal(getattr(signal, name))
        assert process.communicate(timeout=20) == ("taken back\n", "")


def test_a_hangup_that_the_program_was_started_to_ignore_is_ignored():
    """As `nohup` does it."""
    with started(WAITING, ignoring=[signal.SIGHUP]) as process:
        process.send_signal(signal.SIGHUP)
        time.sleep(0.3)
        assert process.poll() is None
        process.send_signal(signal.SIGTERM)
        assert process.communicate(timeout=20)[0] == "taken back\n"


LOST = """
import gc, time
from keyer.kinds import stopping
stopping.listen()
class Lost:
    def __del__(self):
        print("ready", flush=True)
        time.sleep(30)  # an exception in here has nobody to go to
try:
    Lost()
    time.sleep(30)
except KeyboardInterrupt:
    print("taken back", flush=True)
"""


def test_a_stop_that_a_callback_loses_is_raised_again():
    with started(LOST) as process:
        process.send_signal(signal.SIGTERM)
        assert process.communicate(timeout=20) == ("taken back\n", "")


STUCK = """
import sys, time
from pathlib import Path
from keyer.kinds import stopping
stopping.PATIENCE = 0.5
stopping.listen()
path = Path(sys.argv[1])
stopping.begin(path)
path.touch()
while True:
    try:
        print("ready", flush=True)
        time.sleep(30)
    except KeyboardInterrupt:
        pass
"""


def test_work_that_does_not_end_is_ended(tmp_path):
    code = STUCK.replace("sys.argv[1]", repr(str(tmp_path / ".keyer-0123456789ab.png")))
    with started(code) as process:
        process.send_signal(signal.SIGHUP)
        assert process.communicate(timeout=20)[1] == "keyer: stopped; nothing was half-written.\n"
    assert process.returncode == 130
    assert not list(tmp_path.iterdir())


def test_a_second_ctrl_c_ends_it_at_once(tmp_path):
    code = STUCK.replace("0.5", "25").replace("sys.argv[1]", repr(str(tmp_path / "a")))
    with started(code) as process:
        process.send_signal(signal.SIGINT)
        time.sleep(1.2)
        process.send_signal(signal.SIGINT)
        process.communicate(timeout=15)
    assert process.returncode == 130
    assert not list(tmp_path.iterdir())


@pytest.mark.parametrize("name", STOPS)
@pytest.mark.parametrize("module", ["typer", "keyer.cli.main", "keyer.cli.still"])
def test_a_stop_while_the_program_is_loaded_prints_no_traceback(module, name):
    """Sent from within, when the module is looked for: no chance of a moment that is never met."""
    code = (
        "import signal, sys\n"
        "class Finder:\n"
        "    def find_spec(self, name, path=None, target=None):\n"
        f"        if name == {module!r}: signal.raise_signal(signal.{name})\n"
        "sys.meta_path.insert(0, Finder())\n"
        "from keyer.__main__ import run\n"
        "run()\n"
    )
    done = subprocess.run(
        [sys.executable, "-c", code, "still", "a.toml", "--at", "1", "-o", "a.png"],
        capture_output=True,
        text=True,
        check=False,
        timeout=60,
    )
    assert (done.returncode, done.stdout) == (130, "")
    assert done.stderr == "keyer: stopped; nothing was half-written.\n"


@pytest.mark.parametrize(
    "error",
    [InputFileError("a.mov is damaged."), OSError(9, "Bad file"), RuntimeError("is closed")],
)
def test_what_fails_because_of_a_stop_is_no_fault_of_an_input(monkeypatch, capsys, error):
    """As where a file is closed that another thread reads."""

    def command(*_args, **_options):
        monkeypatch.setattr(stopping._State, "heard", 1.0)
        try:
            raise KeyboardInterrupt
        finally:
            raise error

    monkeypatch.setattr("keyer.cli.main._command_line", lambda _: command)
    assert perform(["sheet"]) == stopping.INTERRUPTED
    assert capsys.readouterr().err == f"keyer: {stopping.STOPPED}\n"


HELD = """
import time
from keyer.kinds import stopping
stopping.listen()
try:
    with stopping.PutOff():
        print("ready", flush=True)
        until = time.monotonic() + 60
        while stopping._State.put_off is None and time.monotonic() < until:
            time.sleep(0.01)
        print("whole", flush=True)
    time.sleep(60)
except KeyboardInterrupt:
    print("taken back", flush=True)
"""


@pytest.mark.parametrize("name", STOPS)
def test_a_stop_waits_for_what_must_not_be_broken_off(name):
    with started(HELD) as process:
        process.send_signal(getattr(signal, name))
        assert process.communicate(timeout=120) == ("whole\ntaken back\n", "")


def test_a_stop_waits_while_a_kernel_is_loaded(monkeypatch):
    """Without that, one in some hundred stops ended in a segmentation fault."""
    held = []
    monkeypatch.setattr(stopping._State, "main", threading.get_ident())
    monkeypatch.setattr(
        FunctionCache, "load_overload", lambda *_: held.append(stopping._State.held)
    )
    KernelCache.load_overload(KernelCache.__new__(KernelCache), None, None)
    assert (held, stopping._State.held) == ([1], 0)
