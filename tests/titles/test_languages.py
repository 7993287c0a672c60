"""Codes of languages."""

import pytest

from keyer.titles.languages import check_language, language_of


@pytest.mark.parametrize(
    "tag", ["", "tr", "TR", "sr-Cyrl", "zh-Hant-HK", "de-1996", "es-419", "sl-rozaj", "haw", "ger"]
)
def test_languages_that_there_are(tag):
    assert check_language(tag) == tag


@pytest.mark.parametrize(
    ("tag", "hint"),
    [("xx", ""), ("klingon", ""), ("turkish", "Is it 'tr'?"), ("tr_TR", ""), ("tr-", ""),
     ("t", ""), ("tr-TR-", ""), ("mul", ""), ("TRK ", "")],
)  # fmt: skip
def test_languages_that_there_are_not(tag, hint):
    with pytest.raises(ValueError, match="language must be a code of ISO 639") as caught:
        check_language(tag)
    assert hint in str(caught.value)


def test_language_alone():
    assert language_of("sr-Cyrl") == "sr"
    assert language_of("") == ""
