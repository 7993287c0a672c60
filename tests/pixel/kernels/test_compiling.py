"""All kernels in one go: the list of what they are called with, and that nothing is left over."""

import importlib
import inspect
import os
import pkgutil
import subprocess
import sys

import numpy as np
import pytest

import keyer.pixel
from keyer.pixel.colour.encode_ycc import CodeLimits
from keyer.pixel.kernels import compiling, jit
from keyer.pixel.kernels.compiling import kernel_named, types_of
from keyer.pixel.kernels.signatures import SIGNATURES


def _kernels():
    found = {}
    for package in (keyer.pixel, importlib.import_module("keyer.measure")):
        for module in pkgutil.walk_packages(package.__path__, f"{package.__name__}."):
            for one in vars(importlib.import_module(module.name)).values():
                if isinstance(one, jit.Kernel):
                    found[f"{one.function.__module__}.{one.function.__qualname__}"] = one
    return found


def test_every_kernel_is_listed_or_called_by_another():
    """One that is not is waited for by itself: `keyer.pixel.kernels.signatures` lacks it."""
    kernels = _kernels()
    assert set(SIGNATURES) <= set(kernels)
    called = set()
    for one in kernels.values():
        names = one.function.__globals__
        inner = (names.get(name) for name in one.function.__code__.co_names)
        called |= {id(kernel) for kernel in inner if isinstance(kernel, jit.Kernel)}
    missing = [n for n, k in kernels.items() if n not in SIGNATURES and id(k) not in called]
    assert missing == []


def test_every_signature_has_as_many_arguments_as_its_kernel():
    for name, signatures in SIGNATURES.items():
        parameters = inspect.signature(kernel_named(name).function).parameters
        for signature in signatures:
            assert len(types_of(signature)) == len(parameters), name


F4, FIVE = np.float32(1), (np.float32(1),) * 5


@pytest.mark.parametrize(
    ("words", "values"),
    [
        ("f4 i8 b1", (F4, 3, True)),
        ("f4:2 u2:1", (np.zeros((2, 3), np.float32), np.zeros(4, np.uint16))),
        ("u1:3A i4:2", (np.zeros((2, 4, 4), np.uint8)[:, 1:3], np.zeros((1, 1), np.int32))),
        ("(f4 f4) (f4 i8) f4", ((F4, F4), (F4, 2), F4)),
        (
            "keyer.pixel.colour.encode_ycc.CodeLimits(f4 f4 f4 f4 f4 f4) i8",
            (CodeLimits(F4, *FIVE), 4),
        ),
    ],
)
def test_signatures_are_read(words, values):
    import numba

    assert types_of(words) == tuple(map(numba.typeof, values))


def add(values, more):
    for i in range(values.size):
        values[i] += more


def halve(values):
    for i in range(values.size):
        values[i] /= 2


ADD, HALVE = jit.kernel(add), jit.kernel(halve)


def test_one_that_is_waited_for_brings_all_of_them_and_is_said_once(tmp_path, monkeypatch):
    listed = {f"{__name__}.ADD": ("f4:1 f4", "f4:2 f4"), f"{__name__}.HALVE": ("f4:1",)}
    monkeypatch.setitem(sys.modules, __name__, sys.modules.get(__name__, _here()))
    monkeypatch.setattr(compiling, "SIGNATURES", listed)
    monkeypatch.setattr(jit, "_folder", lambda: str(tmp_path))
    monkeypatch.setattr(jit, "compiled_before", lambda _: False)
    monkeypatch.setattr(jit._State, "all_compiled", False)
    said = []
    for _ in range(2):
        jit.before_waiting(lambda: said.append("wait"))
        HALVE(np.ones(3, np.float32))
        jit.kernel(add)(np.ones(3, np.float32), np.float32(1))
    jit.before_waiting(None)
    assert said == ["wait"]
    assert len(ADD.made().signatures) == 2
    assert len(HALVE.made().signatures) == 1


def _here():
    from types import ModuleType

    module = ModuleType(__name__)
    module.ADD, module.HALVE = ADD, HALVE
    return module


COMMANDS = """
import sys
from keyer.cli.main import perform
from PIL import Image
for name, shade in (("a", 30), ("b", 200)):
    Image.new("RGB", (96, 54), (shade, 120, 40)).save(name + ".png")
open("s.toml", "w").write('''
version = 1
[sheet]
format = "96x54@25"
length = 4
[sources]
a = { file = "a.png" }
b = { file = "b.png" }
[[cues]]
source = "a"
[[cues]]
source = "b"
at = 1
transition = { kind = "wipe", length = 2, pattern = "ellipseWipe/circle", soft = 5.0 }
''')
for line in sys.argv[1:]:
    assert perform(line.split()) in (0, 4), line
"""


@pytest.mark.slow
@pytest.mark.timeout(600)
def test_the_first_command_compiles_for_all_others(tmp_path):
    """Every kind of command, each in a process of its own, with nothing kept at first."""
    lines = [
        "wipe a.png b.png --pattern 1 -o w.png --force",
        "clip s.toml -o c.mp4 --force",
        "clip s.toml -o c.mkv --codec ffv1 --force",
        "clip s.toml -o c.mov --codec prores-4444 --force",
        "check s.toml",
        "key a.png --over b.png --quality fast -o k.png --force",
        "wipe a.png b.png --pattern 201 --modulate sine,4,20 -o w.png --force",
    ]
    environment = os.environ | {"KEYER_CACHE_DIR": str(tmp_path / "kept")}
    kept = None
    for line in lines:
        done = subprocess.run(
            [sys.executable, "-c", COMMANDS, line],
            capture_output=True, text=True, check=True, cwd=tmp_path, env=environment,
        )  # fmt: skip
        assert ("compiling" in done.stderr) == (kept is None), line + done.stderr
        now = {file.name for file in (tmp_path / "kept").rglob("*.nbc")}
        assert kept is None or now == kept, line
        kept = now
