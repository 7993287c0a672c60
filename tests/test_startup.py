"""What is loaded when: the heavy libraries only where a picture is worked on."""

import subprocess
import sys

import pytest

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
        "late = ('keyer.library', 'keyer.pixel.fields', 'keyer.pixel.background')\n"
        "print([m for m in sys.modules if m.startswith(late)])"
    )
    done = subprocess.run([sys.executable, "-c", check], capture_output=True, text=True, check=True)
    assert done.stdout.strip() == "[]"
