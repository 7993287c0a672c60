"""What is loaded when: the heavy libraries only where a picture is worked on."""

import subprocess
import sys

import numpy as np
import pytest
from PIL import Image
from support import demo_picture

from keyer.cli.main import perform

HEAVY = ("numba", "cv2", "av", "numpy", "PIL")


@pytest.mark.parametrize(
    "code",
    [
        "import keyer",
        "from keyer.cli.main import perform\nperform(['--help'])",
        "from keyer.cli.main import perform\nperform(['key', '--help'])",
    ],
)
def test_nothing_heavy_is_loaded(code):
    check = f"import sys\n{code}\nprint('LOADED', [m for m in {HEAVY} if m in sys.modules])"
    done = subprocess.run([sys.executable, "-c", check], capture_output=True, text=True, check=True)
    assert done.stdout.strip().endswith("LOADED []"), done.stdout


def test_a_plan_loads_patterns_only_where_one_is_named():
    check = (
        "import sys\nimport keyer.render.one_key\n"
        "late = ('keyer.library', 'keyer.pixel.wipes.fields', 'keyer.pixel.wipes.background')\n"
        "print([m for m in sys.modules if m.startswith(late)])"
    )
    done = subprocess.run([sys.executable, "-c", check], capture_output=True, text=True, check=True)
    assert done.stdout.strip() == "[]"


@pytest.mark.parametrize(
    "command",
    [
        ["key", "fg.png", "--over", "bg.png", "-o", "out.png"],
        ["key", "fg.png", "--over", "bg.png", "-o", "out.png", "--board", "board.png"],
        ["mix", "fg.png", "bg.png", "--at", "0.4", "-o", "out.png"],
        ["key", "fg.jpg", "--over", "bg.png", "-o", "out.png"],
        ["mix", "fg.png", "bg.png", "--at", "0.4", "-o", "out.png", "--light", "linear"],
        ["measure", "fg.png"],
        ["survey", "fg.png"],
    ],
    ids=" ".join,
)
def test_one_picture_needs_no_compiler(command, tmp_path):
    """To load it takes longer than the work; the first time, many seconds."""
    plate = Image.fromarray(demo_picture("presenter.png", (320, 180)))
    plate.save(tmp_path / "fg.png")
    plate.save(tmp_path / "fg.jpg", quality=95)
    Image.new("RGB", (320, 180), (120, 90, 60)).save(tmp_path / "bg.png")
    check = (
        f"import sys\nfrom keyer.cli.main import perform\ncode = perform({command})\n"
        "print('LOADED', code, [m for m in ('numba', 'llvmlite') if m in sys.modules])"
    )
    done = subprocess.run(
        [sys.executable, "-c", check], capture_output=True, text=True, check=True, cwd=tmp_path
    )
    assert done.stdout.strip().endswith("LOADED 0 []"), done.stdout + done.stderr
    assert "compiling" not in done.stderr


@pytest.mark.parametrize("command", [["key", "a.png", "--over"], ["mix", "a.png", "--at", "0.5"]])
def test_an_output_of_no_kind_is_refused_before_any_work(command, tmp_path, monkeypatch, capsys):
    monkeypatch.chdir(tmp_path)
    assert perform([*command, "b.png", "-o", "x.doc"]) == 2
    assert "x.doc must end in" in capsys.readouterr().err  # and not that a.png does not exist


def test_a_key_without_the_compiler_is_the_key_with_it(tmp_path):
    plate = Image.fromarray(demo_picture("presenter.png", (640, 360)))
    plate.save(tmp_path / "fg.png")
    Image.new("RGB", (640, 360), (120, 90, 60)).save(tmp_path / "bg.png")
    found = []
    for form in ("jit.plainly", "contextlib.nullcontext"):
        code = (
            "import contextlib\nfrom keyer.pixel.kernels import jit\n"
            f"jit.plainly = {form}\nfrom keyer.cli.main import perform\n"
            "perform(['key', 'fg.png', '--over', 'bg.png', '-o', 'out.png', '--force'])"
        )
        subprocess.run([sys.executable, "-c", code], check=True, cwd=tmp_path, capture_output=True)
        found.append(np.asarray(Image.open(tmp_path / "out.png")).astype(int))
    off = np.abs(found[0] - found[1])
    assert off.max() <= 1  # a code that falls on either side of a half
    assert np.mean(off > 0) < 1e-4
