import tomllib
from itertools import count

import pytest
import tomlkit
from hypothesis import given
from hypothesis import strategies as st
from sheet.making import SPOT, docs, documents, line_of

from keyer.documents.locate import line_map, read_path, show_path
from keyer.errors import SettingError

HARD = '''\
# a comment with [brackets] and = signs
top = 1
"quoted key" = 2
'it''s' = 3
a.b . "c d".e = 4
text = """
[not.a.table]
x = 1
"""
raw = \'\'\'
[[nor.this]]
\'\'\'
quotes = """ends in quotes"""""
escaped = "a \\" # no comment"
list = [
    1, # one
    [2, 3],

    { p = 5, q.r = [6] }, # three
]
date = 1979-05-27 07:32:00
empty = []
none = {}

[ t . u ] # header
v = "after"
[[t.w]]
x = 1
[[t.w]]
x = 2
[t.w.y]
z = 3
[[t.w.deep]]
k = 1
[[t.w.deep]]
k = 2
'''
HARD = HARD.replace("'it''s'", "'its'")


@pytest.mark.parametrize(
    ("path", "mark"),
    [
        (("top",), "top = 1"),
        (("quoted key",), '"quoted key"'),
        (("its",), "'its'"),
        (("a",), "a.b . "),
        (("a", "b", "c d", "e"), "a.b . "),
        (("text",), "text ="),
        (("raw",), "raw ="),
        (("quotes",), "quotes ="),
        (("escaped",), "escaped ="),
        (("list",), "list ="),
        (("list", 0), "1, # one"),
        (("list", 1), "[2, 3]"),
        (("list", 1, 1), "[2, 3]"),
        (("list", 2, "p"), "{ p = 5"),
        (("list", 2, "q", "r", 0), "{ p = 5"),
        (("date",), "1979"),
        (("empty",), "empty"),
        (("none",), "none"),
        (("t",), "[ t . u ]"),
        (("t", "u"), "[ t . u ]"),
        (("t", "u", "v"), "after"),
        (("t", "w", 0, "x"), "x = 1\n[[t.w]]"),
        (("t", "w", 1, "x"), "x = 2"),
        (("t", "w", 1, "y", "z"), "z = 3"),
        (("t", "w", 1, "deep", 0, "k"), "k = 1"),
        (("t", "w", 1, "deep", 1, "k"), "k = 2"),
    ],
)
def test_every_form_of_toml_is_found(path, mark):
    tomllib.loads(HARD)  # the map is made for valid TOML
    line = HARD[: HARD.index(mark)].count("\n") + 1
    assert line_map(HARD)[path] == line
    assert line_map(HARD.replace("\n", "\r\n"))[path] == line


def test_list_items_of_tables_stand_at_their_headers():
    lines = line_map(SPOT)
    assert lines["cues", 1] == line_of(SPOT, "[[cues]] # after the oars")
    assert lines["cues", 1, "transition", "border_colour"] == line_of(SPOT, "border_colour")
    assert lines["overlays", 0, "placement", "keyframes", 1, "at"] == line_of(SPOT, 'at = "2s", p')


def leaves(data, path=()):
    if isinstance(data, dict):
        for key, value in data.items():
            yield from leaves(value, (*path, key))
    elif isinstance(data, list):
        for index, value in enumerate(data):
            yield from leaves(value, (*path, index))
    else:
        yield path


def numbered(data, numbers):
    """Same form, each leaf its own number."""
    if isinstance(data, dict):
        return {key: numbered(value, numbers) for key, value in data.items()}
    if isinstance(data, list):
        return [numbered(value, numbers) for value in data]
    return next(numbers)


trees = st.recursive(
    st.none(),
    lambda inner: (
        st.lists(inner, max_size=3)
        | st.dictionaries(
            st.text(st.characters(exclude_categories=["Cs"]), max_size=4), inner, max_size=3
        )
    ),
    max_leaves=20,
)


@given(st.dictionaries(st.text("ab c\"'.#é\\\n", max_size=4), trees, max_size=4))
def test_every_value_stands_on_the_line_that_is_said(tree):
    data = numbered(tree, count(100_000))
    text = tomlkit.dumps(data)
    if tomllib.loads(text) != data:
        return  # the writer of the test's own text failed; nothing to locate
    lines = line_map(text)
    rows = text.split("\n")
    for path in leaves(data):
        value = data
        for step in path:
            value = value[step]
        assert str(value) in rows[lines[path] - 1]


@given(documents())
def test_every_key_of_a_sheet_has_a_line(data):
    text = tomlkit.dumps(data)
    lines = line_map(text)
    assert all(path in lines for path in leaves(tomllib.loads(text)))


@pytest.mark.parametrize("text", docs(), ids=range(len(docs())))
def test_every_key_of_the_reference_page_has_a_line(text):
    lines = line_map(text)
    assert all(path in lines for path in leaves(tomllib.loads(text)))


@given(
    st.lists(
        st.text(st.characters(exclude_categories=["Cs"], exclude_characters='"'))
        | st.integers(0, 999),
        max_size=5,
    )
)
def test_paths_are_written_and_read_back(steps):
    assert read_path(show_path(tuple(steps))) == tuple(steps)


def test_paths_look_as_people_write_them():
    assert show_path(("cues", 1, "transition", "soft")) == "cues[1].transition.soft"
    assert show_path(("sources", "my own", "file")) == 'sources."my own".file'


@pytest.mark.parametrize("text", [" ", "cues[", "cues[x]", "a..b", "a b", "a.", "ab[1]c", '"a"b'])
def test_what_is_no_path_is_refused(text):
    with pytest.raises(SettingError, match="path must look like"):
        read_path(text)
