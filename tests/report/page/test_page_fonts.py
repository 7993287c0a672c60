"""The face in a page: the letters it needs, cut once for many pages."""

import base64
import io
import re

import pytest
from fontTools.ttLib import TTFont

from keyer.report.page import fonts


@pytest.fixture(autouse=True)
def one_weight(monkeypatch):
    monkeypatch.setattr(fonts, "WEIGHTS", (400,))


def letters(rules):
    (data,) = re.findall(r"base64,([^)]+)\)", rules)
    return set(TTFont(io.BytesIO(base64.b64decode(data))).getBestCmap())


def test_a_page_brings_western_europe_and_what_else_it_uses():
    plain = letters(fonts.font_rules("A"))
    assert {ord(char) for char in "Az09é…“"} <= plain
    assert letters(fonts.font_rules("Győr")) - plain == {ord("ő")}


def test_a_face_is_cut_once_for_pages_of_the_same_letters():
    first = fonts.font_rules("Row before breakfast")
    cut = fonts._subset.cache_info().misses
    assert fonts.font_rules("Café, 21 °C") == first
    assert fonts._subset.cache_info().misses == cut
