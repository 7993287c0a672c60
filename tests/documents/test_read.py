from pathlib import Path

import pytest

from keyer.documents.read import LARGEST_BYTES, parse_toml, read_text, unreadable
from keyer.errors import InputFileError, SheetError


def test_toml_becomes_plain_data():
    assert parse_toml("a = 1\n[b]\nc = [1.5]", "x") == {"a": 1, "b": {"c": [1.5]}}


@pytest.mark.parametrize(
    "number", ["9223372036854775808", "-9223372036854775809", "0x" + "f" * 6000]
)
def test_whole_numbers_beyond_64_bits_are_refused_with_their_place(number):
    with pytest.raises(SheetError) as caught:
        parse_toml(f"a = 1\n[b]\nc = [1, {number}]", "x.toml")
    assert str(caught.value) == (
        "x.toml: 1 fault\nb.c[1], line 3: must be a number that fits into 64 bits."
    )


def test_the_largest_and_smallest_numbers_of_toml_are_read():
    assert parse_toml("a = [9223372036854775807, -9223372036854775808]", "x")["a"][0] == 2**63 - 1


@pytest.mark.parametrize("depth", [40, 400, 40_000])
def test_nesting_beyond_reason_is_refused(depth):
    with pytest.raises(SheetError, match="nested too deeply"):
        parse_toml("a = " + "[" * depth + "]" * depth, "x")
    assert list(unreadable({"a": [[[[1]]]]})) == []


def test_texts_are_read_with_or_without_a_byte_order_mark(tmp_path):
    path = tmp_path / "x.toml"
    path.write_bytes("\ufeffa = 'ä'".encode())
    assert read_text(path, "a sheet") == "a = 'ä'"


@pytest.mark.parametrize(
    ("content", "says"),
    [(b"\xff\xfe", "must be a sheet, a TOML text in UTF-8"), (None, "no such file")],
)
def test_what_cannot_be_read_is_said_in_one_line(tmp_path, content, says):
    path = tmp_path / "x.toml"
    if content is not None:
        path.write_bytes(content)
    with pytest.raises(InputFileError, match=says) as caught:
        read_text(path, "a sheet")
    assert "\n" not in str(caught.value)
    assert caught.value.exit_code == 3


def test_a_name_with_a_nul_is_no_crash():
    with pytest.raises(InputFileError, match="cannot be read as a sheet"):
        read_text(Path("a\0b"), "a sheet")


@pytest.mark.parametrize("dots", [" . ", "."])
@pytest.mark.parametrize("key", ["a", '"a.b"', "'a'"])
def test_a_dotted_key_beyond_reason_is_refused_before_it_is_read(monkeypatch, key, dots):
    """The reader's memory grows with the square of the parts: 60,000 of them took 11 GB."""
    monkeypatch.setattr("tomllib.loads", lambda _text: pytest.fail("was read"))
    text = "b = 1\n[" + dots.join([key] * 60_000) + "]\n"
    with pytest.raises(SheetError) as caught:
        parse_toml(text, "x.toml")
    assert str(caught.value) == ("x.toml: 1 fault\nline 2: lists or tables are nested too deeply.")


@pytest.mark.parametrize("value", ['"{}"', "'{}'", '"""\n{}"""', "'''{}\n'''", '"\\"{}"', "1 # {}"])
def test_dots_in_texts_and_comments_are_no_keys(value):
    dotted = ".".join(["word"] * 100)
    assert parse_toml("a = " + value.format(dotted), "x")["a"]


def test_a_document_of_more_than_people_write_is_refused(tmp_path):
    with pytest.raises(
        SheetError, match=r"x: 1 fault\nholds more than 20000 values, more than any document"
    ):
        parse_toml("[[a]]\n" * 30_000, "x")
    path = tmp_path / "x.toml"
    path.write_text("a = 1\n" + "#" * LARGEST_BYTES)
    with pytest.raises(InputFileError, match="larger than any"):
        read_text(path, "a sheet")
    with pytest.raises(SheetError, match="larger than any"):
        parse_toml(path.read_text(), "x")
