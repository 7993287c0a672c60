"""Every example runs as it is and leaves its picture."""

import subprocess
import sys
from pathlib import Path

import pytest
from PIL import Image

FOLDER = Path(__file__).parent.parent / "examples"
EXAMPLES = sorted(FOLDER.glob("[0-9]*.py"))


def test_there_are_examples():
    assert EXAMPLES


@pytest.mark.parametrize("example", EXAMPLES, ids=lambda path: path.stem)
def test_example(example, tmp_path):
    subprocess.run([sys.executable, str(example)], cwd=tmp_path, check=True, capture_output=True)
    with Image.open(tmp_path / f"{example.stem[3:]}.png") as picture:
        low, high = picture.convert("L").getextrema()
        assert high - low > 50, "the picture shows nothing"
