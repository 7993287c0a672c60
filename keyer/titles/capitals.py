"""Texts in capitals, as their language writes them.

The full mapping of Unicode is `str.upper`. What differs by language: the dotted and the dotless i
of Turkic languages and the dot of Lithuanian, by SpecialCasing.txt of the Unicode Character
Database; Greek capitals, which lose their accents, by CSS Text Module Level 3, 2.1.1 [csstext],
which follows ICU.
"""

from __future__ import annotations

import re
import unicodedata

from keyer.titles.languages import language_of

_TURKIC = {"tr", "tur", "az", "aze", "crh", "tt", "tat", "ba", "bak"}
_LITHUANIAN = {"lt", "lit"}
_GREEK = {"el", "ell", "gre", "grc"}
_DOTTED = re.compile("([ij][\u0316-\u0333\u0328]*)\u0307")  # a dot that a soft-dotted letter shows
_ACCENTS = "\u0300\u0301\u0342\u0304\u0306\u0313\u0314"
_DIALYTIKA = "\u0308"
_VOWEL = re.compile(f"([αεηιουωΑΕΗΙΟΥΩ])([{_ACCENTS}{_DIALYTIKA}\u0345]*)")
_LETTER = r"[^\W\d_]|[\u0300-\u0345]"
_ETA = re.compile(f"(?<!{_LETTER})[ηΗ][{_ACCENTS}]+(?!{_LETTER})")


def capitals(text: str, language: str = "") -> str:
    """Return a text in capitals, by the rules of its language.

    Parameters
    ----------
    text : str
    language : str
        BCP 47 tag; empty: the mapping that suits most languages.

    Returns
    -------
    str
        NFC.

    Examples
    --------
    >>> capitals("Diyarbakır", "tr")
    'DİYARBAKIR'
    >>> capitals("Μάιος", "el")
    'ΜΑΪΟΣ'
    """
    name = language_of(language)
    if name in _TURKIC:
        text = unicodedata.normalize("NFC", text).replace("i", "\u0130")
    elif name in _LITHUANIAN:
        text = _DOTTED.sub(r"\1", unicodedata.normalize("NFD", text))
    elif name in _GREEK:
        text = _without_accents(unicodedata.normalize("NFD", text))
    return unicodedata.normalize("NFC", text.upper())


def _without_accents(text: str) -> str:
    """Take the accents off Greek vowels.

    An iota or upsilon after an accented vowel gets a dialytika, since the accent
    no longer tells that both are spoken apart. The word for "or", a lone eta,
    keeps its accent.
    """
    lone = {match.start() for match in _ETA.finditer(text)}
    after = -1  # where an accented vowel ends

    def bare(match: re.Match[str]) -> str:
        nonlocal after
        vowel, marks = match[1], match[2]
        if match.start() in lone:
            return match[0]
        apart = after == match.start() and vowel.lower() in "ιυ" and not marks
        accented = any(mark in _ACCENTS for mark in marks) and _DIALYTIKA not in marks
        after = match.end() if accented else -1
        stripped = "".join(mark for mark in marks if mark not in _ACCENTS)
        return vowel + (_DIALYTIKA if apart else stripped)

    return _VOWEL.sub(bare, text)
