"""Patterns as pictures, and the page of the documentation."""

import io
from pathlib import Path

import numpy as np
import pytest
from cogapp import Cog
from PIL import Image

from keyer.library import load_patterns
from keyer.library.drawn import draw_pattern
from keyer.library.reference import (
    function_table,
    jumps,
    look_pictures,
    pattern_pictures,
    pattern_tables,
)
from keyer.pixel.wipes.fields import FUNCTIONS

DOCS = Path(__file__).parents[2] / "docs"


def test_the_page_is_what_the_library_says():
    text = (DOCS / "patterns.md").read_text(encoding="utf-8")
    cog = Cog()
    cog.set_output(io.StringIO(), io.StringIO())
    assert cog.process_string(text) == text, "run: cog -r docs/patterns.md"


def test_the_pages_pictures_are_what_the_library_draws():
    """Quantised to 32 colours, so near and not equal."""
    drawn = dict(pattern_pictures())
    kept = {path.name for path in (DOCS / "pictures" / "patterns").iterdir()}
    assert kept == set(drawn), "run: python .ci/pattern_pictures.py"
    for name, picture in drawn.items():
        stored = np.asarray(Image.open(DOCS / "pictures" / "patterns" / name).convert("RGB"))
        away = np.abs(stored.astype(int) - picture.astype(int))
        assert away.mean() < 1.5, f"{name}: run: python .ci/pattern_pictures.py"


def test_the_backgrounds_pictures_are_what_the_library_draws():
    for name, picture in look_pictures():
        stored = np.asarray(Image.open(DOCS / "pictures" / "backgrounds" / name).convert("RGB"))
        away = np.abs(stored.astype(int) - picture.astype(int))
        assert away.mean() < 3, f"{name}: run: python .ci/pattern_pictures.py"


def test_every_pattern_and_function_is_on_the_page():
    page = pattern_tables()
    for pattern in load_patterns():
        assert f"`{pattern.name}`" in page
        assert "|" not in pattern.summary
    table = function_table()
    for name in set(FUNCTIONS) - {"picture"}:
        assert f"| `{name}` |" in table


@pytest.mark.parametrize(
    ("name", "expected"),
    [
        ("barWipe", False),
        ("starWipe", False),
        ("fanWipe", False),
        ("clockWipe", True),
        ("snakeWipe", True),
        ("doubleSweepWipe/parallelVertical", True),
    ],
)
def test_fields_that_jump_are_told_apart(name, expected):
    assert jumps(load_patterns().find(name)) is expected


@pytest.mark.parametrize("pattern", load_patterns().of_family("move"), ids=lambda p: p.name)
def test_moves_and_mixes_can_be_drawn(pattern):
    """At 0 the first picture; on the way something else."""
    first = draw_pattern(pattern, 64, 36, progress=0.0)
    assert np.abs(draw_pattern(pattern, 64, 36, progress=0.5) - first).max() > 0.1
