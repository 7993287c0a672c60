"""The page about titles names every key of a design, and its example is one."""

import re
from pathlib import Path

import pytest

from keyer.titles import design, model, steps, table_model
from keyer.titles.read import parse_design

PAGE = (Path(__file__).parents[2] / "docs" / "titles.md").read_text(encoding="utf-8")
PARTS = [
    design.Design, design.FieldRule, design.Box, design.Text, design.Move, design.Flash,
    model.TextStyle, model.Outline, model.Shadow, model.Ramp, model.Panel, model.Rule,
    model.BoxPicture, steps.Step, table_model.Table, table_model.TableColumn, table_model.Stripe,
    table_model.Line,
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


@pytest.mark.parametrize("begins", ["[[boxes]]", "[[build]]"])
def test_further_examples_hold_in_a_design(begins):
    example = re.findall(rf"```toml\n({re.escape(begins)}.*?)```", PAGE, re.DOTALL)[0]
    boxes = (
        ""
        if begins == "[[boxes]]"
        else (
            '[[boxes]]\nid = "panel"\nplace = "left"\n'
            '[[boxes.texts]]\nid = "name"\ntext = "A"\nstyle = "s"\n'
            '[[boxes.texts]]\nid = "role"\ntext = "B"\nstyle = "s"\n'
        )
    )
    found = parse_design(f'name = "Trial"\n[styles.s]\n{boxes}{example}').design
    assert found.boxes
