"""The page about titles names every key of a design, and its example is one."""

import re
from pathlib import Path

import pytest

from keyer.titles import design, model
from keyer.titles.read import parse_design

PAGE = (Path(__file__).parents[2] / "docs" / "titles.md").read_text(encoding="utf-8")
PARTS = [
    design.Design, design.FieldRule, design.Box, design.Text, design.Move, design.Flash,
    model.TextStyle, model.Outline, model.Shadow, model.Ramp, model.Panel,
]  # fmt: skip


@pytest.mark.parametrize("part", PARTS, ids=lambda part: part.__name__)
def test_every_key_is_told(part):
    missing = [
        name for name in part.model_fields if f"`{name}`" not in PAGE and f"[{name}" not in PAGE
    ]
    assert not missing


def test_example_is_a_design():
    example = re.findall(r"```toml\n(name = .*?)```", PAGE, re.DOTALL)[0]
    assert parse_design(example).design.name == "Two lines"
