import io
from pathlib import Path

import jsonschema
import pytest
from cogapp import Cog
from hypothesis import given
from sheet.making import FEWER, SHEET_PAGES, SPOT, docs, documents

from keyer.sheet.effect_models import KeyTable, TransitionTable
from keyer.sheet.models import Document
from keyer.sheet.reference import json_schema, models, ranges, reference

DOCS = Path(__file__).parents[2] / "docs"


@pytest.mark.parametrize("page", [*SHEET_PAGES, "station.md", "measures.md", "checking.md"])
def test_the_page_is_what_the_models_say(page):
    text = (DOCS / page).read_text(encoding="utf-8")
    cog = Cog()
    cog.set_output(io.StringIO(), io.StringIO())
    assert cog.process_string(text) == text, f"run: cog -r docs/{page}"


def test_every_table_stands_on_one_page_and_in_the_index():
    texts = [(DOCS / page).read_text(encoding="utf-8") for page in SHEET_PAGES]
    for model in models():
        heading = f"### {model.__doc__.partition(': ')[0]}\n"
        assert sum(text.count(heading) for text in texts) == 1, heading
    index = texts[0].partition("## Pages")[2].partition("\n## ")[0]
    assert [page for page in SHEET_PAGES[1:] if f"]({page})" not in index] == []


def test_every_table_and_key_is_on_the_page_with_a_meaning():
    text = reference()
    for model in models():
        title, _, meaning = model.__doc__.partition(": ")
        assert f"### {title}\n" in text
        assert meaning
        for name, field in model.model_fields.items():
            assert f"| `{field.alias or name}` |" in text
            assert field.description
            assert "|" not in field.description


def test_every_number_has_a_range_on_the_page():
    found = ranges()
    for model in models():
        for name, field in model.model_fields.items():
            if field.annotation in (int, float) or field.annotation == float | None:
                assert (model, name) in found, (model, name)


def test_ranges_are_those_of_the_settings():
    # keyer.kinds.settings.Edge, keyer.kinds.field.Modifiers and KeySettings
    found = ranges()
    assert found[TransitionTable, "soft"] == (0, 100)
    assert found[TransitionTable, "aspect"] == (0.1, 10)
    assert found[TransitionTable, "position"] == (-50, 150)
    assert found[KeyTable, "acceptance"] == (10, 180)


@pytest.fixture(scope="module")
def checker():
    schema = json_schema()
    jsonschema.Draft202012Validator.check_schema(schema)
    return jsonschema.Draft202012Validator(schema)


def plain(text):
    import tomllib

    return tomllib.loads(text)


@pytest.mark.parametrize("text", [SPOT, *docs()], ids=range(len(docs()) + 1))
def test_the_schema_accepts_sheets_that_hold(checker, text):
    checker.validate(plain(text))


@FEWER
@given(data=documents())
def test_the_schema_accepts_any_sheet_that_holds(checker, data):
    checker.validate(data)


@pytest.mark.parametrize(
    ("old", "new"),
    [
        ("soft = 3", "soft = 300"),
        ("soft = 3", 'soft = "3"'),
        ("soft = 3", "sfot = 3"),
        ("soft = 3", "position = [50]"),
        ("soft = 3", "position = [50, 500]"),
        ('"fade", length = 25', '"faed", length = 25'),
        ('"#F00"', '"red"'),
        ("version = 1", "version = 2"),
        ('format = "1080p25"', ""),
    ],
)
def test_the_schema_refuses_what_does_not_hold(checker, old, new):
    assert not checker.is_valid(plain(SPOT.replace(old, new)))


def test_the_schema_lets_any_value_be_a_variable(checker):
    assert checker.is_valid(plain(SPOT.replace("soft = 3", 'soft = "${softness}"')))


def test_the_schema_carries_the_meanings():
    schema = json_schema()
    assert schema["title"] == "Effect sheet"
    entry = schema["$defs"]["TransitionTable"]["properties"]["border"]
    assert entry["description"] == TransitionTable.model_fields["border"].description
    assert "in" in schema["$defs"]["OverlayTable"]["properties"]
    assert "null" not in str(schema)
    assert Document.__name__ not in schema["$defs"]
