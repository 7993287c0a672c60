"""What a store holds, told fast: the same as the reader of all of TOML tells."""

import pytest
import tomlkit
from hypothesis import given, settings
from hypothesis import strategies as st

from keyer.errors import InputFileError
from keyer.titles import pages as slow
from keyer.titles.page_list import list_pages, listed_page, page_name, page_numbers

DIGEST = "ab" * 32


def store_of(folder, texts):
    for number, text in texts.items():
        (folder / page_name(number)).write_bytes(text.encode())
    return folder


def test_numbers_are_those_of_pages_alone(tmp_path):
    for name in ("0003.toml", "0040.toml", "12345.toml", "00012.toml", "0000.toml", "12.toml",
                 "0003.toml.bak", "designs", "x.toml"):  # fmt: skip
        (tmp_path / name).touch()
    assert page_numbers(tmp_path) == [3, 40, 12345]
    assert page_numbers(tmp_path / "none") == []
    with pytest.raises(InputFileError, match="cannot be read as a store of pages: not a directory"):
        page_numbers(tmp_path / "0003.toml")


def test_a_page_as_the_program_writes_it_needs_no_other_reader(tmp_path, monkeypatch):
    monkeypatch.setattr(slow, "page_table", None)
    table = {"design": DIGEST, "design_name": "Trial", "note": "", "fields": {"name": "Ines 世界"},
             "fonts": {"A-B.otf": "0" * 64}}  # fmt: skip
    found = listed_page(store_of(tmp_path, {12: tomlkit.dumps(table)}), 12)
    assert found.as_dict() == {**table, "number": 12, "pictures": {}}


SAID = st.text(st.characters(exclude_categories=["Cs"]), max_size=12)


@settings(max_examples=15)
@given(note=SAID, fields=st.dictionaries(st.from_regex(r"[a-z_-]{1,5}", fullmatch=True), SAID))
def test_both_readers_agree_whatever_is_written(tmp_path_factory, note, fields):
    folder = tmp_path_factory.getbasetemp()
    text = tomlkit.dumps({"design": DIGEST, "note": note, "fields": fields})
    found = listed_page(store_of(folder, {7: text}), 7)
    assert (found.note, found.fields) == (note, fields)


@pytest.mark.parametrize(
    "text",
    [
        f'design = "{DIGEST}"\nnote = "a\\tb"\n',
        f"design = '{DIGEST}'\n",
        f'# by hand\ndesign = "{DIGEST}"\n\n[fields]\nname = """Ines"""\n',
        f'number = 12\ndesign = "{DIGEST}"\n',
        f'design = "{DIGEST}"\r\n[fields]\r\nname = "Ines"\r\n',
    ],
)
def test_a_page_written_by_hand_is_read_as_toml(tmp_path, text):
    store = store_of(tmp_path, {3: text})
    table = slow.page_table(store, 3).model_dump()
    assert listed_page(store, 3).as_dict() == {**table, "number": 3}


@pytest.mark.parametrize(
    "text",
    [
        "",
        "number = \n",
        f'design = "{DIGEST}"\ndesign = "{DIGEST}"\n',
        f'design = "{DIGEST}"\n[fields]\nname = "a"\n[fields]\nrole = "b"\n',
        f'design = "{DIGEST}"\nnobody = "x"\n',
        f'design = "{DIGEST}"\n[fields]\nname = "a\x01"\n',
        f'design = "{DIGEST}"\n[fields]\nname = "a" "b"\n',
    ],
)
def test_what_is_no_page_is_told_by_its_number(tmp_path, text):
    good = f'design = "{DIGEST}"\n'
    found = list_pages(store_of(tmp_path, {3: good, 4: text, 5: good}))
    assert [page.number for page in found.pages] == [3, 5]
    assert list(found.damaged) == [4]
