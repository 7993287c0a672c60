"""Output names made safe."""

import unicodedata

import pytest
from hypothesis import given
from hypothesis import strategies as st

from keyer.batch.names import LONGEST_BYTES, alike, safe_name


@pytest.mark.parametrize(
    ("text", "name"),
    [
        ("Ines Marlow", "Ines Marlow"),
        ("../../x", "x"),
        ("..\\..\\x", "x"),
        ("/etc/passwd", "etc-passwd"),
        ("C:\\x", "C-x"),
        ("a/b:c", "a-b-c"),
        ("CON", "CON_"),
        ("nul.png", "nul_"),
        ("com1.old", "com1.old_"),
        ("COM\u00b9", "COM\u00b9_"),
        ("name.PNG", "name"),
        ("trailing. . ", "trailing"),
        ("-rf", "rf"),
        (".hidden", "hidden"),
        ("a\0b\nc", "a-b-c"),
        ("=1+1", "=1+1"),
        ("e\u0301te\u0301", "\u00e9t\u00e9"),
        ("محمد", "محمد"),
        ("हिन्दी", "हिन्दी"),
        ("日本", "日本"),
        ("\u202eevil", "evil"),
        ("🙂", "🙂"),
        ("...", ""),
        ("", ""),
    ],
)
def test_names(text, name):
    assert safe_name(text) == name


@given(st.text(max_size=400))
def test_any_text_gives_a_name_that_stays_in_the_folder(text):
    name = safe_name(text)
    assert not set(name) & set('<>:"/\\|?*\0\n\r\t')
    assert not name.startswith((".", "-", " "))
    assert not name.endswith((".", " "))
    assert len(name.encode()) <= LONGEST_BYTES + 1
    assert unicodedata.is_normalized("NFC", name)
    assert safe_name(name) == name or name.lower().endswith(
        ("png", "mp4", "mov", "mkv", "tif", "tiff", "jpg", "jpeg")
    )


def test_long_names_are_cut_at_a_whole_letter():
    assert safe_name("x" * 5000) == "x" * LONGEST_BYTES
    assert safe_name("日" * 100) == "日" * (LONGEST_BYTES // 3)


@pytest.mark.parametrize(
    ("first", "second"),
    [("Ines", "INES"), ("\u00e9", "e\u0301"), ("straße", "STRASSE"), ("ﬁ", "fi")],
)
def test_alike(first, second):
    assert alike(first) == alike(second)
    assert alike(first) != alike(first + "x")
