"""Texts with fields and tags."""

import pytest

from keyer.errors import SettingError
from keyer.titles.markup import Span, fill, parse


def test_fields_and_tags():
    spans = parse("${name}, <small>the ${role}</small>!", "big")
    assert spans == (
        Span("big", field="name"),
        Span("big", ", "),
        Span("small", "the "),
        Span("small", field="role"),
        Span("big", "!"),
    )
    assert fill(spans, {"name": "A", "role": "b"}) == [
        ("A, ", "big"),
        ("the b", "small"),
        ("!", "big"),
    ]


def test_values_are_taken_as_they_are():
    assert fill(parse("${a}", "s"), {"a": "<b>{c}</b> & <<"}) == [("<b>{c}</b> & <<", "s")]


def test_signs_written_twice_stand_for_themselves():
    assert fill(parse("$${x} {y} $ << a < b", "s"), {}) == [("${x} {y} $ < a < b", "s")]


@pytest.mark.parametrize(
    ("text", "says"),
    [
        ("<b>x", "without </b>"),
        ("x</b>", "in order"),
        ("<a><b>x</a></b>", "in order"),
    ],
)
def test_faults_are_named(text, says):
    with pytest.raises(SettingError, match=says):
        parse(text, "s")


def test_field_without_a_value():
    with pytest.raises(SettingError, match=r"\$\{nam\} must have a value\. Is it 'name'\?"):
        fill(parse("${nam}", "s"), {"name": "x"})
