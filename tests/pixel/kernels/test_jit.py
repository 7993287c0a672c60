import os
import stat
import subprocess
import sys

import numpy as np
import pytest

from keyer.kinds.version import __version__
from keyer.pixel.kernels import compiling, jit, kernel_cache

CODE = """
import numpy as np
from keyer.pixel.kernels.jit import compiled_before
from keyer.pixel.compose.mix import _weighted
before = compiled_before(_weighted.function)
a = np.zeros(8, np.float32)
_weighted(a, a + 1, np.float32(0.25))
print(float(a[0]), before)
"""


def _run(**environment):
    done = subprocess.run(
        [sys.executable, "-c", CODE],
        capture_output=True,
        text=True,
        check=True,
        env=os.environ | environment,
    )
    return done.stdout.split()


def test_kernels_are_kept_in_the_folder_that_is_named(tmp_path):
    folder = tmp_path / "kept"
    assert _run(KEYER_CACHE_DIR=str(folder)) == ["0.25", "False"]
    assert _run(KEYER_CACHE_DIR=str(folder)) == ["0.25", "True"]
    assert list(folder.rglob("*.nbi"))
    assert stat.S_IMODE((folder / __version__).stat().st_mode) == 0o700


def test_without_a_writable_folder_kernels_are_compiled_anew(tmp_path):
    """A plain file stands where every folder would be, so none can be made, even by root."""
    (tmp_path / "file").write_text("")
    nowhere = str(tmp_path / "file" / "below")
    found = _run(KEYER_CACHE_DIR=nowhere, XDG_CACHE_HOME=nowhere, TMPDIR=nowhere, HOME=nowhere)
    assert found[0] == "0.25"


def test_a_folder_that_others_may_write_is_refused(tmp_path, monkeypatch):
    shared = tmp_path / __version__
    shared.mkdir()
    shared.chmod(0o777)
    monkeypatch.setenv("KEYER_CACHE_DIR", str(tmp_path))
    assert jit.cache_folder() != str(shared)


@pytest.mark.skipif(not hasattr(os, "getuid"), reason="no owners on this system")
def test_a_folder_of_somebody_else_is_refused(tmp_path, monkeypatch):
    monkeypatch.setenv("KEYER_CACHE_DIR", str(tmp_path))
    monkeypatch.setattr(os, "getuid", lambda: 12345)
    assert jit.cache_folder() != str(tmp_path / __version__)


@pytest.mark.skipif(not hasattr(os, "getuid"), reason="no owners on this system")
@pytest.mark.parametrize("above", [1, 2])
def test_a_folder_below_one_of_somebody_else_is_refused(tmp_path, monkeypatch, above):
    """They could rename it and put another in its place."""
    folder = tmp_path / "theirs" / "keyer"
    folder.mkdir(parents=True)
    real = os.stat

    def stat_of(path, *arguments, **named):
        found = real(path, *arguments, **named)
        owners = [folder, folder.parent][above - 1]
        if str(path) != str(owners):
            return found
        return os.stat_result((*found[:4], 12345, *found[5:]))

    monkeypatch.setenv("KEYER_CACHE_DIR", str(folder))
    assert jit.cache_folder() == str(folder / __version__)
    monkeypatch.setattr(os, "stat", stat_of)
    assert jit.cache_folder() != str(folder / __version__)


def test_a_folder_that_all_may_rename_in_is_refused_unless_it_is_sticky(tmp_path, monkeypatch):
    folder = tmp_path / "shared" / "keyer"
    folder.mkdir(parents=True)
    monkeypatch.setenv("KEYER_CACHE_DIR", str(folder))
    folder.parent.chmod(0o777)
    assert jit.cache_folder() != str(folder / __version__)
    folder.parent.chmod(0o1777)
    assert jit.cache_folder() == str(folder / __version__)


def test_a_link_counts_for_what_it_leads_to(tmp_path, monkeypatch):
    (tmp_path / "there").mkdir()
    (tmp_path / "link").symlink_to(tmp_path / "there")
    monkeypatch.setenv("KEYER_CACHE_DIR", str(tmp_path / "link"))
    assert jit.cache_folder() == str(tmp_path / "there" / __version__)


def _emptied(data):
    return b""


def _garbage(data):
    return bytes(range(256)) * 3


def _cut(data):
    return data[: len(data) // 2]


def _turned(data):
    """One bit of the code turned over."""
    middle = len(data) // 2
    return data[:middle] + bytes([data[middle] ^ 1]) + data[middle + 1 :]


def double(values):
    for i in range(values.size):
        values[i] *= 2


def quadruple(values):
    DOUBLE(values)
    DOUBLE(values)


DOUBLE = jit.kernel(double)


def test_nothing_is_compiled_until_it_is_called():
    kernel = jit.kernel(double)
    assert kernel._made is None
    values = np.arange(3, dtype=np.float32)
    kernel(values)
    assert values.tolist() == [0, 2, 4]
    assert kernel._made is not None


def test_a_kernel_may_call_another():
    values = np.arange(3, dtype=np.float32)
    jit.kernel(quadruple)(values)
    assert values.tolist() == [0, 4, 8]


def test_the_plain_form_is_run_where_it_is_asked_for_and_nowhere_else():
    ran = []
    kernel = jit.kernel_beside(ran.append)(double)
    with jit.plainly():
        kernel("plain")
        with jit.plainly():
            kernel("again")
        kernel("still")
    assert ran == ["plain", "again", "still"]
    kernel(np.ones(1, np.float32))
    assert len(ran) == 3


def test_code_of_a_file_that_was_edited_since_is_not_kept(tmp_path):
    """Else the old code would be taken for that of the new file by the next process."""
    (tmp_path / "edited.py").write_text("def scale(a):\n    a[0] *= 2.0\n")
    code = (
        "import pathlib, numpy, edited\nfrom keyer.pixel.kernels.jit import kernel\n"
        "scale = kernel(edited.scale)\nfile = pathlib.Path('edited.py')\n"
        "file.write_text(file.read_text().replace('2.0', '3.0'))\n"
        "a = numpy.ones(1)\nscale(a)\nprint(a[0])"
    )
    for expected in ("2.0", "3.0"):
        done = subprocess.run(
            [sys.executable, "-c", code],
            capture_output=True,
            text=True,
            check=True,
            cwd=tmp_path,
            env=os.environ
            | {
                "KEYER_CACHE_DIR": str(tmp_path / "kept"),
                "PYTHONPATH": ".",
                "PYTHONDONTWRITEBYTECODE": "1",  # bytecode tells files apart by the second
            },
        )
        assert done.stdout.strip() == expected


def test_waiting_is_said_once_and_only_where_nothing_is_kept(monkeypatch):
    said = []
    monkeypatch.setattr(jit, "compiled_before", lambda _: False)
    monkeypatch.setattr(jit._State, "all_compiled", False)
    monkeypatch.setattr(compiling, "SIGNATURES", {})  # what is waited for takes long
    jit.before_waiting(lambda: said.append("wait"))
    for _ in range(2):
        jit.kernel(double)(np.ones(1, np.float32))
    assert said == ["wait"]
    monkeypatch.setattr(jit, "compiled_before", lambda _: True)
    jit.before_waiting(lambda: said.append("wait"))
    jit.kernel(double)(np.ones(1, np.float32))
    assert said == ["wait"]


def test_without_a_folder_nothing_is_kept(monkeypatch):
    monkeypatch.setattr(jit, "_folder", lambda: None)
    jit._kept.cache_clear()
    assert jit.compiled_before(double) is False
    assert jit.any_kept() is False
    jit._kept.cache_clear()


@pytest.fixture
def compiled(tmp_path, monkeypatch):
    """Compile `double` with the code kept in a folder, as each run of the program does."""
    import numba

    monkeypatch.setattr(jit, "_folder", lambda: str(tmp_path))
    monkeypatch.setattr(numba.config, "CACHE_DIR", str(tmp_path))

    def run():
        made = jit._compiled(double, keep=True)
        values = np.ones(8, np.float32)
        made(values)
        assert (values == 2).all()
        return sum(made.stats.cache_hits.values()), sum(made.stats.cache_misses.values())

    return run


@pytest.mark.parametrize("suffix", ["nbi", "nbc"])
@pytest.mark.parametrize("damage", [_emptied, _cut, _turned, _garbage])
def test_a_damaged_file_is_compiled_again(tmp_path, compiled, suffix, damage):
    assert compiled() == (0, 1)
    assert compiled() == (1, 0)
    (file,) = tmp_path.rglob(f"*.{suffix}")
    file.write_bytes(damage(file.read_bytes()))
    assert compiled() == (0, 1)
    assert compiled() == (1, 0)  # mended on disk as well


def test_a_disk_that_keeps_no_code_is_no_fault(tmp_path, compiled, monkeypatch):
    def full(*_):
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(kernel_cache._SealedFiles, "_seal", full)
    assert compiled() == (0, 1)
    assert compiled() == (0, 1)
